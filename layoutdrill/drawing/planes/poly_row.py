"""
Draw a row of inverters below a plane with poly gates: those of the address lines, and those behind output lines.

The row hangs from a rail of the low supply and ends in one of the high supply. It knows nothing of planes: whoever has
gate lines in poly that come down from above, and wants some of them inverted, can use `paint_row`.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from layoutdrill.drawing.planes.pen import Pen
from layoutdrill.drawing.planes.poly_rules import PolyRules
from layoutdrill.drawing.shared.sizes import Size
from layoutdrill.drawing.shared.technique import METAL, OTHER


@dataclass(frozen=True, slots=True)
class Stage:
    """
    An inverter's places on u: its input's poly, the strip of its driver's source on one side of that, its drain on
    the other, and the poly of its output beyond. `below` says that its input leaves below too, `down` that its output
    does so, and not above; `a` and `y` are nets.
    """

    a: str
    y: str
    source: int
    gate: int
    drain: int
    out: int
    below: bool = False
    down: bool = False


@dataclass(frozen=True, slots=True)
class RowSizes:
    """Widths of the drivers, and of the transistors or the size of the loads that lift."""

    driver: int
    lift: Size


@dataclass(frozen=True, slots=True)
class Row:
    """The middle of the high supply's rail, the ends of what lies on it, and where wires leave below."""

    rail: int
    ends: tuple[int, int]
    exit: int


def out_reach(r: PolyRules, sizes: RowSizes, *, down: bool) -> tuple[int, int]:
    """Return how far an inverter reaches from its drain towards its output: the output's poly, and all there is."""
    t = r.technique
    if t.buried is None:
        return r.beside, r.beside + r.pad
    half = sizes.lift.width // 2 + t.gate_past
    if down:
        return 0, r.pad + t.wires[OTHER].spacing + 2 * half
    return r.beside, r.beside + half


def paint_row(pen: Pen, r: PolyRules, stages: Sequence[Stage], rail: int, sizes: RowSizes, supplies: tuple[str, str],
              *, taps: int, past: int) -> Row:  # fmt: skip
    """
    Draw inverters whose sources meet the low supply's rail, of which `rail` is the middle; its metal is not drawn.

    Gate lines are drawn from the rail down, and where they leave below they end `past` the other rail. That one is
    drawn as far as the row goes: between `Row.ends`.
    """
    paint = _pairs if r.technique.buried is None else _loaded
    return paint(pen, r, stages, rail, sizes, supplies, taps=taps, past=past)


def _driver(pen: Pen, r: PolyRules, s: Stage, rail: int, v: int, width: int, mask: str) -> None:
    """Draw a transistor between the strip of its source, from a contact on the rail, and its drain."""
    half = max(width // 2, r.body)
    reach = v - half if v < rail else v + half
    end = rail + r.body if v < rail else rail - r.body
    pen.upright(mask, s.source, (end, reach), r.body)
    pen.square("contact", s.source, rail, r.cut)
    pen.along(mask, (s.source, s.drain), v, width // 2)
    pen.along(mask, (s.drain - r.body, s.drain + r.body), v, half)


def _contact(pen: Pen, r: PolyRules, mask: str, u: int, v: int) -> None:
    pen.square(mask, u, v, r.body if mask == r.technique.diffusion[0] else r.pad)
    pen.square("contact", u, v, r.cut)
    pen.square(r.technique.wires[METAL].layer, u, v, r.pad)


def _pairs(pen: Pen, r: PolyRules, stages: Sequence[Stage], rail: int, sizes: RowSizes, supplies: tuple[str, str],
           *, taps: int, past: int) -> Row:  # fmt: skip
    """Draw complementary inverters; the n transistors under the rail, the p transistors in a well below them."""
    t = r.technique
    implants = t.implants
    assert implants is not None
    active, poly, metal = t.diffusion[0], t.wires[OTHER].layer, t.wires[METAL].layer
    low, high = max(sizes.driver // 2, r.body), max(sizes.lift.width // 2, r.body)
    drive = rail - r.rail - r.metal_gap - max(low, r.pad)
    out = drive - low - t.other_gap - r.pad
    lift = min(drive - low - r.apart, out - r.pad - t.other_gap) - high
    supply = lift - max(high, r.pad) - r.metal_gap - r.rail
    leave = supply - r.rail - past
    for s in stages:
        _driver(pen, r, s, rail, drive, sizes.driver, active)
        _driver(pen, r, s, supply, lift, sizes.lift.width, active)
        for v in (drive, lift):
            _contact(pen, r, active, s.drain, v)
        pen.upright(metal, s.drain, (drive, lift), r.pad)
        pen.along(metal, (s.drain, s.out), out, r.pad)
        _contact(pen, r, poly, s.out, out)
        end = leave if s.below else lift - sizes.lift.width // 2 - t.gate_past
        pen.upright(poly, s.gate, (rail, end), r.gate)
        pen.upright(poly, s.out, (out, leave if s.down else rail), r.gate)
        if s.below:
            pen.label(s.a, poly, s.gate, leave)
        if s.down:
            pen.label(s.y, poly, s.out, leave)
    us = [u for s in stages for u in (s.source, s.gate, s.drain, s.out)]
    first, last = min(s.source for s in stages), max(max(s.source, s.drain) for s in stages)
    ends = [min(us) - r.pad, max(us) + r.pad]
    away = implants.tap_gap + 2 * r.body
    wells = [(u, r.body + implants.well_past) for u in (first, last, min(s.drain for s in stages))]
    for n, u in enumerate((max(us) + away, min(us) - away)[: min(taps, 2)]):
        pen.square(active, u, supply, r.body)
        pen.square("contact", u, supply, r.cut)
        pen.square(implants.doping[0], u, supply, r.body + implants.past)
        ends[1 - n] = u + (-r.pad if n else r.pad)
        wells.append((u, r.body + implants.well_tap))
    ps = [u for s in stages for u in (s.source, s.drain)]
    pen.box(implants.doping[1], (min(ps) - r.body - implants.past, max(ps) + r.body + implants.past),
            (supply - r.body - implants.past, lift + high + implants.past))  # fmt: skip
    pen.box(implants.well, (min(u - m for u, m in wells), max(u + m for u, m in wells)),
            (supply - r.body - implants.well_past, lift + high + implants.well_past))  # fmt: skip
    pen.box(implants.doping[0], (min(ps) - r.body - implants.past, max(ps) + r.body + implants.past),
            (drive - low - implants.past, rail + r.body + implants.past))  # fmt: skip
    pen.along(metal, (ends[0], ends[1]), supply, r.rail)
    pen.label(supplies[1], metal, stages[0].source, supply)
    return Row(supply, (ends[0], ends[1]), leave)


def _loaded(pen: Pen, r: PolyRules, stages: Sequence[Stage], rail: int, sizes: RowSizes, supplies: tuple[str, str],
            *, taps: int, past: int) -> Row:  # fmt: skip
    """Draw drivers with depletion loads below them, whose poly runs back into the output by a buried contact."""
    del taps
    t = r.technique
    buried = t.buried
    assert buried is not None
    active, poly, metal = t.diffusion[0], t.wires[OTHER].layer, t.wires[METAL].layer
    half, load = max(sizes.driver // 2, r.body), sizes.lift.width // 2
    drive = rail - r.rail - r.metal_gap - half
    begin = drive - half - t.other_gap
    end = begin - sizes.lift.length
    out = drive - half - t.gate_past - t.wires[OTHER].spacing - r.pad
    supply = end - t.contact_gate - r.cut
    if any(s.down for s in stages):
        supply = min(supply, out - r.pad - r.metal_gap - r.rail)
    leave = supply - r.rail - past
    us: list[int] = []
    for s in stages:
        sense = 1 if s.drain > s.gate else -1
        at = s.drain + sense * (r.pad + t.wires[OTHER].spacing + load + t.gate_past) if s.down else s.out
        _driver(pen, r, s, rail, drive, sizes.driver, active)
        pen.along(active, (s.drain, at + sense * load), drive, half)
        pen.upright(active, at, (drive, supply - r.body), load)
        pen.square(active, at, supply, r.body)
        pen.square("contact", at, supply, r.cut)
        pen.upright(poly, at, (drive + half if s.down else rail, begin), r.gate)
        pen.upright(poly, at, (begin, end), load + t.gate_past)
        pen.upright(buried.layer, at, (drive + half + buried.past, begin), load + buried.past)
        pen.upright(buried.implant, at, (begin + buried.implant_past, end - buried.implant_past),
                    load + buried.implant_past)  # fmt: skip
        pen.upright(poly, s.gate, (rail, leave if s.below else drive - sizes.driver // 2 - t.gate_past), r.gate)
        if s.below:
            pen.label(s.a, poly, s.gate, leave)
        if s.down:
            _contact(pen, r, active, s.drain, drive)
            _contact(pen, r, poly, s.drain, out)
            pen.upright(metal, s.drain, (drive, out), r.pad)
            pen.upright(poly, s.drain, (out, leave), r.gate)
            pen.label(s.y, poly, s.drain, leave)
        us += (s.source, s.gate, at)
    ends = min(us) - r.pad, max(us) + r.pad
    pen.along(metal, ends, supply, r.rail)
    pen.label(supplies[1], metal, stages[0].source, supply)
    return Row(supply, ends, leave)
