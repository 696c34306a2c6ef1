"""Draw the loads at the beginning of lines in processes with poly gates."""

from dataclasses import dataclass

from layoutdrill.drawing.planes.pen import Pen, Span
from layoutdrill.drawing.planes.plan import Line
from layoutdrill.drawing.planes.poly_rules import PolyRules
from layoutdrill.drawing.shared.sizes import Size
from layoutdrill.drawing.shared.technique import METAL, OTHER

Lines = tuple[tuple[Line, int], ...]
"""Lines with their places on v."""


@dataclass(frozen=True, slots=True)
class Loads:
    """
    Where the loads are: `start` of the lines' metal, the middle of their supply's rail and how far it runs, and the
    middle of the gate that all of them share, if they do.
    """

    start: int
    rail: int
    reach: Span
    gate: int | None = None


def load_pitch(r: PolyRules, size: Size) -> int:
    """Return the least distance between lines for the sake of their loads."""
    t = r.technique
    least = max(size.width, 2 * r.body) + t.diffusion_spacing
    return least if t.buried is None else max(least, size.width + 2 * t.gate_past + t.wires[OTHER].spacing)


def paint_loads(pen: Pen, r: PolyRules, left: int, lines: Lines, size: Size, ties: tuple[int, ...],
                supplies: tuple[str, str], spare: int, taps: int) -> Loads:  # fmt: skip
    """
    Draw a load for every line, to the left of a plane whose diffusion ends at `left`.

    `ties` are the places on v at which a gate that is shared meets the low supply's rail.
    """
    draw = _shared if r.technique.buried is None else _buried
    return draw(pen, r, left, lines, size, ties, supplies, spare, taps)


def _shared(pen: Pen, r: PolyRules, left: int, lines: Lines, size: Size, ties: tuple[int, ...],
            supplies: tuple[str, str], spare: int, taps: int) -> Loads:  # fmt: skip
    """Draw long p transistors in a well, below one broad gate that keeps them on."""
    t = r.technique
    implants = t.implants
    assert implants is not None
    active, poly, metal = t.diffusion[1], t.wires[OTHER].layer, t.wires[METAL].layer
    drain = left - r.apart - r.body - spare
    right = drain - r.cut - t.contact_gate
    gate = right - size.length // 2
    source = right - size.length - t.contact_gate - r.cut
    vs = [v for _, v in lines]
    half = max(size.width // 2, r.body)
    low, high = min(vs) - half, max(vs) + half
    pen.upright(active, source, (low, high), r.body)
    for v in vs:
        pen.along(active, (source, drain), v, size.width // 2)
        for u in (source, drain):
            pen.square(active, u, v, r.body)
            pen.square("contact", u, v, r.cut)
        pen.square(metal, drain, v, r.pad)
    past = size.width // 2 + t.gate_past
    reach = [min(vs) - past, max(vs) + past, *(v + side * r.pad for v in ties for side in (1, -1))]
    pen.box(poly, (right - size.length, right), (min(reach), max(reach)))
    for v in ties:
        pen.square("contact", gate, v, r.cut)
    away = implants.tap_gap + r.body
    wells = [(source - r.body - implants.well_past, low - implants.well_past),
             (drain + r.body + implants.well_past, high + implants.well_past)]  # fmt: skip
    ends = [low, high]
    for n, v in enumerate((low - away, high + away)[: min(taps, 2)]):
        pen.square(active, source, v, r.body)
        pen.square("contact", source, v, r.cut)
        pen.square(implants.doping[0], source, v, r.body + implants.past)
        ends[n] = v + (r.pad if n else -r.pad)
        wells.append((source, v + (1 if n else -1) * (r.body + implants.well_tap)))
    pen.box(implants.doping[1], (source - r.body - implants.past, drain + r.body + implants.past),
            (low - implants.past, high + implants.past))  # fmt: skip
    pen.box(implants.well, (wells[0][0], wells[1][0]), (min(v for _, v in wells), max(v for _, v in wells)))
    pen.upright(metal, source, (ends[0], ends[1]), r.rail)
    pen.label(supplies[1], metal, source, vs[0])
    return Loads(drain, source, (ends[0], ends[1]), gate)


def _buried(pen: Pen, r: PolyRules, left: int, lines: Lines, size: Size, ties: tuple[int, ...],
            supplies: tuple[str, str], spare: int, taps: int) -> Loads:  # fmt: skip
    """Draw depletion transistors, each with its gate run back into its own source by a buried contact."""
    del ties, taps
    t = r.technique
    active, metal = t.diffusion[1], t.wires[METAL].layer
    source = left - t.diffusion_spacing - r.body - spare
    vs = [v for _, v in lines]
    drain = source - buried_reach(r, size)
    pen.upright(active, drain, (min(vs) - r.body, max(vs) + r.body), r.body)
    for v in vs:
        pen.square("contact", drain, v, r.cut)
        pen.square(active, source, v, r.body)
        pen.square("contact", source, v, r.cut)
        pen.square(metal, source, v, r.pad)
        paint_buried(pen, r, size, (source, drain), v)
    reach = min(vs) - r.pad, max(vs) + r.pad
    pen.upright(metal, drain, reach, r.rail)
    pen.label(supplies[1], metal, drain, vs[0])
    return Loads(source, drain, reach)


def buried_reach(r: PolyRules, size: Size) -> int:
    """Return the distance of a depletion load's two contacts."""
    buried = r.technique.buried
    assert buried is not None
    return r.body + r.technique.other_gap + buried.overlap + size.length + r.technique.contact_gate + r.cut


def paint_buried(pen: Pen, r: PolyRules, size: Size, ends: Span, v: int) -> None:
    """Draw a depletion load along u, from its source contact to its drain contact, without those."""
    t = r.technique
    buried = t.buried
    assert buried is not None
    source, drain = ends
    sense = 1 if drain > source else -1
    near = source + sense * (r.body + t.other_gap)
    begin = near + sense * buried.overlap
    end = begin + sense * size.length
    half = size.width // 2
    past = buried.implant_past
    pen.along(t.diffusion[1], (source, drain), v, half)
    pen.along(t.wires[OTHER].layer, (near, end), v, half + t.gate_past)
    pen.along(buried.layer, (near - sense * buried.past, begin), v, half + buried.past)
    pen.along(buried.implant, (begin - sense * past, end + sense * past), v, half + past)
