"""Draw planes in processes with metal gates: the rails and rings that join and part what lies on a site."""

from layoutdrill.drawing.planes.choices import Choices
from layoutdrill.drawing.planes.metal_loads import Loads, paint_loads
from layoutdrill.drawing.planes.metal_plane import paint_field
from layoutdrill.drawing.planes.metal_row import Row, Stage, paint_row
from layoutdrill.drawing.planes.metal_site import Part, Site, survey
from layoutdrill.drawing.planes.pen import Pen, Sheet, Span
from layoutdrill.drawing.planes.plan import Plan
from layoutdrill.drawing.planes.rings import paint_ring, ring_middle
from layoutdrill.drawing.planes.widths import Widths
from layoutdrill.drawing.shared.technique import METAL, Technique


def draw_metal(plan: Plan, technique: Technique, choices: Choices, widths: Widths, supplies: tuple[str, str]) -> Sheet:
    """Return the drawing of one plane or two, with inverters below them."""
    s = survey(plan, technique, choices, widths)
    ground, supply = supplies[::-1] if s.rules.one_kind else supplies
    pen = Pen(Sheet())
    pens = pen, Pen(pen.sheet, turned=True)
    row = _row(s, pen, supply)
    leave = s.outside.y0 - choices.past if row is None else row.exit
    gates = [_first_gates(s, pen, leave)]
    if s.two:
        contact, past = s.first.contacts[1], s.last.field.bars.high + s.rules.body
        gates.append(dict.fromkeys(s.last.field.gates, (contact - s.rules.pad, past)))
    loads = []
    for n, (part, own, spans) in enumerate(zip(s.parts, pens, gates, strict=False)):
        paint_field(own, s.rules, part.field, spans, (s.low(n), part.top))
        vs = [v for _, v, _ in part.field.bars.lines]
        begin = part.field.lines[0], part.contacts[0]
        loads.append(paint_loads(own, s.rules, *begin, vs, widths.loads[n], part.top, supply, choices.spare))
        _level_rail(s, own, part, loads[n], n)
        _ends(s, own, part, leave, last=n == len(s.parts) - 1)
    pen.label(ground, _metal(s), s.first.field.rails[0], s.first.field.bars.grounds[0])
    _ring(s, pen)
    _join(s, pens, loads, row)
    return pen.sheet


def _metal(s: Site) -> str:
    return s.rules.technique.wires[METAL].layer


def _row(s: Site, pen: Pen, supply: str) -> Row | None:
    """Draw the inverters, and the ground that they hang from unless it is the first plane's."""
    r = s.rules
    places = s.first.field.gates
    stages = [Stage(i.a, i.y, places[i.a], places[i.y], s.row_ground, below=True) for i in s.plan.complements]
    outputs = {i.a: i for i in s.plan.outputs}
    for line, v, ground in s.last.field.bars.lines if outputs else ():
        if line.net in outputs:
            out = v + (s.pair if ground < v else -s.pair)
            stages.append(Stage(line.net, outputs[line.net].y, v, out, -s.last.contacts[1], down=True))
    if not stages:
        return None
    if outputs:
        ends = s.first.field.rails[0], s.last.top
        r.diffuse(pen, 0, (ends[0] - r.body, ends[1] + r.body), (s.row_ground - r.body, s.row_ground + r.body))
        for u in (*s.first.field.rails, s.last.top):
            r.contact(pen, u, s.row_ground)
    return paint_row(
        pen, r, stages, s.row_ground, s.area.y0, min(places.values()), s.widths.lift, supply, s.choices.past
    )


def _first_gates(s: Site, pen: Pen, leave: int) -> dict[str, Span]:
    """Return between what values of v each of the first plane's gate lines runs, and name those that leave."""
    top = s.first.field.bars.high + s.rules.body
    inverted = {net for i in s.plan.complements for net in (i.a, i.y)}
    spans = {}
    for net, u in s.first.field.gates.items():
        spans[net] = (s.row_ground if net in inverted else leave), top
        if net not in inverted:
            pen.label(net, _metal(s), u, leave)
    return spans


def _level_rail(s: Site, pen: Pen, part: Part, loads: Loads, n: int) -> None:
    """Draw the rail above a plane's gates, from the plate of the loads where that is its net."""
    r = s.rules
    left = part.field.rails[0] - r.rail if r.one_kind else loads.plate[0]
    right = part.field.rails[-1] + r.rail
    if n == 1 and s.plan.outputs:
        right = -s.row_ground + r.rail
    pen.along(_metal(s), (left, right), part.top, r.rail)


def _ends(s: Site, pen: Pen, part: Part, leave: int, *, last: bool) -> None:
    """Draw the contacts at the ends of lines, and the metal in which the last plane's lines leave."""
    r = s.rules
    outputs = {i.a for i in s.plan.outputs}
    for line, v, _ in part.field.bars.lines:
        for u in part.contacts if not r.one_kind else part.contacts[1:]:
            r.contact(pen, u, v)
        if last and line.net not in outputs:
            end = -leave if s.two else s.outside.x1 + s.choices.past
            pen.along(_metal(s), (part.contacts[1], end), v, r.pad)
            pen.label(line.net, _metal(s), end, v)


def _ring(s: Site, pen: Pen) -> None:
    """Draw the drivers' ring, and run the first plane's outer rails on to it."""
    r = s.rules
    if r.technique.rings is None:
        return
    middle = ring_middle(r, s.area)
    paint_ring(pen.sheet, r, s.area, 0)
    left, right = s.first.field.rails[0], s.first.field.rails[-1]
    for u in (left, right):
        pen.upright(_metal(s), u, (middle.y0 - r.pad, s.row_ground), r.rail)
        r.contact(pen, u, middle.y0)
    pen.upright(_metal(s), left, (s.row_ground, middle.y1 + r.pad), r.rail)
    r.contact(pen, left, middle.y1)


def _join(s: Site, pens: tuple[Pen, Pen], loads: list[Loads], row: Row | None) -> None:
    """Draw the supply's rails over the loads' far ends, with rings and their contacts, and join them and the row."""
    r = s.rules
    metal, rings = _metal(s), r.technique.rings
    sides: list[Span] = []
    for own, one in zip(pens, loads, strict=False):
        outer = one.rail - r.pad - 2 * r.stout
        if rings is not None:
            paint_ring(own.sheet, r, one.area, 1)
            ring = one.rail - r.body - rings.gap - rings.width // 2
            outer = ring - rings.width // 2
            low, high = one.reach
            middle = (low + high) // 2
            for v in (low + r.pad, high - r.pad) if high - low > 4 * r.pad else (middle,):
                own.square("contact", ring, v, r.cut)
        own.box(metal, (outer, one.rail + r.pad), one.reach)
        sides.append((one.rail - r.pad - 2 * r.stout, one.rail + r.pad))
    pen, down = pens
    if len(loads) > 1:
        down.box(metal, (sides[1][0], -loads[0].reach[1]), sides[0])
        down.box(metal, sides[1], (sides[0][0], loads[1].reach[1]))
    if row is not None:
        u, v = row.supply
        pen.box(metal, sides[0], (v - r.pad, loads[0].reach[1]))
        pen.along(metal, (sides[0][0], u), v, r.pad)
        if row.area is not None and rings is not None:
            paint_ring(pen.sheet, r, row.area, 1)
            r.contact(pen, ring_middle(r, row.area).x0, v)
