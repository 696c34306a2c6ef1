"""
Cut rectangles where others lie over them: the boolean operations, done only where shapes overlap.

A rectangle that nothing partly covers stays whole. Elsewhere an integer plane sweep cuts it into vertical strips,
and runs of equal cover are grown across the strips again.
"""

from collections.abc import Callable, Iterable, Sequence
from itertools import pairwise

from layoutdrill.geometry.rect import Rect
from layoutdrill.geometry.sweep import Box, meeting, touching

Partial = tuple[int, int, int, int, int]
"""A covering rectangle and its bit."""


def split(box: Box, partials: Sequence[Partial], base: int) -> list[tuple[Box, int]]:
    """Cut `box` into disjoint pieces of equal cover: (piece, `base` with the bits of the partials over it)."""
    x0, y0, x1, y1 = box
    inside: list[Partial] = []
    for ax0, ay0, ax1, ay1, bit in partials:
        if ax0 <= x0 and ay0 <= y0 and ax1 >= x1 and ay1 >= y1:
            base |= bit
        else:
            inside.append((ax0, ay0, ax1, ay1, bit))
    if not inside:
        return [(box, base)]
    if len(inside) > 1:
        inside.sort()
    edges = {x0, x1}
    for ax0, _, ax1, _, _ in inside:
        if ax0 > x0:
            edges.add(ax0)
        if ax1 < x1:
            edges.add(ax1)
    xs = sorted(edges)
    pieces: list[tuple[Box, int]] = []
    open_runs: dict[tuple[int, int, int], int] = {}
    active: list[Partial] = []
    at = 0
    for left, right in pairwise(xs):
        while at < len(inside) and inside[at][0] <= left:
            active.append(inside[at])
            at += 1
        active = [p for p in active if p[2] >= right]
        runs = _runs(y0, y1, active, base)
        still: dict[tuple[int, int, int], int] = {}
        for run in runs:
            still[run] = open_runs.pop(run, left)
        for (low, high, mask), start in open_runs.items():
            pieces.append(((start, low, left, high), mask))
        open_runs = still
    for (low, high, mask), start in open_runs.items():
        pieces.append(((start, low, x1, high), mask))
    return pieces


def _runs(y0: int, y1: int, active: Sequence[Partial], base: int) -> list[tuple[int, int, int]]:
    """Cut one strip into runs of equal cover (low, high, mask)."""
    if not active:
        return [(y0, y1, base)]
    edges = {y0, y1}
    for _, low, _, high, _ in active:
        if y0 < low:
            edges.add(low)
        if high < y1:
            edges.add(high)
    if len(edges) == 2:
        for partial in active:
            base |= partial[4]
        return [(y0, y1, base)]
    ys = sorted(edges)
    runs: list[tuple[int, int, int]] = []
    for low, high in pairwise(ys):
        mask = base
        for partial in active:
            if partial[1] <= low and partial[3] >= high:
                mask |= partial[4]
        if runs and runs[-1][2] == mask:
            runs[-1] = (runs[-1][0], high, mask)
        else:
            runs.append((low, high, mask))
    return runs


def disjoint(boxes: Sequence[Box]) -> Sequence[Box]:
    """Return the same area as rectangles that do not overlap; the same list where none did."""
    earlier: dict[int, list[int]] = {}
    for i, j in touching(boxes, range(len(boxes))):
        a, b = boxes[i], boxes[j]
        if a[0] < b[2] and b[0] < a[2] and a[1] < b[3] and b[1] < a[3]:
            earlier.setdefault(max(i, j), []).append(min(i, j))
    if not earlier:
        return boxes
    result: list[Box] = []
    for i, box in enumerate(boxes):
        over = earlier.get(i)
        if over is None:
            result.append(box)
        else:
            result.extend(piece for piece, mask in split(box, [(*boxes[j], 1) for j in over], 0) if not mask)
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
    over = list(right)
    everything = [*base, *over]
    covers: dict[int, list[Partial]] = {}
    for i, j in meeting(everything, range(len(base)), range(len(base), len(everything))):
        covers.setdefault(i, []).append((*everything[j], 1))
    return [
        Rect(*piece) for i, box in enumerate(base) for piece, mask in split(box, covers.get(i, ()), 0) if keep(mask)
    ]
