"""Draw a tree of switches: level rows across the gate lines, forks upright in metal or in diffusion, its supplies."""

from dataclasses import replace

from layoutdrill.drawing.series.plan import Plan
from layoutdrill.drawing.series.rows import contact_room, draw_lines, draw_row, hang_inverters, row_form, tap_gaps
from layoutdrill.drawing.series.task import GateLines, Task
from layoutdrill.drawing.shared import GatePen, MetalPen, PolyPen, Span, reach_by_net
from layoutdrill.geometry.rect import Rect
from layoutdrill.value import value


@value
class Supplied:
    """From where to where the drawing reaches, where lines begin that do not run through, and if a strap is left."""

    y: Span
    stops: dict[str, int]
    strapped: bool = False


def supplied(pen: GatePen, task: Task, across: GateLines, rows: Span, widths: tuple[int, int]) -> Supplied:
    """Draw what a tree needs whose silicon lies between the heights `rows`; `widths` are those of its inverters."""
    if isinstance(pen, MetalPen):
        return _under_metal(pen, task, across, rows, widths)
    if pen.t.implants is not None:
        return _tied(pen, task, across, rows, widths)
    rows = min(rows[0], -pen.pad), max(rows[1], pen.pad)
    if not task.made:
        return Supplied(rows, {})
    base = rows[0] - pen.metal_gap - pen.rail
    row, stops = hang_inverters(pen, task, across, task.inverter_row(base, widths))
    for net, y in zip(task.supplies, (base, row.rail), strict=True):
        pen.level(pen.metal, (-pen.pad, across.gaps[-1] + pen.pad), y, pen.rail)
        pen.label(net, pen.metal, -pen.pad, y)
    return Supplied((row.rail - pen.rail, rows[1]), stops)


def _tied(pen: PolyPen, task: Task, across: GateLines, y: Span, widths: tuple[int, int]) -> Supplied:
    """
    Draw a rail with taps below the rows, above them, or both, then with a strap at the left.

    A row of inverters hangs from the rail below.
    """
    dice = task.dice
    distance = max(pen.body + pen.implants.tap_gap, pen.rail + pen.metal_gap)
    low, high = y[0] - distance, y[1] + distance
    places = dice.pick(((low,), (low, high))) if task.made else dice.pick(((low,), (high,), (low, high)))
    x = across.gaps[0] - pen.body, across.gaps[-1] + pen.body
    gaps = tap_gaps(task, across)
    rails, stops = list(places), dict[str, int]()
    if task.made:
        row, stops = hang_inverters(pen, task, across, replace(task.inverter_row(low, widths), taps=tuple(gaps)))
        rails.append(row.rail)
        pen.label(task.supplies[1], pen.metal, dice.pick(x), row.rail)
    for place in rails:
        pen.level(pen.metal, x, place, pen.rail)
    for place in places:
        pen.taps(gaps, place, 0)
    pen.label(task.supplies[0], pen.metal, dice.pick(x), dice.pick(places))
    pen.bed(0, Rect(x[0], y[0], x[1], y[1]), [(gap, place) for gap in gaps for place in places])
    if len(places) == 2:
        right = x[0] - pen.t.other_gap - 2 * pen.pad - pen.metal_gap
        left = right - 2 * pen.pad - pen.rail_extra
        pen.box(pen.metal, (left, right), (low - pen.rail, high + pen.rail))
        for place in places:
            pen.level(pen.metal, (left, x[0]), place, pen.rail)
    ends = min(y[0], min(rails) - pen.rail), max(y[1], max(rails) + pen.rail)
    return Supplied(ends, stops, strapped=len(places) == 2)


def _under_metal(pen: MetalPen, task: Task, across: GateLines, rows: Span, widths: tuple[int, int]) -> Supplied:
    """Draw the ring round the rows, and the inverters below them within the same ring, or the p ones in their own."""
    x = across.gaps[0] - pen.body, across.gaps[-1] + pen.body
    low, high = task.supplies[::-1] if pen.one_kind else task.supplies
    left = x[0] - 2 * task.dice.between(2, 5)
    if not task.made:
        area = pen.ring(Rect(x[0], rows[0], x[1], rows[1]), 0)
        _on_ring(pen, task, area, low)
        return Supplied((area.y0, area.y1), {})
    base = rows[0] - max(pen.apart, pen.metal_gap) - pen.body
    row, stops = hang_inverters(pen, task, across, task.inverter_row(base, widths), across.gaps[0])
    area = pen.ring(Rect(x[0], row.near, x[1], rows[1]), 0)
    far = area if row.far is None else pen.ring(row.far, 1)
    if pen.t.rings is not None:
        left = _on_ring(pen, task, area, low)
        for y in (far.y0 + pen.t.rings.width // 2, far.y1 - pen.t.rings.width // 2):
            pen.contact(0, y)
        pen.upright(pen.metal, 0, (far.y0, far.y1), pen.pad)
    else:
        pen.label(low, pen.metal, left, base)
    pen.level(pen.metal, (left, across.gaps[0]), base, pen.pad)
    end = 0 if pen.t.rings is not None else left
    pen.level(pen.metal, (end, 0), row.rail, pen.pad)
    pen.label(high, pen.metal, end, row.rail)
    bottom = row.rail - pen.pad if row.far is None else far.y0
    return Supplied((bottom, area.y1), stops)


def _on_ring(pen: MetalPen, task: Task, outer: Rect, supply: str) -> int:
    """Lay the metal of a supply over the left leg of the ring round an array; return its middle."""
    rings = pen.t.rings
    at = outer.x0
    if rings is not None:
        at += rings.width // 2
        pen.upright(pen.metal, at, (outer.y0, outer.y1), pen.pad)
        low, high = outer.y0 + rings.width // 2, outer.y1 - rings.width // 2
        count = 2 + (outer.y1 - outer.y0) // 60
        for number in range(count + 1):
            pen.contact(at, low + (high - low) * number // count)
        pen.label(supply, pen.metal, at, task.dice.pick((outer.y0, outer.y1)))
    return at


@value
class Fork:
    """A net from which switches lead on: the number of its address column, and its lowest and highest row."""

    net: str
    column: int
    rows: tuple[int, int]


def forks_of(plan: Plan) -> tuple[Fork, ...]:
    """Return the forks of a tree, from the first column on; rows are counted from the lowest, 0."""
    rows = reach_by_net((link.ends[0], number) for number, row in enumerate(plan.rows) for link in row.series)
    columns = {link.ends[0]: link.column for row in plan.rows for link in row.series}
    forks = (Fork(net, columns[net], reach) for net, reach in rows.items())
    return tuple(sorted(forks, key=lambda fork: (fork.column, fork.rows)))


def draw_tree(task: Task, pen: GatePen) -> None:
    """Draw the tree: its root at the left, outputs at the right, rows from the lowest up."""
    dice, plan = task.dice, task.plan
    t, columns = pen.t, len(plan.pairs)
    share = dice.pick((0, 0, 50, 100))
    in_metal = {0} | {column for column in range(columns) if dice.chance(share)}
    raised = bool(t.via) and dice.chance(50)
    plain = isinstance(pen, MetalPen) and t.rings is None and dice.chance(50)  # outputs leave in diffusion
    width = task.link.width or 2 * dice.between(4, 7)
    widths = 2 * pen.body, 2 * pen.body
    if isinstance(pen, PolyPen):
        widths = 2 * dice.between(6, 11), 2 * dice.between(6, 10)
    form = row_form(task, pen, width, widths if task.made else (0, 0), _room(pen, in_metal, columns))
    across, last = form.across, len(task.nets)
    pitch = max(2 * form.half + t.diffusion_spacing, 2 * pen.pad + pen.metal_gap)
    if isinstance(pen, MetalPen):
        pitch = max(pitch, 2 * (form.half + pen.plate_past) + pen.metal_gap)
    pitch += task.choices.apart
    forks = forks_of(plan)
    high = (len(plan.rows) - 1) * pitch
    for number, row in enumerate(plan.rows):
        first = row.series[0].column
        wired = {2 * column for column in range(first, columns) if column in in_metal} | ({last} - {last * plain})
        draw_row(pen, form, row, number * pitch, (2 * first, last), wired)
        acting = {across.nets.index(link.gate) for link in row.series}
        for gap in range(2 * first, last, 2):  # where a bridge of metal passes over a fork in diffusion
            if isinstance(pen, PolyPen) and gap not in wired and not {gap - 1, gap} & acting:
                pen.contact(across.gaps[gap], number * pitch, 0)
    for fork in forks:
        x, ends = across.gaps[2 * fork.column], (fork.rows[0] * pitch, fork.rows[1] * pitch)
        if fork.column in in_metal:
            pen.upright(pen.metal, x, ends, pen.pad)
        else:
            pen.diffuse(0, (x - pen.wire, x + pen.wire), ends)
    supplies = supplied(pen, task, across, (-form.half, high + form.half), widths)
    _outputs(pen, task, across.gaps[-1], pitch, plain=plain, raised=raised)
    past = pen.metal_gap + 2 * dice.between(0, 4)
    span = supplies.y[0] - past, supplies.y[1] + past
    _root(pen, task, forks[0], (pitch, supplies), span)
    draw_lines(pen, task, form, span, supplies.stops)


def _room(pen: GatePen, in_metal: set[int], columns: int) -> dict[int, int]:
    """Return what gaps need more than others: those before columns, for forks, and the last one, for the outputs."""
    contact, plain = contact_room(pen), 0
    if isinstance(pen, MetalPen):
        d = pen.doped
        plain = max(0, pen.under.width + 2 * max(d.past, d.window_past) - 2 * d.metal_past)
    return {2 * c: contact if c in in_metal else plain for c in range(columns)} | {2 * columns: contact}


def _outputs(pen: GatePen, task: Task, x: int, pitch: int, *, plain: bool, raised: bool) -> None:
    """Lead the outputs out to the right: in metal, the second one if that is `raised`, or `plain`, in diffusion."""
    rings = pen.t.rings
    out = x + pen.pad + pen.metal_gap + 2 * task.dice.between(0, 4)
    if rings is not None:
        out = x + pen.body + 2 * rings.gap + rings.width
    for number, row in enumerate(task.plan.rows):
        y = number * pitch
        if plain:
            pen.label(row.output, pen.t.diffusion[0], x + pen.under.width // 2, y)
            continue
        end = x + 4 * pen.pad if raised else out
        pen.level(pen.metal, (x, end), y, pen.wire)
        if raised:
            pen.via(end, y)
            pen.level(pen.upper.layer, (end, end + out - x), y, pen.wire)
        pen.label(row.output, pen.upper.layer if raised else pen.metal, end, y)


def _root(pen: GatePen, task: Task, fork: Fork, place: tuple[int, Supplied], span: tuple[int, int]) -> None:
    """
    Lead the root out at the first gap: with poly gates to the left at one of the rows it forks to, below or above a
    strap where one is in the way; with metal gates upright, away from the inverters.
    """
    pitch, supplies = place
    rows = fork.rows[0] * pitch, fork.rows[1] * pitch
    if isinstance(pen, MetalPen):
        end = span[1] if task.made else span[0]
        pen.upright(pen.metal, 0, (rows[0], end) if task.made else (end, rows[1]), pen.wire)
        pen.label(fork.net, pen.metal, 0, end)
        return
    y, x = task.dice.pick(rows), -pen.pad
    if not supplies.strapped:
        end = x - pen.metal_gap - 2 * task.dice.between(0, 4)
        pen.level(pen.metal, (end, x + pen.pad), y, pen.wire)
        pen.label(fork.net, pen.metal, end, y)
        return
    at = x - pen.t.other_gap - pen.pad
    wire = pen.upper if pen.t.via else pen.under
    pen.level(pen.metal, (at - pen.pad, x + pen.pad), y, pen.pad)
    (pen.via if pen.t.via else pen.joint)(at, y)
    end = at - 3 * pen.pad - 2 * pen.metal_gap - 8 - pen.rail_extra
    pen.level(wire.layer, (end, at), y, wire.width // 2)
    pen.label(fork.net, wire.layer, end, y)
