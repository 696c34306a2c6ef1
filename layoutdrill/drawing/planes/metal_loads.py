"""Draw the loads at the beginning of lines in processes with metal gates: one plate of metal over all of them."""

from collections.abc import Sequence
from dataclasses import dataclass

from layoutdrill.drawing.planes.metal_rules import MetalRules
from layoutdrill.drawing.planes.pen import Pen, Span
from layoutdrill.drawing.shared.sizes import Size
from layoutdrill.drawing.shared.technique import METAL
from layoutdrill.geometry.rect import Rect


@dataclass(frozen=True, slots=True)
class Loads:
    """
    Where loads lie: the middle of their supply's rail and how far it runs, the plate's two sides, and the area that
    their diffusions take.
    """

    rail: int
    reach: Span
    plate: Span
    area: Rect


def load_distance(r: MetalRules, size: Size) -> int:
    """Return the least distance between two lines for the sake of their loads."""
    return 2 * max(r.body, size.width // 2 + r.doped.inset) + r.apart


def paint_loads(pen: Pen, r: MetalRules, left: int, contact: int, vs: Sequence[int], size: Size, plate: int,
                supply: str, spare: int) -> Loads:  # fmt: skip
    """
    Draw a load for every line, to the left of where their diffusions end; their metal begins at `contact`.

    Where there are two kinds of transistor the plate over the channels, the gate of all loads, goes on to v = `plate`
    to meet the drivers' rail. Where there is one kind, lines are the loads' own diffusions, and the plate is the
    supply's.
    """
    metal = r.technique.wires[METAL].layer
    kind = 0 if r.one_kind else 1
    half = max(r.body, size.width // 2 + r.doped.inset)
    low, high = min(vs) - half, max(vs) + half
    drain = left - r.across - spare - r.body
    end = left if r.one_kind else drain - r.contact_gate
    begin = end - size.length
    source = begin - r.contact_gate
    for v in vs:
        r.channel(pen, (begin, end), v, size.width, level=True)
        pen.square("contact", source, v, r.cut)
        if not r.one_kind:
            r.diffuse(pen, kind, (end + r.doped.past, drain + r.body), (v - half, v + half))
            r.contact(pen, drain, v)
            pen.along(metal, (drain, contact), v, r.pad)
    r.diffuse(pen, kind, (source - r.body, begin - r.doped.past), (low, high))
    past = max(half, size.width // 2 + r.over)
    if r.one_kind:
        sides = source - r.pad, end + r.cover
        pen.box(metal, sides, (min(vs) - past, max(vs) + past))
    else:
        sides = begin - r.cover, end + r.cover
        pen.box(metal, sides, (min(vs) - past, plate))
        pen.upright(metal, source, (low, high), r.pad)
    pen.label(supply, metal, source, vs[0])
    right = left if r.one_kind else drain + r.body
    return Loads(source, (low, high), sides, pen.rect((source - r.body, right), (low, high)))
