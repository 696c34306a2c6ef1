"""
Move the lines of a sketch together, as far as distances allow.

Method: longest paths through difference constraints (Liao and Wong, 1983; from memory), in x, y, x, y by turns.
Constraints come from the real coordinates of the moment, so a legal sketch stays legal. Lines with room to spare end
midway between the leftmost and the rightmost place they could take, which keeps the drawing even; the mean of two
solutions of difference constraints is a solution, and stays one when it is rounded down. A wire that steps aside is
made straight where that costs no room.
"""

from bisect import bisect_left
from collections.abc import Sequence

from layoutdrill.drawing.row_pairs.shaping.sketch import Gap, Shape, Sketch

Rule = tuple[int, int, int]
_NONE = -1 << 40
_SWEEPS = 30


def compact(sketch: Sketch) -> None:
    """
    Rewrite the sketch's `xs`, then its `ys`, as small as they can be.

    It starts from a legal placement, with line 0 of each axis as the fixed border. Two rounds give nearly all there
    is to gain.
    """
    across(sketch, even=False)
    _along(sketch, even=False)


def spread(sketch: Sketch) -> None:
    """Compact once more, spread what has room to spare, make wires straight (upright ones last: they cost height)."""
    across(sketch, even=True)
    _along(sketch, even=True)
    across(sketch, even=True, straighten=True)


def across(sketch: Sketch, *, even: bool, straighten: bool = False) -> None:
    """Rewrite the sketch's `xs`: as small as they can be, or with `even` spread; `straighten` undoes bends first."""
    bends = sketch.bends_x if straighten else ()
    sketch.xs[:] = solve(sketch.xs, rules_of(sketch, 0), even=even, bends=bends)
    follow(sketch)


def follow(sketch: Sketch) -> None:
    """Place the lines that follow others."""
    for line, sense, others in sketch.followers:
        values = [sketch.xs[other] + offset for other, offset in others]
        sketch.xs[line] = min(values) if sense > 0 else max(values)


def _along(sketch: Sketch, *, even: bool) -> None:
    sketch.ys[:] = solve(sketch.ys, rules_of(sketch, 1), even=even, bends=sketch.bends_y)


def rules_of(sketch: Sketch, axis: int) -> list[Rule]:
    """Return the distances in x (axis 0) or y (1) that the sketch keeps, where it lies now."""
    return _sharpest((sketch.y_rules if axis else sketch.x_rules) + _rules(sketch, axis))


def _sharpest(rules: list[Rule]) -> list[Rule]:
    """Keep the largest distance of each pair of lines."""
    largest: dict[tuple[int, int], int] = {}
    for i, j, w in rules:
        pair = i, j
        if w > largest.get(pair, _NONE):
            largest[pair] = w
    return [(i, j, w) for (i, j), w in largest.items()]


def solve(at: list[int], rules: list[Rule], *, even: bool, bends: Sequence[tuple[int, int]] = ()) -> list[int]:
    """
    Return the least places that keep the rules, with line 0 at 0 and line 1 as the far border.

    `even` spreads what has room to spare, and first brings the lines of `bends` together wherever the border allows.
    """
    count = len(at)
    order = sorted(rules, key=lambda rule: at[rule[0]])
    low = [0] * count
    _relax(low, order)
    if not even:
        return low
    for i, j in sorted(bends, key=lambda bend: abs(at[bend[0]] - at[bend[1]])):
        together = [(i, j, 0), (j, i, 0), *order]
        trial = list(low)
        if _fits(trial, together):
            low, order = trial, together
    high = [low[1]] * count
    changed = True
    order.sort(key=lambda rule: -at[rule[1]])
    while changed:
        changed = False
        for i, j, w in order:
            worth = high[j] - w
            if worth < high[i]:
                high[i] = worth
                changed = True
    return [(a + b) >> 1 for a, b in zip(low, high, strict=True)]


def _relax(low: list[int], order: list[Rule]) -> None:
    changed = True
    rounds = 0
    while changed:
        changed = False
        rounds += 1
        if rounds > 400:
            raise AssertionError("the distances of this sketch contradict one another")
        for i, j, w in order:
            worth = low[i] + w
            if worth > low[j]:
                low[j] = worth
                changed = True


def _fits(low: list[int], order: list[Rule]) -> bool:
    """Raise the places as the rules ask, and tell whether that leaves the far border where it is."""
    border = low[1]
    for _ in range(_SWEEPS):
        changed = False
        for i, j, w in order:
            worth = low[i] + w
            if worth > low[j]:
                if worth > border:
                    return False
                low[j] = worth
                changed = True
        if not changed:
            return True
    return False


_Item = tuple[int, int, int, int, int, int, int, int, int, int, int, int, int]


def _rules(sketch: Sketch, axis: int) -> list[Rule]:
    by_sort: dict[str, list[_Item]] = {}
    for shape in sketch.shapes:
        if shape.sort:
            by_sort.setdefault(shape.sort, []).append(_item(sketch, shape, axis))
    for items in by_sort.values():
        items.sort()
    rules: list[Rule] = []
    for gap in sketch.gaps:
        first = by_sort.get(gap.a, [])
        if gap.a == gap.b:
            _within(first, gap.least, rules)
        else:
            second = by_sort.get(gap.b, [])
            _between(first, second, gap, rules)
            _between(second, first, gap, rules)
    return rules


def _item(sketch: Sketch, shape: Shape, axis: int) -> _Item:
    """
    Return (low, high, across low, across high, middle low, middle high, line of the first end across, of the
    second, net, line, offset, line, offset). A solid shape has no ends that another may take over.
    """
    xs, ys = sketch.xs, sketch.ys
    _, _, net, x0, x1, y0, y1, solid = shape
    if axis == 0:
        a0, a1, b0, b1, own, other = x0, x1, y0, y1, xs, ys
    else:
        a0, a1, b0, b1, own, other = y0, y1, x0, x1, ys, xs
    low, high = other[b0[0]], other[b1[0]]
    across_low, across_high = low + b0[1], high + b1[1]
    first, second = b0[0], b1[0]
    if solid:
        low, high = across_low, across_high
        first, second = -1, -2
    ends = own[a0[0]] + a0[1], own[a1[0]] + a1[1]
    return (*ends, across_low, across_high, low, high, first, second, net, *a0, *a1)


def _within(items: list[_Item], least: int, rules: list[Rule]) -> None:
    """
    Keep shapes of one sort apart. Two wires of one net that meet end to end in a step need no gap: the step may
    shrink to nothing.
    """
    lows = [item[0] for item in items]
    for _, high, c0, c1, m0, m1, e0, e1, net, _, _, line, offset in items:
        reach0, reach1 = c0 - least, c1 + least
        for other in items[bisect_left(lows, high) :]:
            if other[2] >= reach1 or other[3] <= reach0:
                continue
            _, _, _, _, n0, n1, f0, f1, net2, line2, offset2, _, _ = other
            if line == line2 or (net == net2 and ((f0 == e1 and n0 >= m1) or (f1 == e0 and n1 <= m0))):
                continue
            rules.append((line, line2, offset + least - offset2))


def _between(lefts: list[_Item], rights: list[_Item], gap: Gap, rules: list[Rule]) -> None:
    least = gap.least
    lows = [item[0] for item in rights]
    for _, high, c0, c1, _, _, _, _, _, _, _, line, offset in lefts:
        reach0, reach1 = c0 - least, c1 + least
        rules += [
            (line, other[9], offset + least - other[10])
            for other in rights[bisect_left(lows, high) :]
            if other[2] < reach1 and other[3] > reach0 and line != other[9]
        ]
