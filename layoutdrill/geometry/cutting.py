"""
Cut rectangles where others lie over them: the boolean operations, done only where shapes overlap.

A rectangle that nothing partly covers stays whole. Elsewhere an integer plane sweep cuts it into vertical strips,
and runs of equal cover are grown across the strips again.
"""

from collections.abc import Callable, Iterable, Sequence
from itertools import pairwise

from layoutdrill.geometry.rect import Rect
from layoutdrill.geometry.sweep import Box, Node, Slabs, meeting, slab_height, slabs, touching_nodes
from layoutdrill.units import GridUnits

_FEW = 8
"""So few covers are looked at for each stretch; of more, only those that reach it."""


def split(box: Box, covers: Sequence[Node], bits: Sequence[int], base: int) -> list[tuple[Box, int]]:
    """
    Cut `box` into disjoint pieces of equal cover: (piece, `base` with the bits of the covers over it).

    The bit of a covering node is `bits[its number]`.
    """
    x0, y0, x1, y1 = box
    inside: list[Node] = []
    straight = True
    for cover in covers:
        ax0, ay0, ax1, ay1, i = cover
        if ay0 <= y0 and ay1 >= y1:
            if ax0 <= x0 and ax1 >= x1:
                base |= bits[i]
            else:
                inside.append(cover)
        else:
            inside.append(cover)
            straight = False
    if not inside:
        return [(box, base)]
    edges = {x0, x1}
    for ax0, _, ax1, _, _ in inside:
        if ax0 > x0:
            edges.add(ax0)
        if ax1 < x1:
            edges.add(ax1)
    xs = sorted(edges)
    if len(inside) > _FEW or not straight:
        inside.sort()
    if straight:
        return _stretches(box, xs, inside, bits, base)
    pieces: list[tuple[Box, int]] = []
    open_runs: dict[tuple[int, int, int], int] = {}
    active: list[Node] = []
    at = 0
    for left, right in pairwise(xs):
        while at < len(inside) and inside[at][0] <= left:
            active.append(inside[at])
            at += 1
        active = [cover for cover in active if cover[2] >= right]
        still: dict[tuple[int, int, int], int] = {}
        for run in _runs(y0, y1, active, bits, base):
            still[run] = open_runs.pop(run, left)
        for (low, high, mask), start in open_runs.items():
            pieces.append(((start, low, left, high), mask))
        open_runs = still
    for (low, high, mask), start in open_runs.items():
        pieces.append(((start, low, x1, high), mask))
    return pieces


def _stretches(
    box: Box, xs: Sequence[int], inside: list[Node], bits: Sequence[int], base: int
) -> list[tuple[Box, int]]:
    """Cut where all covers span the full height: a gate across a strip of diffusion, most often."""
    _, y0, _, y1 = box
    pieces: list[tuple[Box, int]] = []
    start = left = xs[0]
    last = -1
    at, active = 0, inside
    for right in xs[1:]:
        mask = base
        if len(inside) > _FEW:
            active = [cover for cover in active if cover[2] >= right] if at else []
            while at < len(inside) and inside[at][0] <= left:
                active.append(inside[at])
                at += 1
        for ax0, _, ax1, _, i in active:
            if ax0 <= left and ax1 >= right:
                mask |= bits[i]
        if mask != last:
            if last >= 0:
                pieces.append(((start, y0, left, y1), last))
            start, last = left, mask
        left = right
    pieces.append(((start, y0, left, y1), last))
    return pieces


def _runs(y0: int, y1: int, active: Sequence[Node], bits: Sequence[int], base: int) -> list[tuple[int, int, int]]:
    """Cut one strip into runs of equal cover (low, high, mask)."""
    if not active:
        return [(y0, y1, base)]
    edges = {y0, y1}
    for _, low, _, high, _ in active:
        if y0 < low:
            edges.add(low)
        if high < y1:
            edges.add(high)
    ys = sorted(edges)
    runs: list[tuple[int, int, int]] = []
    for low, high in pairwise(ys):
        mask = base
        for _, ay0, _, ay1, i in active:
            if ay0 <= low and ay1 >= high:
                mask |= bits[i]
        if runs and runs[-1][2] == mask:
            runs[-1] = (runs[-1][0], high, mask)
        else:
            runs.append((low, high, mask))
    return runs


def overlaps(slabs_here: Slabs, height: GridUnits) -> dict[int, list[Node]]:
    """Map a node's number to the nodes of smaller number that share area with it."""
    earlier: dict[int, list[Node]] = {}
    for a, b in touching_nodes(slabs_here, height):
        if b[0] < a[2] and a[1] < b[3] and b[1] < a[3]:
            if a[4] < b[4]:
                earlier.setdefault(b[4], []).append(a)
            else:
                earlier.setdefault(a[4], []).append(b)
    return earlier


def disjoint(boxes: Sequence[Box]) -> Sequence[Box]:
    """Return the same area as rectangles that do not overlap; the same list where none did."""
    nodes = [(*box[:4], i) for i, box in enumerate(boxes)]
    height = slab_height(nodes)
    earlier = overlaps(slabs(nodes, height), height)
    if not earlier:
        return boxes
    ones = [1] * len(boxes)
    result: list[Box] = []
    for i, box in enumerate(boxes):
        over = earlier.get(i)
        if over is None:
            result.append(box)
        else:
            result.extend(piece for piece, mask in split(box, over, ones, 0) if not mask)
    return result


def union(boxes: Iterable[Box]) -> list[Rect]:
    """Return the union as disjoint rectangles."""
    return [Rect(*box) for box in disjoint(list(boxes))]


def both(left: Iterable[Box], right: Iterable[Box]) -> list[Rect]:
    """Return the area in `left` and in `right`, as disjoint rectangles."""
    return _combine(left, right, lambda mask: mask == 1)


def without(left: Iterable[Box], right: Iterable[Box]) -> list[Rect]:
    """Return the area in `left` and not in `right`, as disjoint rectangles."""
    return _combine(left, right, lambda mask: mask == 0)


def _combine(left: Iterable[Box], right: Iterable[Box], keep: Callable[[int], bool]) -> list[Rect]:
    base = disjoint(list(left))
    everything = [*base, *right]
    covers: dict[int, list[Node]] = {}
    for i, j in meeting(everything, range(len(base)), range(len(base), len(everything))):
        covers.setdefault(i, []).append((*everything[j][:4], j))
    ones = [1] * len(everything)
    return [
        Rect(*piece)
        for i, box in enumerate(base)
        for piece, mask in split(box, covers.get(i, ()), ones, 0)
        if keep(mask)
    ]
