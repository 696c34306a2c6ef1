"""Draw a tree of switches: level rows across the gate lines, forks upright in metal or in diffusion."""

from layoutdrill.drawing.series.plan import Plan
from layoutdrill.drawing.series.rows import contact_room, draw_lines, draw_row, row_form
from layoutdrill.drawing.series.task import Task
from layoutdrill.drawing.series.tree_supplies import Supplied, supplied
from layoutdrill.drawing.shared.canvas import reach_by_net
from layoutdrill.drawing.shared.metal import MetalPen
from layoutdrill.drawing.shared.pens import GatePen
from layoutdrill.drawing.shared.poly import PolyPen
from layoutdrill.value import value


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
    widths = (
        (2 * pen.body, 2 * pen.body)
        if isinstance(pen, MetalPen)
        else (2 * dice.between(6, 11), 2 * dice.between(6, 10))
    )
    form = row_form(task, pen, width, widths if task.made else (0, 0), _room(pen, in_metal, columns))
    across, last = form.across, len(task.nets)
    pitch = max(2 * form.half + t.diffusion_spacing, 2 * pen.pad + pen.metal_gap)
    if isinstance(pen, MetalPen):
        pitch = max(pitch, 2 * (form.half + pen.plate_past) + pen.metal_gap)
    pitch += task.choices.apart
    forks = forks_of(plan)
    high = (len(plan.rows) - 1) * pitch
    for number, row in enumerate(plan.rows):
        first = min(link.column for link in row.series)
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
