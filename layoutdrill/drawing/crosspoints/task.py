"""All that the drawing of crosspoints depends on, and what its parts say to one another."""

from layoutdrill.drawing.crosspoints.choices import CrosspointChoices
from layoutdrill.drawing.crosspoints.plan import Line, Plan
from layoutdrill.drawing.crosspoints.widths import Widths
from layoutdrill.drawing.shared.canvas import Span
from layoutdrill.geometry.rect import Rect
from layoutdrill.units import GridUnits
from layoutdrill.value import value

Lines = tuple[tuple[Line, int], ...]
"""Lines with the middle of each, in a plane's own directions: v counts across the lines, u along them."""


@value
class Task:
    """Planes to be drawn, as a seed chose; `supplies` are the low and the high rail."""

    plan: Plan
    choices: CrosspointChoices
    widths: Widths
    supplies: tuple[str, str]

    @property
    def two(self) -> bool:
        return len(self.plan.planes) > 1

    @property
    def above(self) -> dict[str, bool]:
        """Tell of every gate line of the first plane whether it leaves at the top."""
        groups = zip(self.plan.planes[0].groups, self.choices.above, strict=True)
        return {net: above for group, above in groups for net in group}


@value
class LoadPlace:
    """
    Where loads must lie: left of the silicon of their plane, which ends at `left`, and `spare` further than they must.
    The gate that loads of two kinds share meets the drivers' rail at v = `tie`; with metal gates the lines' own metal
    begins at u = `start`. `taps` is how many there may be.
    """

    left: GridUnits
    start: int
    tie: GridUnits
    spare: GridUnits
    taps: int


@value
class Loads:
    """
    Where loads lie: where the metal of their lines begins, their supply's rail and how far it runs along v, the sides
    of the gate that they share, and with metal gates the area of their silicon.
    """

    start: int
    rail: GridUnits
    reach: Span
    gate: Span
    area: Rect = Rect(0, 0, 0, 0)
