"""
Draw rows of complementary logic with metal gates (NAND decoders): a level bar in series, two bars that windows join.

Between the bar of the output and that of the high rail a window under a line makes a transistor, so that those stand in
parallel; two rows share the bar of the rail, and two the space, or the well, of their series. Rails are upright.
"""

from collections.abc import Iterator
from dataclasses import replace
from itertools import groupby

from layoutdrill.drawing.series.plan import Row
from layoutdrill.drawing.series.rows import RowForm, draw_lines, hang_inverters, row_form
from layoutdrill.drawing.series.task import Task
from layoutdrill.drawing.shared import MetalPen, Span
from layoutdrill.drawing.shared.inverters import InverterRow
from layoutdrill.geometry.rect import Rect
from layoutdrill.value import value

_SERIES, _OUTPUT, _RAIL = range(3)
"""What bars are: n transistors in series, the p transistors' output, their rail."""


@value
class Stack:
    """
    The middle of each bar by what it is and its row, half the height of bars in series and of the others, and
    the width of channels that stand between two.
    """

    at: dict[tuple[int, int], int]
    series: int
    other: int
    standing: int

    def half(self, bar: int) -> int:
        return self.series if bar == _SERIES else self.other

    @property
    def groups(self) -> Iterator[tuple[int, int, int]]:
        """Return the groups of bars of one kind, 0 for n and 1 for p, and from where to where each reaches."""
        bars = sorted((y, bar) for (bar, _), y in self.at.items())
        for in_series, group in groupby(bars, lambda item: item[1] == _SERIES):
            ys, half = [y for y, _ in group], self.series if in_series else self.other
            yield int(not in_series), ys[0] - half, ys[-1] + half


@value
class Columns:
    """The middles, in x, of the contacts to the low and the high rail, and of those to the outputs."""

    rails: tuple[int, int]
    output: int


def draw_bar_pairs(task: Task, pen: MetalPen) -> None:
    """Draw the array: both rails upright at the left, rows level, outputs in metal at the right."""
    choices, dice, rows = task.choices, task.dice, task.plan.rows
    t = pen.t
    least = t.wires[1].width if pen.doped.island else t.least_width
    width = task.link.width or 2 * dice.between(4, 8)
    standing = task.sizes[rows[0].parallel[0].name].width or 2 * dice.between(least // 2, least // 2 + 2)
    form = row_form(task, pen, width, (standing, standing), {})
    across, side = form.across, pen.metal_gap + pen.pad
    edge = (across.at[1] - across.at[0] - pen.metal_gap - choices.loose) // 2  # half of the widest that a line may be
    inner = across.at[0] - edge - side
    outer = inner - 2 * pen.pad - choices.rail_extra - pen.metal_gap
    right = across.at[-1] + edge + side
    columns = Columns(dice.pick(((inner, outer), (outer, inner))), right)
    stack = _stacked(pen, task, form, standing, dice.below(2))
    out = right + pen.pad + pen.metal_gap + (t.rings.width + 2 * t.rings.gap if t.rings else 0)
    for number, row in enumerate(rows):
        _row(pen, form, columns, stack, number, row)
        pen.level(pen.metal, (right, out), stack.at[_OUTPUT, number], pen.wire)
        pen.label(row.output, pen.metal, out, stack.at[_OUTPUT, number])
    for y in {y for (bar, _), y in stack.at.items() if bar == _RAIL}:
        pen.bar(1, (columns.rails[1] - pen.body, across.at[-1] + pen.reach(standing)), y, stack.other)
        pen.contact(columns.rails[1], y)
    groups, stops = list(stack.groups), dict[str, int]()
    if task.made:
        own, stops = _inverters(pen, task, form, columns, stack)
        kind, _, high = groups[0]
        groups[0] = kind, own.near, high
        assert own.far is not None
        groups.insert(0, (1 - kind, own.far.y0, own.far.y1))
    low, high = _ringed(pen, groups, columns)
    for supply, x in enumerate(columns.rails):
        extra = choices.rail_extra if x == outer else 0
        pen.box(pen.metal, (x - pen.pad - extra, x + pen.pad), (low, high))
        pen.label(task.supplies[supply], pen.metal, x, dice.pick((low, high)))
    past = pen.doped.metal_past + 2 * dice.between(1, 6)
    draw_lines(pen, task, form, (low - past, high + past), stops)


def _stacked(pen: MetalPen, task: Task, form: RowForm, standing: int, first: int) -> Stack:
    """Return the bars from the bottom up, every second row upside down; the lowest one when `first` is 1."""
    t, d = pen.t, pen.doped
    # a bar between two rows of standing channels keeps their metals apart
    other = max(pen.body, pen.metal_gap // 2 + d.window_past + d.metal_past - d.past)
    stack = Stack({}, form.half, other, standing)
    beside = max(pen.apart, pen.metal_gap + 2 * pen.plate_past)
    between = (beside if t.rings is None else pen.across) + task.choices.apart
    y, last = 0, -1
    for row in range(len(task.plan.rows)):
        for bar in (_SERIES, _OUTPUT, _RAIL) if (row + first) % 2 == 0 else (_RAIL, _OUTPUT, _SERIES):
            if bar == last == _RAIL:
                stack.at[bar, row] = stack.at[_RAIL, row - 1]
                continue
            if last >= 0:
                joined = {bar, last} == {_OUTPUT, _RAIL}
                y += pen.gap(t.channel) if joined else between if (bar == _SERIES) != (last == _SERIES) else beside
            stack.at[bar, row] = y + stack.half(bar)
            y += 2 * stack.half(bar)
            last = bar
    return stack


def _row(pen: MetalPen, form: RowForm, columns: Columns, stack: Stack, number: int, row: Row) -> None:
    across, standing = form.across, stack.standing
    series, output, rail = (stack.at[bar, number] for bar in (_SERIES, _OUTPUT, _RAIL))
    left, right = columns.rails[0] - pen.body, columns.output + pen.body
    pen.series((left, right), series, form.half, (across.of(link.gate) for link in row.series), form.length)
    for link in row.series:
        pen.size(link.name, form.length, form.width)
    middle, reach = (output + rail) // 2, pen.t.channel // 2
    for link in row.parallel:
        ends = middle - reach, middle + reach
        pen.channel(ends, across.of(link.gate), standing)
        pen.plate(ends, across.of(link.gate), standing)
        pen.size(link.name, pen.t.channel, standing)
    pen.contact(columns.rails[0], series)
    pen.contact(columns.output, series)
    pen.bar(1, (across.at[0] - pen.reach(standing), right), output, stack.other)
    pen.contact(columns.output, output)
    pen.upright(pen.metal, columns.output, (series, output), pen.pad)


def _inverters(
    pen: MetalPen, task: Task, form: RowForm, columns: Columns, stack: Stack
) -> tuple[InverterRow, dict[str, int]]:
    """Draw the inverters below the lowest bar: from it, if it is a rail's, or from one of their own."""
    base, bar = min((y, bar) for (bar, _), y in stack.at.items())
    first = int(bar == _RAIL)
    if not first:
        base -= stack.series + max(pen.apart, pen.metal_gap + 2 * pen.plate_past) + pen.body
    hung = replace(
        task.inverter_row(base, (stack.standing,) * 2, columns.rails[1 - first]), first=first, bar=first * stack.other
    )
    return hang_inverters(pen, task, form.across, hung, None if first else columns.rails[0])


def _ringed(pen: MetalPen, groups: list[tuple[int, int, int]], columns: Columns) -> Span:
    """Draw a ring round each group of bars, tied to its rail where the rail crosses it; return what they reach."""
    boxes = []
    for kind, low, high in groups:
        outer = pen.ring(Rect(columns.rails[kind] - pen.body, low, columns.output + pen.body, high), kind)
        if pen.t.rings is not None:
            for y in (outer.y0 + pen.t.rings.width // 2, outer.y1 - pen.t.rings.width // 2):
                pen.square(pen.t.cut, columns.rails[kind], y, pen.cut)
        boxes.append(outer)
    return min(box.y0 for box in boxes), max(box.y1 for box in boxes)
