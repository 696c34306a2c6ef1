"""Draw planes in processes with poly gates: the first plane, and the rails that join what lies round it."""

from layoutdrill.drawing.planes.choices import Choices
from layoutdrill.drawing.planes.pen import Pen, Sheet, Span
from layoutdrill.drawing.planes.plan import Plan
from layoutdrill.drawing.planes.poly_frame import Frame, end_of, first_field
from layoutdrill.drawing.planes.poly_loads import Loads, paint_loads
from layoutdrill.drawing.planes.poly_plane import Field, paint_end, paint_field, paint_implant
from layoutdrill.drawing.planes.poly_row import Row, Stage, paint_row
from layoutdrill.drawing.planes.poly_rules import PolyRules
from layoutdrill.drawing.planes.poly_second import second_plane
from layoutdrill.drawing.planes.widths import Widths
from layoutdrill.drawing.shared.technique import METAL, OTHER, UPPER_METAL, Technique


def draw_poly(plan: Plan, technique: Technique, choices: Choices, widths: Widths, supplies: tuple[str, str]) -> Sheet:
    """Return the drawing of one plane or two, with inverters below them."""
    f = Frame(plan, PolyRules(technique, choices.stout), choices, widths, supplies)
    r, pen = f.rules, Pen(Sheet())
    metal = technique.wires[METAL].layer
    field = first_field(f)
    low, high = field.rails[0], field.rails[-1]
    end = end_of(f, field)
    _gates(f, pen, field)
    loads = paint_loads(
        pen, r, field.left - r.body, field.lines, widths.loads[0], (low,), supplies, f.spare, choices.taps
    )
    for line, v in field.lines:
        paint_end(pen, r, v, loads.start, end.pad, end.rail if f.two else end.leave)
        if not f.two:
            pen.label(line.net, metal if end.pad is None else technique.wires[OTHER].layer, end.leave, v)
    far, above = end.rail, f.above
    stages = [_stage(field, i.a, i.y, below=not above[i.a]) for i in plan.complements]
    if f.two:
        far, behind = second_plane(f, pen, field, end, loads)
        stages += behind
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
    paint_implant(pen, r, field)
    _substrate_taps(f, pen, field)
    if stages:
        row = paint_row(pen, r, stages, low, f.sizes, supplies, taps=choices.taps, past=choices.past)
        _join(f, pen, row, loads)
    return pen.sheet


def _gates(f: Frame, pen: Pen, field: Field) -> None:
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


def _join(f: Frame, pen: Pen, row: Row, loads: Loads) -> None:
    """Join a row's rail to that of the loads."""
    metal = f.rules.technique.wires[METAL].layer
    pen.along(metal, (loads.rail - f.rules.rail, row.ends[1]), row.rail, f.rules.rail)
    pen.upright(metal, loads.rail, (row.rail - f.rules.rail, loads.reach[1]), f.rules.rail)


def _substrate_taps(f: Frame, pen: Pen, field: Field) -> None:
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
