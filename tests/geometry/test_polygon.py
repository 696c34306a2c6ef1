"""Polygons cut into rectangles, against shapely (2.x) and hand arithmetic."""

from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.geometry import Polygon, box
from shapely.ops import unary_union

from layoutdrill.geometry.polygon import polygon_rects, slanted_edge
from layoutdrill.geometry.rect import Rect
from tests.sampling import examples


def covered(rects):
    assert sum(r.area for r in rects) == unary_union([box(*r) for r in rects]).area
    return unary_union([box(*r) for r in rects])


@given(st.lists(st.tuples(st.integers(1, 5), st.integers(1, 9)), min_size=1, max_size=20))
@settings(max_examples=examples(80), deadline=None)
def test_skylines(steps):
    """A row of steps of any heights comes out as its own area, in either sense of the outline."""
    points = [(0, 0)]
    x = 0
    for width, height in steps:
        points += [(x, height), (x + width, height)]
        x += width
    points.append((x, 0))
    expected = Polygon(points).buffer(0)
    for outline in (points, points[::-1], [(y, x) for x, y in points]):
        want = Polygon(outline).buffer(0)
        found = covered(polygon_rects(outline))
        assert found.area == expected.area
        assert found.symmetric_difference(want).area == 0


def test_a_keyhole_is_a_hole():
    """A square of 10 with a hole of 4 reached by a slit of no width: area 100 − 16, and the hole is open."""
    outline = [(0, 0), (10, 0), (10, 10), (0, 10), (0, 3), (3, 3), (3, 7), (7, 7), (7, 3), (0, 3)]
    rects = polygon_rects(outline)
    assert sum(r.area for r in rects) == 84
    assert not any(r.contains(5, 5) for r in rects)


def test_two_keyholes_and_a_repeated_point():
    """Two holes on one slit; a point said twice and a point on a straight edge change nothing."""
    outline = [(0, 0), (20, 0), (20, 0), (20, 10), (10, 10), (0, 10), (0, 5), (4, 5), (4, 7), (6, 7), (6, 5)]
    outline += [(12, 5), (12, 7), (14, 7), (14, 3), (12, 3), (12, 5), (6, 5), (6, 3), (4, 3), (4, 5), (0, 5)]
    assert sum(r.area for r in polygon_rects(outline)) == 200 - 8 - 8


def test_rectangles_stay_whole():
    """A rectangle, closed or not, started anywhere, either way round, is one rectangle; a line is none."""
    corners = [(1, 2), (5, 2), (5, 9), (1, 9)]
    for k in range(4):
        turned = corners[k:] + corners[:k]
        for outline in (turned, turned[::-1], [*turned, turned[0]]):
            assert polygon_rects(outline) == [Rect(1, 2, 5, 9)]
    assert polygon_rects([(0, 0), (5, 0), (5, 0), (0, 0)]) == []


def test_slanted_edges_are_found():
    """The first slanted edge is told; a rectilinear outline has none."""
    assert slanted_edge([(0, 0), (4, 0), (6, 4), (0, 4)]) == ((4, 0), (6, 4))
    assert slanted_edge([(0, 0), (4, 0), (4, 4), (0, 4)]) is None
