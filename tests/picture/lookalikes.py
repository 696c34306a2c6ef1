"""
Draw by hand what a reader confuses: transistor, contact and crossing side by side, and two contacts 2 λ apart.

One drawing a process, from its rules, for the gallery and for measuring legibility.
"""

from layoutdrill.geometry.rect import Rect
from layoutdrill.layout.model import Layout
from layoutdrill.picture.pen import Pen, as_layout, joined
from layoutdrill.process import Process
from layoutdrill.value import value

PITCH = 18
"""λ from one to the next."""


@value
class LookAlikes:
    """
    The drawing, and (in grid units) the middles of what is in it: a transistor, a contact under metal, a crossing of
    metal over diffusion, and the two close contacts with the metal between them.
    """

    layout: Layout
    transistor: Rect
    contact: Rect
    crossing: Rect
    pair: tuple[Rect, Rect]
    between: Rect


def look_alikes(process: Process, kind: str = "") -> LookAlikes:
    """Return the drawing for a process, in `kind` n or p; without one, in the first that the process has."""
    pen = Pen(process)
    kind = kind or pen.kinds()[0]
    shapes = joined(
        pen.transistor(kind),
        pen.contacted(kind, PITCH, 5),
        pen.crossing(kind, 2 * PITCH),
        pen.contacted(kind, 3 * PITCH, 3, 7),
    )

    def middle(number: int, left: float) -> Rect:
        return pen.box(number * PITCH + left, 3, number * PITCH + left + 2, 5)

    return LookAlikes(
        layout=as_layout("look-alikes", shapes),
        transistor=middle(0, 5),
        contact=middle(1, 5),
        crossing=middle(2, 5),
        pair=(middle(3, 3), middle(3, 7)),
        between=middle(3, 5),
    )
