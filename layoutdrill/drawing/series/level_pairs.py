"""
Draw rows of complementary logic with poly gates: n transistors in series, p in parallel (NAND decoders).

Rails lie level, one row between each two, every second row upside down; gate lines run upright through all rows.
"""

from collections.abc import Iterable, Sequence
from dataclasses import replace

from layoutdrill.drawing.series.plan import Row
from layoutdrill.drawing.series.rows import RowForm, draw_lines, draw_row, hang_inverters, row_form, tap_gaps
from layoutdrill.drawing.series.task import Task, path_over
from layoutdrill.drawing.shared import Heights, PolyPen, Span, heights_of
from layoutdrill.geometry.rect import Rect
from layoutdrill.geometry.transform import Transform
from layoutdrill.units import GridUnits
from layoutdrill.value import value

Rails = Sequence[tuple[int, int]]
"""The height and the supply, 0 or 1, of each level rail, from one end to the other."""


def _broaden(pen: PolyPen, rails: Rails, x: Span, free: Iterable[int]) -> None:
    """Lay the second metal over the level rails, with vias in gaps that have no taps."""
    for y, _ in rails:
        pen.level(pen.upper.layer, x, y, pen.t.broad // 2)
        for at in free:
            pen.square(pen.t.via, at, y, pen.cut)


def _lead_out(pen: PolyPen, task: Task, ports: Iterable[tuple[str, int]], x: GridUnits, *, raised: bool) -> Span:
    """
    Lead wires that end at `x` on under an upright rail: in poly, or where there is one in the second metal above it, in
    which `raised` wires lie already.

    Returns where the rails of the side may begin and end.
    """
    wire = pen.upper if pen.t.via else pen.under
    at = x + pen.t.other_gap + pen.pad
    start = at + pen.pad + pen.metal_gap
    end = start + 2 * pen.pad + pen.rail_extra
    out = end + pen.metal_gap + pen.pad
    ported = not pen.t.via and task.dice.chance(50)
    for net, y in ports:
        if not raised:
            pen.level(pen.metal, (x, at + pen.pad), y, pen.pad)
            for place in (at, out) if ported else (at,):
                (pen.via if pen.t.via else pen.joint)(place, y)
        pen.level(wire.layer, (x if raised else at, out), y, wire.width // 2)
        pen.label(net, pen.metal if ported else wire.layer, out, y)
    return start, end


def _join_rails(pen: PolyPen, task: Task, rails: Rails, core: Span, strap: Span) -> None:
    """Draw the level rails, those of one supply joined at the left, of the other at `strap` at the right."""
    at_right = task.dice.below(2)
    left = core[0] - pen.metal_gap - (strap[1] - strap[0]), core[0] - pen.metal_gap
    for supply in (0, 1):
        ys = [y for y, own in rails if own == supply]
        side = strap if supply == at_right else left
        x = (core[0], strap[1]) if supply == at_right else (left[0], core[1])
        for y in ys:
            pen.level(pen.metal, x, y, pen.rail)
        pen.box(pen.metal, side, (min(ys) - pen.rail, max(ys) + pen.rail))
        pen.label(task.supplies[supply], pen.metal, sum(side) // 2, task.dice.pick(ys))


@value
class PairChoices:
    """
    `rail_first`: at the left of a p transistor lies the high rail's side. `apart`: contacts keep to their sides.
    `raised`: the wire of the output lies in the second metal.
    """

    rail_first: bool
    apart: bool
    double: bool
    raised: bool


def draw_level_pairs(task: Task, pen: PolyPen) -> None:
    """Draw the array: rails level, one row between each two, poly lines upright through all rows."""
    dice, rows = task.dice, task.plan.rows
    n_width = task.link.width or 2 * dice.between(6, 11)
    widths = n_width, task.sizes[rows[0].parallel[0].name].width or 2 * dice.between(6, 10)
    form = row_form(task, pen, widths[0], widths, {})
    heights = heights_of(pen, *widths, task.choices.apart)
    first = dice.below(2)
    chosen = PairChoices(dice.chance(50), dice.chance(60), dice.chance(40), bool(pen.t.via) and dice.chance(50))
    frames = [_frame(heights, n, first) for n in range(len(rows))]
    for frame, row in zip(frames, rows, strict=True):
        _row(pen.placed(frame), form, heights, row, chosen)
    edges = form.across.gaps[0] - pen.body, form.across.gaps[-1] + pen.body
    rails = [(k * heights.rail, (k + first) % 2) for k in range(len(rows) + 1)]
    stops, gaps = dict[str, int](), tap_gaps(task, form.across)
    for y, supply in rails:
        pen.taps(gaps, y, supply)
    if task.made:
        hung = replace(task.inverter_row(0, widths), first=first, taps=tuple(gaps))
        own, stops = hang_inverters(pen, task, form.across, hung)
        rails.insert(0, (own.rail, 1 - first))
    for frame in frames:
        for kind, strip, rail in ((0, heights.near, 0), (1, heights.far, heights.rail)):
            pen.placed(frame).bed(kind, Rect(edges[0], strip[0], edges[1], strip[1]), [(x, rail) for x in gaps])
    ports = [(row.output, frame.point(0, heights.wire)[1]) for frame, row in zip(frames, rows, strict=True)]
    strap = _lead_out(pen, task, ports, edges[1], raised=chosen.raised)
    _join_rails(pen, task, rails, (edges[0], strap[0] - pen.metal_gap), strap)
    if pen.t.via and dice.chance(50):
        _broaden(pen, rails, edges, [x for x in form.across.gaps if x not in gaps])
    past = pen.rail + pen.metal_gap + 2 * dice.between(0, 3)
    span = rails[0][0] - past, rails[-1][0] + past
    draw_lines(pen, task, form, span, stops)


def _frame(heights: Heights, row: int, first: int) -> Transform:
    """Return where a row lies whose own heights begin at its low rail; `first` is the supply of the lowest rail."""
    turned = bool((row + first) % 2)
    return Transform(0, (row + turned) * heights.rail, mirrored=turned)


def _row(pen: PolyPen, form: RowForm, heights: Heights, row: Row, chosen: PairChoices) -> None:
    across = form.across
    acting = {across.nets.index(link.gate) for link in row.series}
    first, last = min(acting), max(acting) + 1
    middle = (heights.near[0] + heights.near[1]) // 2
    draw_row(pen, form, row, middle, (first, last), {first, last})
    for gap, end in ((first, 0), (last, heights.wire)):
        pen.upright(pen.metal, across.gaps[gap], (middle, end), pen.pad)
    low, high = heights.far
    ends: dict[int, bool] = {}  # whether a gap is the high rail's
    for a, b in path_over(acting, first, last, ())[0]:
        for number, gap in enumerate(range(a, b + 1)):
            ends[gap] = (number % 2 == 0) == chosen.rail_first
        pen.box(pen.t.diffusion[1], (across.gaps[a] - pen.body, across.gaps[b] + pen.body), (low, high))
    for gap, to_rail in ends.items():
        at = _contacts(pen, heights, chosen, to_rail=to_rail)
        for v in at:
            pen.contact(across.gaps[gap], v, 1)
        end = heights.rail if to_rail else heights.wire
        pen.upright(pen.metal, across.gaps[gap], (min(*at, end), max(*at, end)), pen.pad)
    reached = [across.gaps[last], *(across.gaps[gap] for gap, to_rail in ends.items() if not to_rail)]
    for x in reached if chosen.raised else ():
        pen.via(x, heights.wire)
    layer = pen.upper.layer if chosen.raised else pen.metal
    pen.level(layer, (min(reached) - pen.pad, across.gaps[-1] + pen.body), heights.wire, pen.wire)
    for link in row.parallel:
        pen.size(link.name, pen.t.channel, high - low)


def _contacts(pen: PolyPen, heights: Heights, chosen: PairChoices, *, to_rail: bool) -> tuple[int, ...]:
    """Return the heights of the contacts on a p transistor's side."""
    low, high = heights.far[0] + pen.body, heights.far[1] - pen.body
    if chosen.double and high - low >= 2 * pen.t.contact:
        return low, high
    if chosen.apart:
        return ((high if to_rail else low),)
    return ((low + high) // 2,)
