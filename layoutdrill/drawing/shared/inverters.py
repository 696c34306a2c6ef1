"""
Draw a row of inverters below an array: those of its address lines, and those behind its output lines.

The row hangs from a rail of the array, with metal gates from a bar of doped silicon. A driver stands below the line of
its input, its drain beside it; beyond that is the line of its output. Gate lines are drawn by whoever has them, as far
as the row says.
"""

from collections.abc import Mapping, Sequence
from typing import NamedTuple

from layoutdrill.cells.tiling import Part, Standing
from layoutdrill.drawing.shared.canvas import Span
from layoutdrill.drawing.shared.gate_pens import GatePen, MetalPen, PolyPen, heights_of
from layoutdrill.drawing.shared.sizes import Size
from layoutdrill.geometry.rect import Rect
from layoutdrill.geometry.transform import Transform
from layoutdrill.units import GridUnits
from layoutdrill.value import value


@value
class Inverter:
    """An inverter from net `a` to net `y`: the names of its driver and of its pull-up, a load or a transistor."""

    a: str
    y: str
    driver: str
    pull_up: str


def inverters_of(parts: Mapping[Part, Sequence[Standing]]) -> tuple[Inverter, ...]:
    """Return the inverters among the parts of an array of lines, in the order of its places."""
    pull_ups = {s.output: s.name for s in parts.get(Part.PULL_UP, ())}
    drivers = parts.get(Part.DRIVER, ())
    return tuple(Inverter(s.gate, s.output, s.name, pull_ups[s.output]) for s in drivers)


class Stage(NamedTuple):
    """
    An inverter: the names of its driver and its pull-up, and its places along the row: its input's line, its output's,
    and with poly gates the contacts of source and drain on either side of the input. Where `leaves` names the output,
    it goes on below by that name, and does not come from above.
    """

    driver: str
    pull_up: str
    gate: int
    out: int
    source: int = 0
    drain: int = 0
    leaves: str = ""


@value
class RowPlace:
    """
    What a row hangs from: the height of the rail or bar, which is that of the transistors of kind `first`, and the
    sizes of its transistors.

    The silicon of the two kinds lies `apart` further than it must. With metal gates `bar` is half the height of
    the bar, nothing else of kind `first` lies below `floor`, and the far supply's contact is at the place `tap`. With
    poly gates taps of the silicon lie under the far rail at the places `taps`.
    """

    base: GridUnits
    driver: Size
    pull_up: Size
    first: int = 0
    apart: GridUnits = 0
    bar: int = 0
    floor: int | None = None
    tap: int = 0
    taps: tuple[int, ...] = ()


@value
class InverterRow:
    """
    Where a row ends: the height of the far supply's rail, from where to where it must run, and heights down to which
    the lines of inputs, and of outputs, come, and from which those of outputs that leave `down` begin.

    With metal gates `near` is the lowest edge of the transistors of the first kind, `far` the area of the others, if
    they are of another kind.
    """

    rail: GridUnits
    ends: Span
    inputs: int
    outputs: int
    down: int
    near: GridUnits = 0
    far: Rect | None = None


def inverters(pen: GatePen, stages: Sequence[Stage], place: RowPlace) -> InverterRow:
    """Draw a row in the way of the process's gates and loads."""
    if isinstance(pen, MetalPen):
        return _windowed(pen, stages, place)
    return _paired(pen, stages, place) if pen.t.buried is None else _loaded(pen, stages, place)


def pair_room(pen: GatePen, place: RowPlace, pitch: GridUnits) -> int:
    """Return by how much the lines of two inverters must be further apart than a pitch."""
    if isinstance(pen, MetalPen):
        return max(0, 2 * pen.reach(max(place.driver.width, place.pull_up.width)) + pen.apart - pitch)
    if pen.t.buried is None:
        return 0
    return max(0, place.pull_up.width + 2 * pen.t.gate_past + pen.under.spacing - pitch)


def lead_down(pen: GatePen, stages: Sequence[Stage], row: InverterRow, below: GridUnits, half: int) -> None:
    """Lead the outputs that leave below a row down to a height, in the layer of gates, and name them there."""
    for s in stages:
        if s.leaves:
            pen.upright(pen.gates, s.out, (row.down, below), half)
            pen.label(s.leaves, pen.gates, s.out, below)


def out_reach(pen: PolyPen, pull_up: Size) -> Span:
    """Return how far an inverter whose output goes down reaches from its drain: to its output's line, and in all."""
    if pen.t.buried is None:
        return pen.beside, pen.beside + pen.pad
    return 0, pen.pad + pen.under.spacing + pull_up.width + 2 * pen.t.gate_past


def _driver(pen: PolyPen, s: Stage, kind: int, middle: int, width: int, rail: int) -> None:
    """Draw a transistor in a level strip, its source tied to a rail."""
    ends = min(s.source, s.drain) - pen.body, max(s.source, s.drain) + pen.body
    pen.level(pen.t.diffusion[kind], ends, middle, width // 2)
    pen.contact(s.source, middle, kind)
    pen.upright(pen.metal, s.source, (middle, rail), pen.pad)


def _paired(pen: PolyPen, stages: Sequence[Stage], place: RowPlace) -> InverterRow:
    """Draw complementary inverters with poly gates."""
    hung = pen.placed(Transform(0, place.base, mirrored=True))
    widths = place.driver.width, place.pull_up.width
    first = place.first
    near, far = (max(width, 2 * pen.body) for width in (widths[first], widths[1 - first]))
    h = heights_of(pen, near, far, place.apart)
    rows = (first, h.near, 0), (1 - first, h.far, h.rail)
    for s in stages:
        for kind, strip, rail in rows:
            middle = (strip[0] + strip[1]) // 2
            _driver(hung, s, kind, middle, widths[kind], rail)
            hung.contact(s.drain, middle, kind)
            hung.upright(pen.metal, s.drain, (middle, h.wire), pen.pad)
            hung.size((s.driver, s.pull_up)[kind], pen.t.channel, widths[kind])
        hung.level(pen.metal, (s.drain, s.out), h.wire, pen.pad)
        hung.joint(s.out, h.wire)
    places = [x for s in stages for x in (s.source, s.drain)]
    ends = min(places) - pen.body, max(places) + pen.body
    for kind, strip, rail in rows:
        hung.bed(kind, Rect(ends[0], strip[0], ends[1], strip[1]), [(x, rail) for x in place.taps])
    hung.taps(place.taps, h.rail, 1 - first)
    wire = place.base - h.wire
    return InverterRow(place.base - h.rail, ends, place.base - h.far[1] - pen.t.gate_past, wire, wire)


def _loaded(pen: PolyPen, stages: Sequence[Stage], place: RowPlace) -> InverterRow:
    """Draw drivers with depletion loads below them; an output is the poly of its load, or goes over to metal below."""
    t, hung = pen.t, pen.placed(Transform(0, place.base, mirrored=True))
    width, pull_up = place.driver.width, place.pull_up
    half = max(width // 2, pen.body)
    drive = pen.rail + pen.metal_gap + half
    near, gate = drive - half, drive + half + t.other_gap
    out = drive + half + t.gate_past + pen.under.spacing + pen.pad
    rail = pen.load_drain(gate, pull_up)
    if any(s.leaves for s in stages):
        rail = max(rail, out + pen.pad + pen.metal_gap + pen.rail)
    places = []
    for s in stages:
        sense = 1 if s.drain > s.gate else -1
        away = pen.pad + pen.under.spacing + pull_up.width // 2 + t.gate_past
        at = s.drain + sense * away if s.leaves else s.out
        _driver(hung, s, 0, drive, width, 0)
        hung.level(t.diffusion[0], (s.drain - sense * pen.body, at + sense * pull_up.width // 2), drive, half)
        load = hung.placed(Transform(at, 0, 1, mirrored=True))
        load.depletion_load(near, gate, rail, pull_up, neck=pen.gate)
        if s.leaves:
            hung.contact(s.drain, drive, 0)
            hung.upright(pen.metal, s.drain, (drive, out), pen.pad)
            hung.joint(s.drain, out)
        hung.size(s.driver, t.channel, width)
        hung.size(s.pull_up, pull_up.length, pull_up.width)
        places += [s.source, s.gate, at]
    ends = min(places) - pen.pad, max(places) + pen.pad
    inputs = place.base - drive - width // 2 - t.gate_past
    return InverterRow(place.base - rail, ends, inputs, place.base - gate, place.base - out)


def _windowed(pen: MetalPen, stages: Sequence[Stage], place: RowPlace) -> InverterRow:
    """
    Draw inverters with metal gates below a bar of the first supply.

    Where there are two kinds of transistor, those of the other one stand between two more bars; where there is one, a
    load stands between the drain and the far supply's bar, its plate tied to that by a contact of its own.
    """
    hung = pen.placed(Transform(0, place.base, mirrored=True))
    width, pull_up, body, past = place.driver.width, place.pull_up, pen.body, pen.doped.past
    first, other = place.first, 0 if pen.one_kind else 1 - place.first
    length = place.driver.length
    hung_from = max(body, place.bar)
    top = hung_from + pen.gap(length)
    contact, bottom = top + body, top + 2 * body + (pen.cover + pen.metal_gap if pen.one_kind else 0)
    second = bottom
    if not pen.one_kind:
        second = max(bottom, bottom if place.floor is None else place.base - place.floor) + pen.across
    drain = second + body
    bar = second + pull_up.length if pen.one_kind else drain + body + pen.gap(length)
    rail = bar + (pen.contact_gate if pen.one_kind else body)
    reach = pen.reach(width)
    driven, lifted = (hung_from + past, top - past), (drain + body + past, bar - past)
    rows = [(first, (top, bottom), driven, contact), (other, (second, drain + body), lifted, drain)]
    for s in stages:
        sides = min(s.gate, s.out) - reach, max(s.gate, s.out) + reach
        names = (s.driver, s.pull_up) if first == 0 else (s.pull_up, s.driver)
        for name, (kind, y, ends, at) in zip(names, rows[: 2 - pen.one_kind], strict=False):
            hung.diffuse(kind, sides, y)
            hung.channel(ends, s.gate, width)
            hung.plate(ends, s.gate, width)
            hung.contact(s.out, at)
            hung.size(name, length, width)
        if pen.one_kind:
            hung.channel((bottom, bar), s.out, pull_up.width)
            hung.square(pen.t.cut, s.out, rail, pen.cut)
            half = max(pen.pad, pull_up.width // 2 + pen.over)
            hung.upright(pen.metal, s.out, (bottom - pen.cover, rail + pen.pad), half)
            hung.size(names[1], pull_up.length, pull_up.width)
        else:
            hung.upright(pen.metal, s.out, (contact, drain), pen.pad)
    places = [x for s in stages for x in (s.gate, s.out)]
    ends = min(place.tap - body, min(places) - reach), max(place.tap + body, max(places) + reach)
    hung.diffuse(other, ends, (bar, rail + body))
    hung.contact(place.tap, rail)
    low = place.base - rail - body
    return InverterRow(
        rail=place.base - rail,
        ends=ends,
        inputs=place.base - (driven if pen.one_kind else lifted)[1] - pen.cover,
        outputs=place.base - (contact if pen.one_kind else drain) - pen.pad,
        down=place.base - contact + pen.pad,
        near=place.base - bottom,
        far=None if pen.one_kind else Rect(ends[0], low, ends[1], place.base - second),
    )
