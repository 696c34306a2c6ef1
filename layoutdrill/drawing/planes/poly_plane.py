"""Draw a plane with poly gates: gates in poly, lines in metal, ground in strips of diffusion between the gates."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

from layoutdrill.drawing.planes.pen import Pen, Span
from layoutdrill.drawing.planes.plan import Line
from layoutdrill.drawing.planes.poly_rules import PolyRules
from layoutdrill.drawing.shared.technique import METAL, OTHER


@dataclass(frozen=True, slots=True)
class Gap:
    """What lies between two gate lines, or outside the first and the last: ground, or contacts to the lines."""

    u: int
    ground: bool


@dataclass(frozen=True, slots=True)
class Field:
    """
    Where a plane's parts lie: gates by net, gaps one more than gates, lines, and the level rails across the strips of
    ground, the lowest first. `width` is that of its transistors.
    """

    gates: Mapping[str, int]
    gaps: tuple[Gap, ...]
    lines: tuple[tuple[Line, int], ...]
    rails: tuple[int, ...]
    width: int

    @property
    def left(self) -> int:
        return self.gaps[0].u

    @property
    def right(self) -> int:
        return self.gaps[-1].u


def gaps_between(gates: Sequence[int], *, ground_first: bool, beside: int) -> tuple[Gap, ...]:
    """Return ground and contacts in turn between gate lines at these places, and outside them."""
    middles = [(a + b) // 2 for a, b in pairwise(gates)]
    places = [gates[0] - beside, *middles, gates[-1] + beside]
    return tuple(Gap(u, ground_first != bool(k % 2)) for k, u in enumerate(places))


def paint_field(pen: Pen, r: PolyRules, field: Field, nets: Mapping[str, Span]) -> None:
    """Draw strips, gates and transistors; `nets` gives every gate line's two ends."""
    t = r.technique
    active, contact, metal, poly = t.diffusion[0], "contact", t.wires[METAL].layer, t.wires[OTHER].layer
    low, high = field.rails[0], field.rails[-1]
    for gap in field.gaps:
        if gap.ground:
            pen.upright(active, gap.u, (low - r.body, high + r.body), r.body)
            for v in field.rails:
                pen.square(contact, gap.u, v, r.cut)
    for net, u in field.gates.items():
        pen.upright(poly, u, nets[net], r.gate)
    order = list(field.gates)
    for line, v in field.lines:
        for k, gap in enumerate(field.gaps):
            if gap.ground:
                continue
            beside = [j for j in (k - 1, k) if 0 <= j < len(order) and order[j] in line.at]
            if not beside:
                continue
            for j in beside:
                strip = field.gaps[k - 1 if j == k - 1 else k + 1]
                pen.along(active, (gap.u, strip.u), v, field.width // 2)
            pen.square(active, gap.u, v, r.body)
            pen.square(contact, gap.u, v, r.cut)
            pen.square(metal, gap.u, v, r.pad)


def paint_end(pen: Pen, r: PolyRules, v: int, start: int, pad: int | None, end: int) -> None:
    """Draw a line's metal from its load on; with a `pad` it goes over to poly there, which runs on to `end`."""
    t = r.technique
    metal, poly = t.wires[METAL].layer, t.wires[OTHER].layer
    pen.along(metal, (start, end if pad is None else pad), v, r.wire)
    if pad is not None:
        pen.along(metal, (pad - r.pad - r.metal_gap, pad + r.pad), v, r.pad)  # no notch before the last transistor
        pen.square("contact", pad, v, r.cut)
        pen.square(poly, pad, v, r.pad)
        pen.along(poly, (pad, end), v, r.gate)


def paint_implant(pen: Pen, r: PolyRules, field: Field) -> None:
    """Draw the implant of the n transistors round a plane, where the process has one."""
    implants = r.technique.implants
    if implants is not None:
        past = r.body + implants.past
        ends = field.left - past, field.right + past
        pen.box(implants.doping[0], ends, (field.rails[0] - past, field.rails[-1] + past))
