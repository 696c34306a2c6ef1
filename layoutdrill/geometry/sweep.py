"""
Find the pairs of rectangles that meet: a sweep in x inside horizontal slabs.

Slabs are so high that few rectangles cross from one into the next, and so low that few lie above one another in
one slab; where many do all the same, the slab is halved. Time grows with the rectangles plus the pairs found.
"""

from collections.abc import Collection, Generator, Iterable, Iterator, Sequence
from operator import itemgetter

from layoutdrill.errors import LayoutdrillError
from layoutdrill.units import GridUnits

Box = tuple[int, int, int, int]
"""A rectangle as bare numbers (x0, y0, x1, y1); a `Rect` is one."""

Node = tuple[int, int, int, int, int]
"""A box and its number."""

Slabs = dict[int, list[Node]]
"""Nodes by slab: slab s holds, in the order of x0, all that meet s·height ≤ y < (s + 1)·height."""

_FEW = 64
"""So few rectangles in a slab need no halving."""

_CROWD = 16
"""More rectangles than this above one another, on average, make a slab worth halving."""

FREE_STEPS = 1_000_000
"""So often two rectangles are compared whatever they are like."""
STEPS_EACH = 20
"""Comparisons a rectangle beyond those; arrays of tiles and the cells of the open kit need two or three."""
PILE = 1_000
"""More rectangles than this above one another, once the free comparisons are used up, are no layout."""

_FOOT, _TOP = itemgetter(1), itemgetter(3)


def touching(boxes: Sequence[Box], ids: Iterable[int]) -> Iterator[tuple[int, int]]:
    """Yield each pair among `ids` (places in `boxes`) that shares area or a stretch of edge, once."""
    nodes = [(*boxes[i][:4], i) for i in ids]
    height = slab_height(nodes)
    for a, b in touching_nodes(slabs(nodes, height), height):
        yield a[4], b[4]


def meeting(boxes: Sequence[Box], left: Iterable[int], right: Iterable[int]) -> Iterator[tuple[int, int]]:
    """Yield each pair (one of `left`, one of `right`) that shares area, once. The two have no number in common."""
    lefts = [(*boxes[i][:4], i) for i in left]
    rights = [(*boxes[i][:4], i) for i in right]
    if not lefts or not rights:
        return
    height = slab_height(lefts, rights)
    mark = {node[4] for node in lefts}
    for a, b in meeting_nodes(slabs(lefts, height), [slabs(rights, height)], height, mark):
        yield a[4], b[4]


def slab_height(*parts: Sequence[Node]) -> int:
    """Return four times the median height, but no less than makes a few copies of all for the sake of tall ones."""
    count = sum(len(nodes) for nodes in parts)
    if not count:
        return 1
    step = max(1, count // 2000)
    heights = sorted(node[3] - node[1] for nodes in parts for node in nodes[::step]) or [1]
    median = heights[len(heights) // 2]
    total: int = sum(sum(map(_TOP, nodes)) - sum(map(_FOOT, nodes)) for nodes in parts)
    return max(4 * median, total // (2 * count), 1)


def slabs(nodes: Iterable[Node], height: GridUnits) -> Slabs:
    """Sort nodes into slabs of this height."""
    by_slab: Slabs = {}
    for node in nodes:
        first, last = node[1] // height, node[3] // height
        while first <= last:
            try:
                by_slab[first].append(node)
            except KeyError:
                by_slab[first] = [node]
            first += 1
    for members in by_slab.values():
        members.sort()
    return by_slab


def touching_nodes(by_slab: Slabs, height: GridUnits) -> Iterator[tuple[Node, Node]]:
    """
    Yield each pair that shares area or a stretch of edge, once, the one with the smaller x0 first.

    Raises LayoutdrillError where too many lie over one another.
    """
    steps, most = 0, _most_steps(by_slab)
    for s, members in by_slab.items():
        low = s * height
        if len(members) > _FEW:
            for part_low, part in _uncrowded(members, low, low + height):
                steps = yield from _touching_in(part, part_low, steps, most)
        else:
            steps = yield from _touching_in(members, low, steps, most)


def _most_steps(*parts: Slabs) -> int:
    return FREE_STEPS + STEPS_EACH * sum(len(members) for part in parts for members in part.values())


def _check(steps: int, most: int, pile: int) -> None:
    """Refuse what lies over one another too often; called once the free comparisons are used up."""
    if pile > PILE or steps > most:
        what = f"shapes lie over one another too often: over {steps - pile:,} comparisons, at a pile of {pile:,}"
        raise LayoutdrillError(what, todo="take out what is drawn many times in one place")


def _touching_in(members: Sequence[Node], low: int, steps: int, most: int) -> Generator[tuple[Node, Node], None, int]:
    active: list[Node] = []
    for node in members:
        x0, y0, _, y1, _ = node
        steps += len(active)
        if steps > FREE_STEPS:
            _check(steps, most, len(active))
        live = []
        for other in active:
            _, ay0, ax1, ay1, _ = other
            if ax1 >= x0:
                live.append(other)
                if (
                    ay0 <= y1
                    and ay1 >= y0
                    and (y0 >= low or ay0 >= low)  # else they meet below this slab too, and were told there
                    and (ax1 > x0 or (ay0 != y1 and ay1 != y0))
                ):
                    yield other, node
        live.append(node)
        active = live
    return steps


def meeting_nodes(
    left: Slabs, right: Sequence[Slabs], height: GridUnits, mark: Collection[int]
) -> Iterator[tuple[Node, Node]]:
    """
    Yield each pair (a node of `left`, one of `right`) that shares area, once.

    All slabs are of this height; `mark` holds the numbers of the left nodes and none of the right ones.
    """
    steps, most = 0, _most_steps(left, *right)
    for s, lefts in left.items():
        rights = [part[s] for part in right if s in part]
        if not rights:
            continue
        members = sorted(lefts + rights[0]) if len(rights) == 1 else sorted(sum(rights, lefts))
        low = s * height
        if len(members) > _FEW:
            for part_low, part in _uncrowded(members, low, low + height):
                steps = yield from _meeting_in(part, part_low, mark, steps, most)
        else:
            steps = yield from _meeting_in(members, low, mark, steps, most)


def _meeting_in(
    members: Sequence[Node], low: int, mark: Collection[int], steps: int, most: int
) -> Generator[tuple[Node, Node], None, int]:
    lefts: list[Node] = []
    rights: list[Node] = []
    for node in members:
        x0, y0, _, y1, i = node
        live = []
        steps += len(rights) if i in mark else len(lefts)
        if steps > FREE_STEPS:
            _check(steps, most, len(lefts) + len(rights))
        if i in mark:
            for other in rights:
                _, ay0, ax1, ay1, _ = other
                if ax1 > x0:
                    live.append(other)
                    if ay0 < y1 and ay1 > y0 and (y0 >= low or ay0 >= low):
                        yield node, other
            rights = live
            lefts.append(node)
        else:
            for other in lefts:
                _, ay0, ax1, ay1, _ = other
                if ax1 > x0:
                    live.append(other)
                    if ay0 < y1 and ay1 > y0 and (y0 >= low or ay0 >= low):
                        yield other, node
            lefts = live
            rights.append(node)
    return steps


def _uncrowded(members: list[Node], low: int, high: int) -> Iterator[tuple[int, list[Node]]]:
    """Halve a crowded slab until few lie above one another, or halving no longer parts them."""
    if len(members) <= _FEW or high - low < 2:
        yield low, members
        return
    extent = max(node[2] for node in members) - members[0][0]
    crowd = sum(node[2] - node[0] for node in members) // max(1, extent)
    if crowd <= _CROWD:
        yield low, members
        return
    middle = (low + high) // 2
    below = [node for node in members if node[1] < middle]
    above = [node for node in members if node[3] >= middle]
    if len(below) + len(above) > 1.7 * len(members):
        yield low, members
        return
    yield from _uncrowded(below, low, middle)
    yield from _uncrowded(above, middle, high)
