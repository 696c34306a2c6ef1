"""
Draw crosspoints with metal gates: gates in metal; lines, and the ground between each two of them, in diffusion.

A transistor is a window of thin oxide that bridges the gap between a line and its ground; without one the metal just
crosses over thick oxide. Rails stand upright between the gates. A second plane lies at right angles to the first, whose
lines are its gates. Inverters hang below.
"""

from collections.abc import Mapping
from dataclasses import replace
from itertools import zip_longest

from layoutdrill.drawing.crosspoints.loads import draw_loads, load_pitch
from layoutdrill.drawing.crosspoints.plan import Line
from layoutdrill.drawing.crosspoints.task import LoadPlace, Loads, Task, spread
from layoutdrill.drawing.shared import MetalPen, Span
from layoutdrill.drawing.shared.inverters import InverterRow, RowPlace, Stage, inverters, lead_down
from layoutdrill.geometry.rect import Rect
from layoutdrill.geometry.transform import Transform
from layoutdrill.value import value

Bars = tuple[tuple[tuple[Line, int, int], ...], tuple[int, ...]]
"""Level diffusions, lowest first: lines with the middle of each and of their ground, and the middles of grounds."""


@value
class Plane:
    """
    Where a plane's parts lie, in the directions its pen draws in: gates by net; level bars, lowest first, of lines
    with the place of their ground, and of the grounds; the rails upright outside and between the gates, which all meet
    the grounds; how far the lines reach, the contacts at their ends, and the level rail above the gates.
    """

    pen: MetalPen
    gates: Mapping[str, int]
    lines: tuple[tuple[Line, int, int], ...]
    grounds: tuple[int, ...]
    rails: tuple[int, ...]
    reach: Span
    contacts: Span
    top: int

    @property
    def low(self) -> int:
        return min(self.lines[0][1], self.grounds[0])

    @property
    def high(self) -> int:
        return max(self.lines[-1][1], self.grounds[-1])


@value
class Site(Task):
    """What every part of a drawing needs to know."""

    pen: MetalPen

    @property
    def width(self) -> int:
        return self.widths.cross

    @property
    def gate(self) -> int:
        """Return half the width of a gate line."""
        return max(self.width // 2 + self.pen.over, self.pen.pad)

    @property
    def pitch(self) -> int:
        return 2 * self.gate + self.pen.metal_gap

    @property
    def pair(self) -> int:
        """Return the least distance of gate lines between which there are inverters."""
        return max(self.pitch, 2 * self.pen.reach(self.width) + self.pen.apart)

    @property
    def beside(self) -> int:
        """Return the distance of an upright rail from the gate line beside it."""
        return self.gate + self.pen.metal_gap + self.pen.rail

    def between(self, plane: int) -> int:
        """Return the least distance of two lines that have no ground between them."""
        return max(2 * self.pen.body + self.pen.apart, load_pitch(self.pen, self.widths.loads[plane]))


def draw_metal(site: Site) -> None:
    """Draw one plane or two, with inverters below them."""
    pen = site.pen
    ground, supply = site.supplies[::-1] if pen.one_kind else site.supplies
    planes = [_first(site)]
    if site.two:
        planes.append(_second(site, planes[0]))
        planes[0] = replace(planes[0], top=-planes[1].rails[0])
    area, base = _area(site, planes)
    row = None
    if site.plan.complements or site.plan.outputs:
        row = _row(site, planes, area, base)
        pen.label(supply, pen.metal, _row_tap(site, planes[0]), row.rail)
        area = Rect(area.x0, min(area.y0, row.near), area.x1, area.y1)
    outer = pen.ring(area, 0)
    leave = _leave(site, row, outer)
    spans = [_first_gates(site, planes[0], row, leave)]
    if site.two:
        spans.append(dict.fromkeys(planes[1].gates, (planes[0].contacts[1] - pen.pad, planes[1].high + pen.body)))
    begins, loads = (base - pen.pad, planes[0].rails[-1]), []
    for plane, gates, begin, size in zip(planes, spans, begins, site.widths.loads, strict=False):
        _crosspoints(site, plane, gates, (begin, plane.top))
        lines = tuple((line, v) for line, v, _ in plane.lines)
        place = LoadPlace(plane.reach[0], plane.contacts[0], plane.top, site.choices.spare, 0)
        bank = draw_loads(plane.pen, lines, size, place, supply)
        left = plane.rails[0] - pen.rail if pen.one_kind else bank.gate[0]
        right = -base if site.plan.outputs and plane is planes[-1] else plane.rails[-1]
        plane.pen.level(pen.metal, (left, right + pen.rail), plane.top, pen.rail)
        loads.append(bank)
        _ends(plane)
    _lead_out(site, planes[-1], -leave if site.two else outer.x1 + site.choices.past, row)
    pen.label(ground, pen.metal, planes[0].rails[0], planes[0].grounds[0])
    _ring_contacts(site, planes[0], area, base)
    _join(site, planes, loads, row)


def _plane(pen: MetalPen, gates: Mapping[str, int], rails: tuple[int, ...], bars: Bars) -> Plane:
    beside = pen.rail + pen.metal_gap + pen.pad
    contacts = rails[0] - beside, rails[-1] + beside
    left = rails[0] - pen.rail - pen.metal_gap - pen.cover if pen.one_kind else contacts[0] - pen.body
    rings = pen.t.rings
    over = max(pen.metal_gap + pen.rail, 0 if rings is None else rings.gap + rings.width // 2)
    plane = Plane(pen, gates, *bars, rails, (left, contacts[1] + pen.body), contacts, 0)
    return replace(plane, top=plane.high + pen.body + over)


def _bars(site: Site, lines: tuple[Line, ...], between: int, *, ground_first: bool, start: int = 0) -> Bars:
    """
    Return places of lines in pairs about a ground, from `start` up; `between` is the distance of lines of two pairs.

    With `ground_first` the first line has a ground of its own below it.
    """
    step = 2 * site.pen.body + site.pen.gap(site.pen.t.channel)
    placed: list[tuple[Line, int, int]] = []
    grounds: list[int] = []
    pairs = (None, *lines) if ground_first else lines
    at = start - step if ground_first else start
    for below, above in zip_longest(pairs[::2], pairs[1::2]):
        ground = at + step
        grounds.append(ground)
        placed += [(line, v, ground) for line, v in ((below, at), (above, ground + step)) if line is not None]
        at = ground + step + between
    return tuple(placed), tuple(grounds)


def _first(site: Site) -> Plane:
    """Place the first plane: its gate lines from 0 up, with rails outside them and between groups of them."""
    choices, lines = site.choices, site.plan.planes[0].lines
    order = site.gate_order()
    pitch = (site.pair if site.plan.complements else site.pitch) + choices.loose
    strap = choices.columns if len(order) > 8 else len(order)
    places, straps = spread(len(order), pitch, strap, site.beside)
    rails = (-site.beside, *straps, places[-1] + site.beside)
    hung = bool(site.plan.complements) and not site.plan.outputs
    between = max(site.between(0), site.pitch if site.two else 0) + choices.apart
    bars = _bars(site, lines, between, ground_first=hung or choices.ground_first)
    return _plane(site.pen, dict(zip(order, places, strict=True)), rails, bars)


def _second(site: Site, first: Plane) -> Plane:
    """Place the second plane to the right of the first, in its own directions: lines run downwards."""
    pen, choices = site.pen, site.choices
    gates = {line.net: -v for line, v, _ in reversed(first.lines)}
    us = tuple(gates.values())
    rails = min(us[0] - site.beside, -first.top), us[-1] + site.beside
    between = site.between(1) + choices.apart
    start = first.contacts[1] + 2 * pen.body + pen.apart
    if site.plan.outputs:
        between = 3 * site.pair
        start += site.pair
    bars = _bars(site, site.plan.planes[1].lines, between, ground_first=choices.ground_first, start=start)
    plane = _plane(pen.placed(Transform(turns=3)), gates, rails, bars)
    if not site.plan.outputs:
        return plane
    return replace(plane, top=max(plane.top, plane.lines[-1][1] + site.pair + site.beside))


def _area(site: Site, planes: list[Plane]) -> tuple[Rect, int]:
    """Return the area of all diffusions of the drivers' kind, and the level ground from which inverters hang."""
    pen, first = site.pen, planes[0]
    low = first.low - pen.body
    area = Rect(first.reach[0], low, first.reach[1], first.high + pen.body)
    base = first.low
    if site.two:
        last = planes[1]
        area = Rect(area.x0, min(low, -last.reach[1]), last.high + pen.body, -last.reach[0])
    if site.plan.outputs:
        base = area.y0 - pen.apart - pen.body
        area = Rect(area.x0, base - pen.body, max(area.x1, planes[1].top + pen.body), area.y1)
    return area, base


def _row_tap(site: Site, first: Plane) -> int:
    """Return the place of the contact of the far supply below a row of inverters."""
    return min(first.gates.values()) - site.gate - site.pen.metal_gap - site.pen.pad


def _row(site: Site, planes: list[Plane], area: Rect, base: int) -> InverterRow:
    """Draw the inverters, and the ground that they hang from unless it is the first plane's."""
    pen, first = site.pen, planes[0]
    stages = [Stage(i.driver, i.pull_up, first.gates[i.a], first.gates[i.y]) for i in site.plan.complements]
    for line, v, ground in planes[-1].lines:
        if (i := site.plan.outputs.get(line.net)) is not None:
            stages.append(Stage(i.driver, i.pull_up, v, v + (site.pair if ground < v else -site.pair), leaves=i.y))
    if site.plan.outputs:
        pen.bar(0, (first.rails[0] - pen.body, planes[1].top + pen.body), base, pen.body)
        for u in (*first.rails, planes[1].top):
            pen.contact(u, base)
    place = RowPlace(base, site.widths.driver, site.widths.pull_up, floor=area.y0, tap=_row_tap(site, first))
    row = inverters(pen, stages, place)
    lead_down(pen, stages, row, _leave(site, row, area), site.gate)
    return row


def _leave(site: Site, row: InverterRow | None, outer: Rect) -> int:
    """Return where wires leave below."""
    if row is None:
        return outer.y0 - site.choices.past
    rings = site.pen.t.rings
    past = site.choices.past + (0 if rings is None else rings.gap + rings.width)
    return row.rail - site.pen.body - past


def _first_gates(site: Site, plane: Plane, row: InverterRow | None, leave: int) -> dict[str, Span]:
    """Return between what heights each of the first plane's gate lines runs, and name those that leave below."""
    made = {i.y for i in site.plan.complements}
    spans = {}
    for net, u in plane.gates.items():
        low = leave
        if row is not None and net in made:
            low = row.outputs
        else:
            site.pen.label(net, site.pen.metal, u, leave)
        spans[net] = low, plane.high + site.pen.body
    return spans


def _crosspoints(site: Site, plane: Plane, gates: Mapping[str, Span], rails: Span) -> None:
    """Draw bars, windows, gate lines and rails; each gate line, and all rails, between the values of v given."""
    pen, left, right = plane.pen, plane.rails[0], plane.rails[-1]
    for v in plane.grounds:
        pen.bar(0, (left - pen.body, right + pen.body), v, pen.body)
        for u in plane.rails:
            pen.contact(u, v)
    edge = pen.body + pen.doped.past
    for line, v, ground in plane.lines:
        pen.bar(0, plane.reach, v, pen.body)
        ends = (ground + edge, v - edge) if ground < v else (v + edge, ground - edge)
        for net, name in line.at.items():
            pen.channel(ends, plane.gates[net], site.width)
            pen.size(name, pen.t.channel, site.width)
    for net, u in plane.gates.items():
        pen.upright(pen.metal, u, gates[net], site.gate)
    for u in plane.rails:
        pen.upright(pen.metal, u, rails, pen.rail)


def _ends(plane: Plane) -> None:
    """Draw the contacts at the ends of lines."""
    for _, v, _ in plane.lines:
        for u in plane.contacts[plane.pen.one_kind :]:
            plane.pen.contact(u, v)


def _lead_out(site: Site, plane: Plane, leave: int, row: InverterRow | None) -> None:
    """Draw the metal in which the last plane's lines leave, or become the gates of inverters."""
    pen = plane.pen
    for line, v, _ in plane.lines:
        if row is not None and line.net in site.plan.outputs:
            pen.level(pen.metal, (plane.contacts[1], -row.inputs), v, site.gate)
        else:
            pen.level(pen.metal, (plane.contacts[1], leave), v, pen.pad)
            pen.label(line.net, pen.metal, leave, v)


def _ring_contacts(site: Site, plane: Plane, area: Rect, base: int) -> None:
    """Run the first plane's outer rails on to the drivers' ring, and tie it to them."""
    pen, rings = site.pen, site.pen.t.rings
    if rings is None:
        return
    middle = area.grown(rings.gap + rings.width // 2)
    left, right = plane.rails[0], plane.rails[-1]
    for u in (left, right):
        pen.upright(pen.metal, u, (middle.y0 - pen.pad, base), pen.rail)
        pen.contact(u, middle.y0)
    pen.upright(pen.metal, left, (base, middle.y1 + pen.pad), pen.rail)
    pen.contact(left, middle.y1)


def _join(site: Site, planes: list[Plane], loads: list[Loads], row: InverterRow | None) -> None:
    """Draw the supply's rails over the loads' far ends, with rings and their contacts, and join them and the row."""
    pen, rings = site.pen, site.pen.t.rings
    sides: list[Span] = []
    for own, bank in zip((plane.pen for plane in planes), loads, strict=True):
        outer = bank.rail - pen.pad - pen.rail_extra
        if rings is not None:
            own.ring(bank.area, 1)
            ring = bank.rail - pen.body - rings.gap - rings.width // 2
            outer = ring - rings.width // 2
            low, high = bank.reach
            many = high - low > 4 * pen.pad
            for v in (low + pen.pad, high - pen.pad) if many else ((low + high) // 2,):
                own.square(pen.t.cut, ring, v, pen.cut)
        own.box(pen.metal, (outer, bank.rail + pen.pad), bank.reach)
        sides.append((bank.rail - pen.pad - pen.rail_extra, bank.rail + pen.pad))
    if len(loads) > 1:
        planes[1].pen.box(pen.metal, (sides[1][0], -loads[0].reach[1]), sides[0])
        planes[1].pen.box(pen.metal, sides[1], (sides[0][0], loads[1].reach[1]))
    if row is not None:
        u, v = _row_tap(site, planes[0]), row.rail
        pen.box(pen.metal, sides[0], (v - pen.pad, loads[0].reach[1]))
        pen.level(pen.metal, (sides[0][0], u), v, pen.pad)
        if row.far is not None and rings is not None:
            pen.ring(row.far, 1)
            pen.contact(row.far.x0 - rings.gap - rings.width // 2, v)
