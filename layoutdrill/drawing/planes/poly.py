"""Draw planes in processes with poly gates: where everything lies, and the rails that join it."""

from dataclasses import dataclass

from layoutdrill.drawing.planes.arrangement import gate_order, spread, steps
from layoutdrill.drawing.planes.choices import Choices
from layoutdrill.drawing.planes.pen import Pen, Sheet, Span
from layoutdrill.drawing.planes.plan import Plan
from layoutdrill.drawing.planes.poly_loads import Loads, load_pitch, paint_loads
from layoutdrill.drawing.planes.poly_plane import Field, gaps_between, paint_end, paint_field
from layoutdrill.drawing.planes.poly_row import Row, RowSizes, Stage, out_reach, paint_row
from layoutdrill.drawing.planes.poly_rules import PolyRules
from layoutdrill.drawing.planes.widths import Widths
from layoutdrill.drawing.technique import METAL, OTHER, UPPER_METAL, Technique
from layoutdrill.geometry.rect import Rect


@dataclass(frozen=True, slots=True)
class _End:
    """
    The far end of lines: where they go over to poly, if they do, the rail that they pass, and where they leave. An
    `upper` rail is of the second metal, and lines pass it in the first.
    """

    pad: int | None
    rail: int
    leave: int
    upper: bool = False


@dataclass(frozen=True, slots=True)
class _Frame:
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


def draw_poly(plan: Plan, technique: Technique, choices: Choices, widths: Widths, supplies: tuple[str, str]) -> Sheet:
    """Return the drawing of one plane or two, with inverters below them."""
    f = _Frame(plan, PolyRules(technique, choices.stout), choices, widths, supplies)
    r, pen = f.rules, Pen(Sheet())
    metal = technique.wires[METAL].layer
    field = _first_field(f)
    low, high = field.rails[0], field.rails[-1]
    end = _end(f, field)
    _gates(f, pen, field)
    loads = paint_loads(
        pen, r, field.left - r.body, field.lines, widths.loads[0], (low,), supplies, f.spare, choices.taps
    )
    far = end.rail
    above = f.above
    stages = [_stage(field, i.a, i.y, below=not above[i.a]) for i in plan.complements]
    if f.two:
        far, behind = _second(f, pen, field, end, loads)
        stages += behind
    for line, v in field.lines:
        if f.two and line.net in plan.planes[1].gates:
            continue
        paint_end(pen, r, v, (loads.start, 0), end.pad, end.leave)
        pen.label(line.net, metal if end.pad is None else technique.wires[OTHER].layer, end.leave, v)
    begin = field.left if loads.gate is None else loads.gate
    for v in field.rails:
        ends = (begin - r.pad, far) if v == low else (field.left - r.pad, end.rail)
        pen.along(metal, (ends[0], ends[1] + r.rail * end.upper), v, r.rail)
    pen.label(supplies[0], metal, field.left, low)
    if end.upper:
        pen.upright(technique.wires[UPPER_METAL].layer, end.rail, (low - r.rail, high + r.rail), r.rail)
        for v in field.rails:
            pen.square(technique.via, end.rail, v, r.cut)
    elif end.pad is not None:
        pen.upright(metal, end.rail, (low - r.rail, high + r.rail), r.rail)
    _implant(f, pen, pen.rect((field.left, field.right), (low, high)))
    _substrate_taps(f, pen, field)
    if stages:
        row = paint_row(pen, r, stages, low, f.sizes, supplies, taps=choices.taps, past=choices.past)
        _join(f, pen, row, loads)
    return pen.sheet


def _first_field(f: _Frame) -> Field:
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


def _end(f: _Frame, field: Field) -> _End:
    r = f.rules
    if not f.choices.railed or f.choices.upper:
        side = field.right + r.body
        if f.choices.upper:
            side += r.metal_gap + r.rail
            return _End(None, side, side + r.rail + f.choices.past, upper=True)
        return _End(None, side, side + f.choices.past)
    pad = field.right + f.to_end
    return _End(pad, pad + r.to_rail, pad + r.to_rail + r.rail + f.choices.past)


def _gates(f: _Frame, pen: Pen, field: Field) -> None:
    """Draw the first plane with its gate lines, which leave above or below, or go on into a row of inverters."""
    r, choices = f.rules, f.choices
    past = field.width // 2 + r.technique.gate_past
    least, most = field.lines[0][1] - past, field.lines[-1][1] + past
    low, high = field.rails[0], field.rails[-1]
    below, above = low - r.rail - choices.past, high + r.rail + choices.past
    own, made = {i.a for i in f.plan.complements}, {i.y for i in f.plan.complements}
    spans: dict[str, Span] = {}
    up = f.above
    for net, u in field.gates.items():
        lower = low if net in own or net in made else least if up[net] else below
        spans[net] = lower, above if up[net] and net not in made else most
        if net not in made and (up[net] or net not in own):
            pen.label(net, r.technique.wires[OTHER].layer, u, above if up[net] else below)
    paint_field(pen, r, field, spans)


def _stage(field: Field, a: str, y: str, *, below: bool) -> Stage:
    """Return the places of an inverter whose input and output lie on either side of one gap of contacts."""
    order = list(field.gates)
    k, j = order.index(a), order.index(y)
    drain, source = field.gaps[max(k, j)], field.gaps[k + 1 if j < k else k]
    assert abs(k - j) == 1
    assert source.ground
    return Stage(a, y, source.u, field.gates[a], drain.u, field.gates[y], below)


def _second(f: _Frame, pen: Pen, first: Field, end: _End, loads: Loads) -> tuple[int, list[Stage]]:
    """
    Draw the second plane, whose gates are the first one's lines; return how far the low supply's rail runs below it,
    and the places of the inverters behind its lines.
    """
    r, choices, t = f.rules, f.choices, f.rules.technique
    assert end.pad is not None
    plane = f.plan.planes[1]
    down = Pen(pen.sheet, turned=True)
    places = {line.net: -v for line, v in reversed(first.lines) if line.net in plane.gates}
    gaps = gaps_between(tuple(places.values()), ground_first=choices.ground_first, beside=r.beside)
    pitch = max(r.row, load_pitch(r, f.widths.loads[1]), f.widths.cross + t.diffusion_spacing)
    outputs = {i.a: i for i in f.plan.outputs}
    reach = out_reach(r, f.sizes, down=True)
    if outputs:
        pitch = max(pitch, 2 * r.beside + reach[1] + t.other_gap + r.body)
    vs, straps = spread(len(plane.lines), pitch + choices.loose[0], choices.strap, max(r.to_rail, (pitch + 1) // 2))
    at = end.rail + r.to_rail + (2 * r.beside if outputs else 0)
    lines = tuple((line, v + at) for line, v in zip(plane.lines, vs, strict=True))
    rails = (end.rail, *(v + at for v in straps), lines[-1][1] + r.to_rail)
    field = Field(places, gaps, lines, rails, f.widths.cross)
    past = lines[-1][1] + field.width // 2 + t.gate_past
    paint_field(down, r, field, dict.fromkeys(places, (end.pad, past)))
    for line, v in first.lines:
        if line.net in places:
            paint_end(pen, r, v, (loads.start, 0), end.pad, end.rail)
    side = -first.rails[0]
    leave = side + r.rail + choices.past
    own = paint_loads(
        down, r, field.left - r.body, lines, f.widths.loads[1], (end.rail,), f.supplies, f.spare, choices.taps
    )
    for line, v in lines:
        paint_end(down, r, v, (own.start, 0), side - r.to_rail, side if line.net in outputs else leave)
        if line.net not in outputs:
            down.label(line.net, t.wires[OTHER].layer, leave, v)
    metal = t.wires[METAL].layer
    begin = field.left if own.gate is None else own.gate
    for v in rails:
        down.along(metal, (begin - r.pad if v == end.rail else field.left - r.pad, side), v, r.rail)
    _implant(f, pen, down.rect((field.left, field.right), (rails[0], rails[-1])))
    down.upright(metal, own.rail, (loads.rail, own.reach[1]), r.rail)
    pen.upright(metal, loads.rail, (loads.reach[0], -own.rail), r.rail)
    stages = [
        Stage(line.net, outputs[line.net].y, v - r.beside, v, v + r.beside, v + r.beside + reach[0], down=True)
        for line, v in lines
        if line.net in outputs
    ]
    return rails[-1] + r.rail, stages


def _join(f: _Frame, pen: Pen, row: Row, loads: Loads) -> None:
    """Join a row's rail to that of the loads."""
    metal = f.rules.technique.wires[METAL].layer
    pen.along(metal, (loads.rail - f.rules.rail, row.ends[1]), row.rail, f.rules.rail)
    pen.upright(metal, loads.rail, (row.rail, loads.reach[1]), f.rules.rail)


def _implant(f: _Frame, pen: Pen, strips: Rect) -> None:
    """Draw the implant of the n transistors round a plane, whose strips have their middles on the area's edges."""
    implants = f.rules.technique.implants
    if implants is not None:
        pen.sheet.shapes.setdefault(implants.doping[0], []).append(strips.grown(f.rules.body + implants.past))


def _substrate_taps(f: _Frame, pen: Pen, field: Field) -> None:
    """Draw taps of the substrate on the rails, between the loads and the plane."""
    r = f.rules
    implants = r.technique.implants
    if implants is None:
        return
    u = field.left - 2 * r.body - implants.tap_gap
    for v in (field.rails[0], field.rails[-1])[: 1 + (f.choices.taps > 1)]:
        pen.square(r.technique.diffusion[0], u, v, r.body)
        pen.square("contact", u, v, r.cut)
        pen.square(implants.doping[1], u, v, r.body + implants.past)
        pen.along(r.technique.wires[METAL].layer, (u - r.pad, field.left), v, r.rail)
