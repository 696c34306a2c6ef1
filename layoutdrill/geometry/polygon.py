"""Cut a rectilinear polygon into rectangles; keyholes (a hole reached by a slit of no width) come out as holes."""

from collections.abc import Sequence
from itertools import pairwise

from layoutdrill.geometry.rect import Rect

Point = tuple[int, int]


def slanted_edge(points: Sequence[Point]) -> tuple[Point, Point] | None:
    """Return the first edge of a closed polygon that is neither horizontal nor vertical, or None."""
    if not points:
        return None
    before = points[-1]
    for point in points:
        if point[0] != before[0] and point[1] != before[1]:
            break
        before = point
    else:
        return None
    return next((a, b) for a, b in pairwise([*points, points[0]]) if a[0] != b[0] and a[1] != b[1])


def polygon_rects(points: Sequence[Point]) -> list[Rect]:
    """
    Return disjoint rectangles that cover the closed polygon; empty for one without area.

    Filled by winding number: where the outline turns round a point at least once, in either sense, is inside.
    Every edge must be horizontal or vertical.
    """
    if len(points) in (4, 5):
        (xa, ya), (xb, yb), (xc, yc), (xd, yd) = points[:4]
        one_way = xa == xb and yb == yc and xc == xd and yd == ya
        other_way = ya == yb and xb == xc and yc == yd and xd == xa
        if (one_way or other_way) and (len(points) == 4 or points[4] == points[0]):
            return [Rect(min(xa, xc), min(ya, yc), max(xa, xc), max(ya, yc))] if xa != xc and ya != yc else []
    if _cut_upright(points):
        return _strips(points)
    return [Rect(y0, x0, y1, x1) for x0, y0, x1, y1 in _strips([(y, x) for x, y in points])]


def _cut_upright(points: Sequence[Point]) -> bool:
    return len({x for x, _ in points}) <= len({y for _, y in points})


def steps(points: Sequence[Point]) -> int:
    """Return how many steps `polygon_rects` takes: for each edge along the strips, how many of them it crosses."""
    if len(points) <= 5:
        return 1
    turned = points if _cut_upright(points) else [(y, x) for x, y in points]
    place = {x: number for number, x in enumerate(sorted({x for x, _ in turned}))}
    return sum(abs(place[a[0]] - place[b[0]]) for a, b in pairwise([*turned, turned[0]]))


def _strips(points: Sequence[Point]) -> list[Rect]:
    """Cut into vertical strips at every corner, and grow runs that go on from strip to strip."""
    edges: list[tuple[int, int, int, int]] = []
    for (xa, ya), (xb, yb) in zip(points, [*points[1:], *points[:1]], strict=True):
        if ya == yb and xa != xb:
            edges.append((xa, xb, ya, 1) if xa < xb else (xb, xa, ya, -1))
    edges.sort()
    xs = sorted({x for edge in edges for x in edge[:2]})
    rects: list[Rect] = []
    runs: dict[tuple[int, int], int] = {}
    active: list[tuple[int, int, int, int]] = []
    at = 0
    for left, right in pairwise(xs):
        active = [edge for edge in active if edge[1] >= right]
        while at < len(edges) and edges[at][0] == left:
            active.append(edges[at])
            at += 1
        still: dict[tuple[int, int], int] = {}
        winding = 0
        low = 0
        turns: dict[int, int] = {}
        for _, _, y, step in active:
            turns[y] = turns.get(y, 0) + step
        for y in sorted(turns):
            if turns[y] == 0:
                continue
            if winding == 0:
                low = y
            winding += turns[y]
            if winding == 0:
                still[low, y] = runs.pop((low, y), left)
        rects.extend(Rect(start, low, left, high) for (low, high), start in runs.items())
        runs = still
    rects.extend(Rect(start, low, xs[-1], high) for (low, high), start in runs.items())
    return rects
