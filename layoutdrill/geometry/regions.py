"""Areas as sets of rectangles: their connected parts, and the edges that two of them share."""

from collections.abc import Sequence

from layoutdrill.geometry.sweep import Box, touching
from layoutdrill.unions import Unions


def components(boxes: Sequence[Box]) -> list[list[int]]:
    """Return the connected parts as lists of places in `boxes`; touching edges connect, corners do not."""
    parts_of = Unions()
    for a, b in touching(boxes, range(len(boxes))):
        parts_of.join(a, b)
    parts: dict[int, list[int]] = {}
    for i in range(len(boxes)):
        parts.setdefault(parts_of.find(i), []).append(i)
    return list(parts.values())


def abutments(left: Sequence[Box], right: Sequence[Box]) -> dict[tuple[int, int], int]:
    """
    Return the length of the edge that a `left` and a `right` rectangle share, by their places; overlaps do not count.

    For disjoint rectangles the lengths of an area's edge add up.
    """
    boxes = [*left, *right]
    first = len(left)
    lengths: dict[tuple[int, int], int] = {}
    for a, b in touching(boxes, range(len(boxes))):
        if (a < first) != (b < first):
            length = edge_length(boxes[a], boxes[b])
            if length:
                lengths[min(a, b), max(a, b) - first] = length
    return lengths


def edge_length(a: Sequence[int], b: Sequence[int]) -> int:
    """Return the length of the edge two touching boxes share; 0 when they overlap."""
    w = min(a[2], b[2]) - max(a[0], b[0])
    h = min(a[3], b[3]) - max(a[1], b[1])
    return h if w == 0 else w if h == 0 else 0
