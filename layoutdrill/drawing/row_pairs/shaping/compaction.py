"""
Move the lines of sketches together, as far as distances allow.

Method: longest paths through difference constraints (Liao and Wong, 1983; from memory), in x, y, x, y by turns.
Constraints come from the real coordinates of the moment, so a legal sketch stays legal. Lines with room to spare end
midway between the leftmost and the rightmost place they could take, which keeps the drawing even; the mean of two
solutions of difference constraints is a solution, and stays one when it is rounded down. A wire that steps aside is
made straight where that costs no room.
"""

import itertools
from bisect import bisect_left
from collections.abc import Iterator, Mapping, Sequence

from layoutdrill.drawing.row_pairs.shaping.lines import Axis, Line, Rule, X, Y
from layoutdrill.drawing.row_pairs.shaping.sketch import Shape, Sketch
from layoutdrill.unions import Unions, grouped
from layoutdrill.value import value

_FAR = 1 << 40
_SWEEPS, _MOST_SWEEPS = 30, 400
"""How often the rules are gone through to see whether a wire may be made straight, and at most."""

_SHARED = (Line.LEFT, Line.RIGHT), (Line.BOTTOM, Line.TOP, *Line.RAILS, Line.WELL)
"""The lines that all sketches of a bundle have in common, by axis."""
Tie = Sequence[tuple[str, int]]
"""Lines that coincide, as (name of the sketch, line)."""


@value
class Bundle:
    """Sketches by name whose lines on one axis are placed together: those that all have in common, and those tied."""

    axis: int
    sketches: Mapping[str, Sketch]
    ties: Sequence[Tie] = ()


def alone(sketch: Sketch) -> tuple[Bundle, Bundle]:
    """Return what a sketch that stands alone is compacted as."""
    return Bundle(X, {"": sketch}), Bundle(Y, {"": sketch})


def compact(bundles: Sequence[Bundle]) -> None:
    """
    Rewrite where lines lie, in x and then in y, as near to one another as they can be.

    It starts from a legal placement, with line 0 of each axis as the fixed border. Two rounds give nearly all there
    is to gain.
    """
    for axis in (X, Y):
        _settle(bundles, axis, even=False)


def spread(bundles: Sequence[Bundle]) -> None:
    """Compact once more, spread what has room to spare, make wires straight (upright ones last: they cost height)."""
    _settle(bundles, X, even=True)
    _settle(bundles, Y, even=True, straighten=True)
    _settle(bundles, X, even=True, straighten=True)


def _settle(bundles: Sequence[Bundle], axis: int, *, even: bool, straighten: bool = False) -> None:
    """Place the lines of an axis: as near as they can be, or with `even` spread; `straighten` undoes bends first."""
    for bundle in bundles:
        if bundle.axis == axis:
            _place(bundle, even=even, straighten=straighten)


def _place(bundle: Bundle, *, even: bool, straighten: bool) -> None:
    axes = [sketch.axis(bundle.axis) for sketch in bundle.sketches.values()]
    numbers = _numbers(bundle, axes)
    at = [0] * (1 + max(map(max, numbers)))
    rules: list[Rule] = []
    bends: list[tuple[int, int]] = []
    for sketch, axis, number in zip(bundle.sketches.values(), axes, numbers, strict=True):
        for line, place in enumerate(axis.at):
            at[number[line]] = max(at[number[line]], place)
        rules += [(number[i], number[j], w) for i, j, w in axis.rules + _rules(sketch, bundle.axis)]
        bends += [(number[i], number[j]) for i, j in axis.bends if straighten]
    placed = solve(at, _sharpest(rules), even=even, bends=bends)
    for axis, number in zip(axes, numbers, strict=True):
        axis.at[:] = [placed[line] for line in number]
        _follow(axis)


def _numbers(bundle: Bundle, axes: Sequence[Axis]) -> list[list[int]]:
    """Number the lines of all sketches of a bundle anew; those that coincide get one number."""
    firsts = dict(zip(bundle.sketches, itertools.accumulate((len(axis.at) for axis in axes), initial=0), strict=False))
    same = Unions()
    for tie in (*([(name, line) for name in firsts] for line in _SHARED[bundle.axis]), *bundle.ties):
        for a, b in itertools.pairwise(firsts[name] + line for name, line in tie if name in firsts):
            same.join(a, b)
    fresh: dict[int, int] = {}
    return [
        [fresh.setdefault(same.find(first + line), len(fresh)) for line in range(len(axis.at))]
        for first, axis in zip(firsts.values(), axes, strict=True)
    ]


def _follow(axis: Axis) -> None:
    """Place the lines that follow others."""
    for line, sense, others in axis.followers:
        axis.at[line] = (min if sense > 0 else max)(map(axis.place, others))


def _sharpest(rules: Sequence[Rule]) -> list[Rule]:
    """Keep the largest distance of each pair of lines."""
    largest: dict[tuple[int, int], int] = {}
    for i, j, w in rules:
        pair = i, j
        if w > largest.get(pair, -_FAR):
            largest[pair] = w
    return [(i, j, w) for (i, j), w in largest.items() if i != j]


def solve(at: list[int], rules: list[Rule], *, even: bool, bends: Sequence[tuple[int, int]] = ()) -> list[int]:
    """
    Return the least places that keep the rules, with line 0 at 0 and line 1 as the far border.

    `even` spreads what has room to spare, and first brings the lines of `bends` together wherever the border allows.
    """
    order = sorted(rules, key=lambda rule: at[rule[0]])
    low = [0] * len(at)
    if not _raised(low, order):
        raise AssertionError("the distances of this sketch contradict one another")
    if not even:
        return low
    for i, j in sorted(bends, key=lambda bend: abs(at[bend[0]] - at[bend[1]])):
        together = [(i, j, 0), (j, i, 0), *order]
        trial = list(low)
        if _raised(trial, together, low[1], _SWEEPS):
            low, order = trial, together
    down = [-low[1]] * len(at)
    _raised(down, [(j, i, w) for i, j, w in sorted(order, key=lambda rule: -at[rule[1]])])
    return [(a - b) >> 1 for a, b in zip(low, down, strict=True)]


def _raised(places: list[int], rules: Sequence[Rule], border: int = _FAR, sweeps: int = _MOST_SWEEPS) -> bool:
    """Raise places as the rules ask, and tell whether that came to an end below the border."""
    for _ in range(sweeps):
        changed = False
        for i, j, w in rules:
            worth = places[i] + w
            if worth > places[j]:
                if worth > border:
                    return False
                places[j] = worth
                changed = True
        if not changed:
            return True
    return False


_Item = tuple[int, ...]


def _rules(sketch: Sketch, axis: int) -> list[Rule]:
    """Return the distances that the shapes of a sketch keep on an axis, where it lies now."""
    by_sort = grouped((shape.sort, _item(sketch, shape, axis)) for shape in sketch.shapes if shape.sort)
    for items in by_sort.values():
        items.sort()
    rules: list[Rule] = []
    for gap in sketch.gaps:
        first, second = by_sort.get(gap.a, []), by_sort.get(gap.b, [])
        rules += _apart(first, second, gap.least)
        if gap.a != gap.b:
            rules += _apart(second, first, gap.least)
    return rules


def _item(sketch: Sketch, shape: Shape, axis: int) -> _Item:
    """
    Return (low, high, across low, across high, middle low, middle high, line of the first end across, of the
    second, net, line, offset, line, offset). A solid shape has no ends that another may take over.
    """
    along, across = (shape.y, shape.x) if axis else (shape.x, shape.y)
    own, other = sketch.axis(axis), sketch.axis(1 - axis)
    c0, c1 = map(other.place, across)
    ends = (c0, c1, -1, -2) if shape.solid else (*(other.at[line] for line, _ in across), across[0][0], across[1][0])
    return (*map(own.place, along), c0, c1, *ends, shape.net, *along[0], *along[1])


def _apart(lefts: Sequence[_Item], rights: Sequence[_Item], least: int) -> Iterator[Rule]:
    """
    Keep shapes apart where they meet across. Two wires of one net that meet end to end in a step need no gap: the step
    may shrink to nothing.
    """
    lows = [item[0] for item in rights]
    for _, high, c0, c1, m0, m1, e0, e1, net, _, _, line, offset in lefts:
        reach0, reach1 = c0 - least, c1 + least
        for other in rights[bisect_left(lows, high) :]:
            if other[2] >= reach1 or other[3] <= reach0:
                continue
            _, _, _, _, n0, n1, f0, f1, net2, line2, offset2, _, _ = other
            if line == line2 or (net == net2 and ((f0 == e1 and n0 >= m1) or (f1 == e0 and n1 <= m0))):
                continue
            yield line, line2, offset + least - offset2
