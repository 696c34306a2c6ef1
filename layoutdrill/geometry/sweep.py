"""
Find the pairs of rectangles that meet: a sweep in x inside horizontal slabs.

Slabs are so high that few rectangles cross from one into the next, and so low that few lie above one another in
one slab; a slab that turns out crowded is cut in two again. Time grows with the rectangles plus the pairs found.
"""

from collections.abc import Iterator, Sequence
from operator import itemgetter

Box = tuple[int, int, int, int]
"""A rectangle as bare numbers (x0, y0, x1, y1); a `Rect` is one."""

_CROWD = 48
"""More rectangles than this above one another make a slab worth cutting in two."""


def touching(boxes: Sequence[Box], ids: Sequence[int]) -> Iterator[tuple[int, int]]:
    """Yield each pair among `ids` (places in `boxes`) that shares area or a stretch of edge, once."""
    for low, members in _slabs(boxes, ids):
        yield from _touching_in(boxes, members, low)


def _touching_in(boxes: Sequence[Box], members: list[int], low: int) -> Iterator[tuple[int, int]]:
    active: list[tuple[int, int, int, int]] = []
    for i in members:
        x0, y0, x1, y1 = boxes[i]
        live = []
        for entry in active:
            ax1, ay0, ay1, j = entry
            if ax1 >= x0:
                live.append(entry)
                if ay0 <= y1 and ay1 >= y0 and (y0 >= low or ay0 >= low) and (ax1 > x0 or (ay0 != y1 and ay1 != y0)):
                    yield j, i
        live.append((x1, y0, y1, i))
        active = live


def meeting(boxes: Sequence[Box], left: Sequence[int], right: Sequence[int]) -> Iterator[tuple[int, int]]:
    """Yield each pair (one of `left`, one of `right`) that shares area, once."""
    if not left or not right:
        return
    mark = set(left)
    for low, members in _slabs(boxes, [*left, *right]):
        yield from _meeting_in(boxes, members, low, mark)


def _meeting_in(boxes: Sequence[Box], members: list[int], low: int, mark: set[int]) -> Iterator[tuple[int, int]]:
    lefts: list[tuple[int, int, int, int]] = []
    rights: list[tuple[int, int, int, int]] = []
    for i in members:
        x0, y0, x1, y1 = boxes[i]
        live = []
        if i in mark:
            for entry in rights:
                ax1, ay0, ay1, j = entry
                if ax1 > x0:
                    live.append(entry)
                    if ay0 < y1 and ay1 > y0 and (y0 >= low or ay0 >= low):
                        yield i, j
            rights = live
            lefts.append((x1, y0, y1, i))
        else:
            for entry in lefts:
                ax1, ay0, ay1, j = entry
                if ax1 > x0:
                    live.append(entry)
                    if ay0 < y1 and ay1 > y0 and (y0 >= low or ay0 >= low):
                        yield j, i
            lefts = live
            rights.append((x1, y0, y1, i))


def _slabs(boxes: Sequence[Box], ids: Sequence[int]) -> Iterator[tuple[int, list[int]]]:
    """
    Yield (low, the rectangles of the slab from y = low, by x0).

    A pair is to be counted in one slab only: where one of the two starts at or above `low`.
    """
    if not ids:
        return
    starts = list(map(itemgetter(0), boxes)) if len(ids) * 2 > len(boxes) else None
    order = sorted(ids, key=starts.__getitem__ if starts else lambda i: boxes[i][0])
    if len(order) < 24:
        yield -(1 << 80), order
        return
    height = _slab_height(boxes, order)
    slabs: dict[int, list[int]] = {}
    for i in order:
        box = boxes[i]
        first, last = box[1] // height, box[3] // height
        if first == last:
            try:
                slabs[first].append(i)
            except KeyError:
                slabs[first] = [i]
        else:
            for s in range(first, last + 1):
                slabs.setdefault(s, []).append(i)
    del order, starts
    for s in sorted(slabs):
        yield s * height, slabs.pop(s)


def _slab_height(boxes: Sequence[Box], ids: Sequence[int]) -> int:
    """Twice the median height, but never so low that the tall ones make more than a few copies of all."""
    sample = ids[:: max(1, len(ids) // 2000)]
    heights = sorted(boxes[i][3] - boxes[i][1] for i in sample)
    median = heights[len(heights) // 2]
    total = sum(boxes[i][3] - boxes[i][1] for i in ids)
    return max(2 * median, total // (2 * len(ids)), 1)
