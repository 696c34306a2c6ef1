"""Find places for planes with poly gates, and for what lies round them."""

from dataclasses import dataclass

from layoutdrill.drawing.planes.arrangement import gate_order, spread, steps
from layoutdrill.drawing.planes.choices import Choices
from layoutdrill.drawing.planes.plan import Plan
from layoutdrill.drawing.planes.poly_loads import load_pitch
from layoutdrill.drawing.planes.poly_plane import Field, gaps_between
from layoutdrill.drawing.planes.poly_row import RowSizes
from layoutdrill.drawing.planes.poly_rules import PolyRules
from layoutdrill.drawing.planes.widths import Widths


@dataclass(frozen=True, slots=True)
class End:
    """
    The far end of lines: where they go over to poly, if they do, the rail that they pass, and where they leave. An
    `upper` rail is of the second metal, and lines pass it in the first.
    """

    pad: int | None
    rail: int
    leave: int
    upper: bool = False


@dataclass(frozen=True, slots=True)
class Frame:
    """What every part of a drawing needs to know."""

    plan: Plan
    rules: PolyRules
    choices: Choices
    widths: Widths
    supplies: tuple[str, str]

    @property
    def two(self) -> bool:
        return len(self.plan.planes) > 1

    @property
    def sizes(self) -> RowSizes:
        return RowSizes(self.widths.driver, self.widths.lift)

    @property
    def spare(self) -> int:
        """Return the room between loads and plane, where taps of the substrate need some."""
        implants = self.rules.technique.implants
        if implants is None:
            return self.choices.spare
        tap = 2 * self.rules.body + implants.tap_gap
        room = max(implants.well_past + tap, tap + 3 * implants.past)  # the well ends, and implants stay apart
        return max(self.choices.spare, room - self.rules.apart)

    @property
    def above(self) -> dict[str, bool]:
        """Tell of every gate line of the first plane whether it leaves at the top."""
        groups = zip(self.plan.planes[0].groups, self.choices.above, strict=True)
        return {net: above for group, above in groups for net in group}

    @property
    def to_end(self) -> int:
        """Return the distance of a line's poly pad from the plane's last gap."""
        return self.rules.body + self.rules.technique.other_gap + self.rules.pad


def first_field(f: Frame) -> Field:
    """Place gates and lines of the first plane; with a second one, rails lie where that one's lines end."""
    r, choices = f.rules, f.choices
    plane = f.plan.planes[0]
    order = gate_order(f.plan, choices, taking_turns=bool(f.plan.complements) and r.technique.buried is not None)
    us = steps(len(order), (2 * r.beside + choices.loose[0],))
    gaps = gaps_between(us, ground_first=bool(f.plan.complements) or choices.ground_first, beside=r.beside)
    pitch = max(r.row, load_pitch(r, f.widths.loads[0]), f.widths.cross + r.technique.diffusion_spacing)
    pitch = max(pitch, 2 * r.beside if f.two else 0) + choices.loose[1]
    vs, straps = spread(len(plane.lines), pitch, choices.strap, r.to_rail)
    low = vs[0] - (r.beside + f.to_end if f.two else 0) - r.to_rail
    rails = (low, *straps, vs[-1] + r.to_rail)
    return Field(
        dict(zip(order, us, strict=True)), gaps, tuple(zip(plane.lines, vs, strict=True)), rails, f.widths.cross
    )


def end_of(f: Frame, field: Field) -> End:
    r = f.rules
    if not f.choices.railed or f.choices.upper:
        side = field.right + r.body
        if f.choices.upper:
            side += r.metal_gap + r.rail
            return End(None, side, side + r.rail + f.choices.past, upper=True)
        return End(None, side, side + f.choices.past)
    pad = field.right + f.to_end
    return End(pad, pad + r.to_rail, pad + r.to_rail + r.rail + f.choices.past)
