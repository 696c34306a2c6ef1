"""Draw rows in series from a rail to a load, where there is one kind of transistor (NAND in NMOS, NOR in PMOS)."""

from layoutdrill.drawing.series.rows import (
    RowForm,
    contact_room,
    draw_lines,
    draw_row,
    hang_inverters,
    row_form,
)
from layoutdrill.drawing.series.task import Task
from layoutdrill.drawing.shared import GatePen, MetalPen, PolyPen, Size, Span
from layoutdrill.geometry.transform import Transform
from layoutdrill.value import value


@value
class LoadColumn:
    """
    Loads at the right of rows: where they join the silicon of theirs, where their gates begin and their contacts to the
    rail lie, its sides, where outputs leave beyond it, how far a row and its load reach below and above the row's
    middle, and the lower side of the wire in which outputs leave.
    """

    size: Size
    join: int
    gate: int
    tap: int
    rail: Span
    out: int
    below: int
    above: int
    branch: int


def draw_loaded(task: Task, pen: GatePen) -> None:
    """
    Draw the array: the drivers' rail upright at the left, rows level, the loads' rail at the right.

    Each output leaves below that rail, in the poly of its load, or with metal gates in diffusion.
    """
    dice, rows = task.dice, task.plan.rows
    width, last = task.link.width or pen.t.widths[0][0], len(task.nets)
    form = row_form(task, pen, width, (width, width) if task.made else (0, 0), {0: contact_room(pen)})
    tongues, ported = dice.chance(40), dice.chance(50)
    size = task.sizes[rows[0].load]
    column = (
        _plate_column(pen, form, size, tongues) if isinstance(pen, MetalPen) else _depletion_column(pen, form, size)
    )
    gap = max(pen.t.diffusion_spacing, pen.under.spacing)
    pitch = max(column.below + column.above + gap, 2 * pen.pad + pen.metal_gap) + task.choices.apart
    for number, row in enumerate(rows):
        draw_row(pen, form, row, number * pitch, (0, last), {0})
        placed = pen.placed(Transform(0, number * pitch))
        if isinstance(placed, MetalPen):
            _plated(placed, column, tongues=tongues)
        else:
            _depletion(placed, column, bridged=task.nets[-1] not in {link.gate for link in row.series})
        _led_out(placed, column, row.output, -column.below if isinstance(pen, MetalPen) else 0, ported=ported)
        pen.size(row.load, size.length, size.width)
    low, high = -max(column.below, pen.pad), (len(rows) - 1) * pitch + max(form.half, pen.pad)
    sides = (-pen.pad - pen.rail_extra, pen.pad), column.rail
    ends, stops = _inverters(pen, task, form, sides, low) if task.made else ((low, low), {})
    if dice.chance(40):
        pen.diffuse(0, (-pen.body, pen.body), (low, high))
    metal = isinstance(pen, MetalPen)
    for net, x, bottom in zip(task.supplies[::-1] if metal else task.supplies, sides, ends, strict=True):
        pen.box(pen.metal, x, (bottom, high + (pen.cover if isinstance(pen, MetalPen) else 0)))
        pen.label(net, pen.metal, x[0], dice.pick((bottom, high)))
    past = pen.metal_gap + 2 * dice.between(0, 4)
    draw_lines(pen, task, form, (min(ends) - past, high + past), stops)


def _inverters(
    pen: GatePen, task: Task, form: RowForm, rails: tuple[Span, Span], low: int
) -> tuple[Span, dict[str, int]]:
    """Draw the inverters below the rows; return how far down both upright rails come, and where lines begin."""
    poly = isinstance(pen, PolyPen)
    base = low - (pen.metal_gap + pen.rail if poly else pen.t.diffusion_spacing + pen.body)
    place = task.inverter_row(base, (form.width, form.width), sum(rails[1]) // 2)
    row, stops = hang_inverters(pen, task, form.across, place, 0)
    if poly:
        pen.level(pen.metal, (rails[0][0], max(row.ends[1], 0)), base, pen.rail)
        pen.level(pen.metal, (min(row.ends[0], rails[1][1]), rails[1][1]), row.rail, pen.pad)
    return (base - pen.pad, row.rail - pen.pad), stops


def _depletion_column(pen: PolyPen, form: RowForm, size: Size) -> LoadColumn:
    join = form.across.gaps[-1]
    gate = join + pen.body + pen.t.other_gap + pen.buried.overlap
    drain = pen.load_drain(gate, size)
    rail = drain - pen.pad, drain + pen.pad + pen.rail_extra
    cover = size.width // 2 + pen.t.gate_past
    jog = max(cover, pen.body + pen.t.other_gap)
    half = max(form.half, cover)
    out = rail[1] + pen.metal_gap + pen.pad
    return LoadColumn(size, join, gate, drain, rail, out, half, max(half, jog + pen.under.width), jog)


def _depletion(pen: PolyPen, column: LoadColumn, *, bridged: bool) -> None:
    """Draw a level load, whose poly is the output; a row that ends in a bridge has a contact there."""
    size, near = column.size, column.gate - pen.buried.overlap
    if bridged:
        pen.contact(column.join, 0, 0)
    pen.level(pen.t.diffusion[0], (column.join, near), 0, size.width // 2)
    pen.depletion_load(near, column.gate, column.tap, size, neck=size.width // 2 + pen.t.gate_past)


def _led_out(pen: GatePen, column: LoadColumn, output: str, low: int, *, ported: bool) -> None:
    """Branch off an output from a height of its load, and lead it out below the rail in the layer below the metal."""
    wire = pen.under.width
    right = column.join if isinstance(pen, MetalPen) else column.gate + column.size.length
    pen.run_under(0, (right - wire, right), (low, column.branch + wire))
    pen.run_under(0, (right - wire, column.out), (column.branch, column.branch + wire))
    middle = column.branch + wire // 2
    if ported:
        pen.joint(column.out, middle)
    pen.label(output, pen.metal if ported else pen.under.layer or pen.t.diffusion[0], column.out, middle)


def _plate_column(pen: MetalPen, form: RowForm, size: Size, tongues: bool) -> LoadColumn:
    join = form.across.gaps[-1] + pen.body
    start = join + pen.cover
    tap = start + size.length + pen.contact_gate
    rail = tap - pen.pad if tongues else join, tap + pen.pad + pen.rail_extra
    thin = pen.reach(size.width)
    half = max(form.half, thin)
    branch = 2 * thin - half + pen.apart
    above = max(half, branch + pen.under.width)
    return LoadColumn(size, join, start, tap, rail, rail[1] + pen.metal_gap + pen.pad, half, above, branch)


def _plated(pen: MetalPen, column: LoadColumn, *, tongues: bool) -> None:
    """Draw a level load below the rail's metal, or a tongue of it."""
    size, start, thin = column.size, column.gate, pen.reach(column.size.width)
    low = thin - column.below
    pen.bar(0, (column.join - pen.under.width, start), low, thin)
    pen.channel((start, start + size.length), low, size.width, level=True)
    pen.bar(0, (start + size.length, column.tap + pen.body), low, thin)
    pen.contact(column.tap, low)
    if tongues:
        pen.level(pen.metal, (column.join, column.tap), low, max(size.width // 2 + pen.over, pen.wire))
