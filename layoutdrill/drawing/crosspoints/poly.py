"""
Draw crosspoints with poly gates: gates in poly, lines in metal, ground in strips of diffusion between the gates.

Ground and contacts to the lines take turns between gate lines; a transistor is a finger of diffusion from one to the
other. A second plane lies at right angles to the first, whose lines are its gates. Inverters hang below.
"""

from collections.abc import Mapping
from itertools import pairwise

from layoutdrill.cells.tiling import Part
from layoutdrill.drawing.crosspoints.loads import draw_loads, load_pitch
from layoutdrill.drawing.crosspoints.task import Lines, LoadPlace, Loads, Task, spread
from layoutdrill.drawing.shared import PolyPen, Span
from layoutdrill.drawing.shared.inverters import InverterRow, RowPlace, Stage, inverters, lead_down, out_reach
from layoutdrill.geometry.rect import Rect
from layoutdrill.geometry.transform import Transform
from layoutdrill.units import GridUnits
from layoutdrill.value import value


@value
class Plane:
    """
    Where a plane's parts lie, in the directions its pen draws in: gates by net, the gaps between them and outside,
    with whether each is ground, the lines, and the level rails across the strips of ground, the lowest first.
    """

    pen: PolyPen
    gates: Mapping[str, int]
    gaps: tuple[tuple[int, bool], ...]
    lines: Lines
    rails: tuple[int, ...]

    @property
    def left(self) -> int:
        return self.gaps[0][0]

    @property
    def right(self) -> int:
        return self.gaps[-1][0]


@value
class End:
    """
    The far end of lines: where they go over to poly, if they do, the rail that they pass, and where they leave. An
    `upper` rail is of the second metal, and lines pass it in the first.
    """

    pad: int | None
    rail: GridUnits
    leave: int
    upper: bool = False


@value
class Site(Task):
    """What every part of a drawing needs to know."""

    pen: PolyPen

    @property
    def spare(self) -> int:
        """Return the room between loads and plane, where taps of the substrate need some."""
        pen, spare = self.pen, self.choices.spare
        if pen.t.implants is None:
            return spare
        tap = 2 * pen.body + pen.implants.tap_gap
        edge = pen.implants.well_past + (0 if pen.implants.row else pen.implants.well_tap)  # of a well round these taps
        room = max(edge + tap, tap + 3 * pen.implants.past)  # the well ends, implants stay apart
        return max(spare, room - pen.apart)

    @property
    def split(self) -> int:
        """Return the distance of two drains in one gap, each with a contact of its own; 0 where they share one."""
        if self.plan.spare is None:
            return 0
        return max(2 * self.pen.body + self.pen.t.diffusion_spacing, 2 * self.pen.pad + self.pen.metal_gap)

    @property
    def aside(self) -> int:
        """Return how far below their lines transistors stand: metal decides there whether they are joined to them."""
        if self.plan.spare is not Part.UNJOINED:
            return 0
        return self.pen.pad + self.pen.metal_gap + self.pen.wire

    @property
    def to_end(self) -> int:
        """Return the distance of a line's poly pad from the plane's last gap."""
        return self.pen.body + self.pen.t.other_gap + self.pen.pad


def draw_poly(site: Site) -> None:
    """Draw one plane or two, with inverters below them."""
    pen = site.pen
    first = _first(site)
    end = _end(site, first)
    ends = [end]
    low = first.rails[0]
    planes = [first, _second(site, first, end)] if site.two else [first]
    stages = [_stage(i.driver, i.pull_up, first, i.a, i.y) for i in site.plan.complements]
    if site.two:
        stages += _behind(site, planes[1])
        ends.append(_second_end(site, first))
    row = _row(site, stages, low) if stages else None
    spans = [_first_gates(site, first, row)]
    if site.two:
        assert end.pad is not None
        past = planes[1].lines[-1][1] + site.widths.cross // 2 + pen.t.gate_past
        spans.append(dict.fromkeys(planes[1].gates, (end.pad, past)))
    loads = []
    for plane, gates, size in zip(planes, spans, site.widths.loads, strict=True):
        _crosspoints(site, plane, gates)
        place = LoadPlace(plane.left - pen.body, 0, plane.rails[0], site.spare, site.choices.taps)
        loads.append(draw_loads(plane.pen, plane.lines, size, place, site.supplies[1]))
        if pen.t.implants is not None:
            _bed(plane, site.choices.taps if plane is first else 0)
    _lines(site, planes, ends, loads, row)
    _rails(site, planes, end, loads)
    if row is not None:
        _join(site, stages, row, loads[0])


def _plane(
    pen: PolyPen, gates: Mapping[str, int], lines: Lines, rails: tuple[int, ...], *, ground_first: bool
) -> Plane:
    """Return a plane with ground and contacts in turn between its gates, and outside them."""
    beside, us = pen.beside, tuple(gates.values())
    places = [us[0] - beside, *((a + b) // 2 for a, b in pairwise(us)), us[-1] + beside]
    return Plane(pen, gates, tuple((u, ground_first != bool(k % 2)) for k, u in enumerate(places)), lines, rails)


def _first(site: Site) -> Plane:
    """Place gates and lines of the first plane; with a second one, rails lie where that one's lines end."""
    pen, choices = site.pen, site.choices
    own = bool(site.plan.complements)
    order = site.gate_order(taking_turns=own and pen.t.buried is not None)
    first_ground = own or choices.ground_first
    gates, u = {}, 0
    for k, net in enumerate(order):
        gates[net] = u
        ground = first_ground != bool((k + 1) % 2)
        u += 2 * pen.beside + choices.loose + (0 if ground else site.split)
    pitch = max(pen.row, load_pitch(pen, site.widths.loads[0]), site.widths.cross + pen.t.diffusion_spacing)
    pitch = max(pitch, 2 * pen.beside if site.two else 0) + choices.apart
    lines = site.plan.planes[0].lines
    vs, straps = spread(len(lines), pitch + site.aside, choices.strap, pen.to_rail + site.aside)
    low = vs[0] - site.aside - (pen.beside + site.to_end if site.two else 0) - pen.to_rail
    rails = (low, *straps, vs[-1] + pen.to_rail)
    return _plane(pen, gates, tuple(zip(lines, vs, strict=True)), rails, ground_first=first_ground)


def _second(site: Site, first: Plane, end: End) -> Plane:
    """Place the second plane, whose gates are the first one's lines, beyond their end."""
    pen, choices = site.pen, site.choices
    plane = site.plan.planes[1]
    pitch = max(pen.row, load_pitch(pen, site.widths.loads[1]), site.widths.cross + pen.t.diffusion_spacing)
    start = end.rail + pen.to_rail
    if site.plan.outputs:
        pitch = max(pitch, 2 * pen.beside + out_reach(pen, site.widths.pull_up)[1] + pen.t.other_gap + pen.body)
        start += 2 * pen.beside
    vs, straps = spread(len(plane.lines), pitch + choices.loose, choices.strap, max(pen.to_rail, (pitch + 1) // 2))
    lines = tuple((line, v + start) for line, v in zip(plane.lines, vs, strict=True))
    rails = (end.rail, *(v + start for v in straps), lines[-1][1] + pen.to_rail)
    gates = {line.net: -v for line, v in reversed(first.lines)}
    return _plane(pen.placed(Transform(turns=3)), gates, lines, rails, ground_first=choices.ground_first)


def _end(site: Site, plane: Plane) -> End:
    pen, choices = site.pen, site.choices
    side = plane.right + pen.body
    if choices.upper:
        side += pen.metal_gap + pen.rail
        return End(None, side, side + pen.rail + choices.past, upper=True)
    if not choices.railed:
        return End(None, side, side + choices.past)
    pad = plane.right + site.to_end
    rail = pad + pen.to_rail
    return End(pad, rail, rail if site.two else rail + pen.rail + choices.past)


def _second_end(site: Site, first: Plane) -> End:
    pen, rail = site.pen, -first.rails[0]
    return End(rail - pen.to_rail, rail, rail + pen.rail + site.choices.past)


def _stage(driver: str, pull_up: str, plane: Plane, a: str, y: str) -> Stage:
    """Return the places of an inverter whose input and output lie on either side of one gap of contacts."""
    order = list(plane.gates)
    k, j = order.index(a), order.index(y)
    drain, source = plane.gaps[max(k, j)], plane.gaps[k + 1 if j < k else k]
    assert abs(k - j) == 1
    assert source[1]
    return Stage(driver, pull_up, plane.gates[a], plane.gates[y], source[0], drain[0])


def _behind(site: Site, plane: Plane) -> list[Stage]:
    """Return the places of the inverters behind a second plane's lines, which become their gates."""
    beside, out = site.pen.beside, out_reach(site.pen, site.widths.pull_up)[0]
    return [
        Stage(i.driver, i.pull_up, v, v + beside + out, v - beside, v + beside, leaves=i.y)
        for line, v in plane.lines
        if (i := site.plan.outputs.get(line.net)) is not None
    ]


def _row(site: Site, stages: list[Stage], base: int) -> InverterRow:
    """Draw the inverters, with taps under some of their sources."""
    gaps, widths = sorted({s.source for s in stages}), site.widths
    taps = gaps[:: max(1, len(gaps) // site.choices.taps)] if site.pen.t.implants is not None else []
    return inverters(site.pen, stages, RowPlace(base, widths.driver, widths.pull_up, taps=tuple(taps)))


def _below(site: Site, row: InverterRow) -> int:
    """Return where wires leave below a row of inverters."""
    return row.rail - site.pen.rail - site.choices.past


def _first_gates(site: Site, plane: Plane, row: InverterRow | None) -> dict[str, Span]:
    """Return between what heights each of the first plane's gate lines runs, and name it where it leaves."""
    pen = site.pen
    past = site.widths.cross // 2 + pen.t.gate_past
    least, most = plane.lines[0][1] - site.aside - past, plane.lines[-1][1] + past
    reach = pen.rail + site.choices.past
    below, above = plane.rails[0] - reach, plane.rails[-1] + reach
    own, made = {i.a for i in site.plan.complements}, {i.y for i in site.plan.complements}
    spans = {}
    for net, u in plane.gates.items():
        up = site.above[net]
        if row is not None and net in made:
            spans[net] = row.outputs, most
            continue
        ends = (row.inputs, _below(site, row)) if row is not None and net in own else (least, below)
        lower = ends[0] if up else ends[1]
        spans[net] = lower, above if up else most
        pen.label(net, pen.poly, u, above if up else lower)
    return spans


def _crosspoints(site: Site, plane: Plane, spans: Mapping[str, Span]) -> None:
    """Draw strips, gates and transistors; `spans` gives every gate line's two ends."""
    pen, width = plane.pen, site.widths.cross
    for u, ground in plane.gaps:
        if ground:
            pen.upright(pen.t.diffusion[0], u, (plane.rails[0] - pen.body, plane.rails[-1] + pen.body), pen.body)
            for v in plane.rails:
                pen.square(pen.t.cut, u, v, pen.cut)
    for net, u in plane.gates.items():
        pen.upright(pen.poly, u, spans[net], pen.gate)
    for line, v in plane.lines:
        drains = {}
        for k, net in enumerate(plane.gates):
            if net in line.standing:
                pen.size(line.standing[net], pen.t.channel, width)
                drains[net] = _strip(site, plane, k, v)
        for net, drain in drains.items():  # after the strips, so that each channel is read as one piece
            _drain(site, plane, drain, v, joined=net in line.at)


def _strip(site: Site, plane: Plane, k: int, v: int) -> int:
    """
    Draw the strip of the transistor at gate k, from ground to its drain, and return where that lies.

    Where lines are programmed by contacts or metal the drain is its own, beside the gate.
    """
    pen, (left, ground_left), (right, _) = plane.pen, *plane.gaps[k : k + 2]
    ground, drain = (left, right) if ground_left else (right, left)
    if site.plan.spare is not None:
        u = tuple(plane.gates.values())[k]
        drain = u + (pen.beside if ground_left else -pen.beside)
    pen.level(pen.t.diffusion[0], (ground, drain), v - site.aside, site.widths.cross // 2)
    return drain


def _drain(site: Site, plane: Plane, drain: int, v: int, *, joined: bool) -> None:
    """Draw the end of a transistor, with its contact, and the metal that joins it to its line where that programs."""
    pen, middle, by_metal = plane.pen, v - site.aside, site.plan.spare is Part.UNJOINED
    pen.square(pen.t.diffusion[0], drain, middle, pen.body)
    if joined or by_metal:
        pen.contact(drain, middle)
    if joined and by_metal:
        pen.upright(pen.metal, drain, (middle, v), pen.wire)


def _bed(plane: Plane, taps: int) -> None:
    """Draw the implant of a plane's transistors, their well if they lie in one, and up to two taps on its rails."""
    pen, low, high = plane.pen, plane.rails[0], plane.rails[-1]
    u = plane.left - 2 * pen.body - pen.implants.tap_gap
    rails = (low, high)[: min(taps, 2)]
    for v in rails:
        pen.taps((u,), v, 0)
        pen.level(pen.metal, (u - pen.pad, plane.left), v, pen.rail)
    area = Rect(plane.left - pen.body, low - pen.body, plane.right + pen.body, high + pen.body)
    pen.bed(0, area, [(u, v) for v in rails])


def _lines(site: Site, planes: list[Plane], ends: list[End], loads: list[Loads], row: InverterRow | None) -> None:
    """Draw the lines' metal from their loads on, over to poly where they pass a rail, and on to where they leave."""
    for plane, end, bank in zip(planes, ends, loads, strict=True):
        pen = plane.pen
        for line, v in plane.lines:
            leave = end.leave
            if row is not None and line.net in site.plan.outputs:
                leave = -row.inputs
            elif plane is planes[-1]:
                pen.label(line.net, pen.metal if end.pad is None else pen.poly, leave, v)
            _line(pen, v, bank.start, end.pad, leave)


def _line(pen: PolyPen, v: int, start: int, pad: int | None, end: int) -> None:
    pen.level(pen.metal, (start, end if pad is None else pad), v, pen.wire)
    if pad is not None:
        pen.level(pen.metal, (pad - pen.pad - pen.metal_gap, pad + pen.pad), v, pen.pad)  # no notch at a transistor
        pen.joint(pad, v)
        pen.level(pen.poly, (pad, end), v, pen.gate)


def _rails(site: Site, planes: list[Plane], end: End, loads: list[Loads]) -> None:
    """Draw the low supply's rails across both planes, and join them at the lines' end; join the rails of the loads."""
    pen, first = site.pen, planes[0]
    low, high = first.rails[0], first.rails[-1]
    far = end.rail
    if site.two:
        far, down = planes[1].rails[-1] + pen.rail, planes[1].pen
        for v in planes[1].rails:
            begin = loads[1].gate[0] if v == end.rail else planes[1].left - pen.pad
            down.level(pen.metal, (begin, -low), v, pen.rail)
        down.upright(pen.metal, loads[1].rail, (loads[0].rail - pen.rail, loads[1].reach[1]), pen.rail)
        pen.upright(pen.metal, loads[0].rail, (loads[0].reach[0], pen.rail - loads[1].rail), pen.rail)
    for v in first.rails:
        ends = (loads[0].gate[0], far) if v == low else (first.left - pen.pad, end.rail)
        pen.level(pen.metal, (ends[0], ends[1] + pen.rail * end.upper), v, pen.rail)
    pen.label(site.supplies[0], pen.metal, first.left, low)
    if end.upper:
        pen.upright(pen.upper.layer, end.rail, (low - pen.rail, high + pen.rail), pen.rail)
        for v in first.rails:
            pen.square(pen.t.via, end.rail, v, pen.cut)
    elif end.pad is not None:
        pen.upright(pen.metal, end.rail, (low - pen.rail, high + pen.rail), pen.rail)


def _join(site: Site, stages: list[Stage], row: InverterRow, loads: Loads) -> None:
    """Join a row's rail to that of the loads; lead out what leaves below."""
    pen = site.pen
    pen.level(pen.metal, (loads.rail - pen.rail, row.ends[1]), row.rail, pen.rail)
    pen.upright(pen.metal, loads.rail, (row.rail - pen.rail, loads.reach[1]), pen.rail)
    lead_down(pen, stages, row, _below(site, row), pen.gate)
