"""The sweep against shapely's areas (2.x) and networkx's components (3.x): reference libraries, used in tests only."""

import networkx as nx
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.geometry import box

from layoutdrill.geometry.rect import Rect
from layoutdrill.geometry.sweep import meeting, touching
from tests.sampling import examples


@st.composite
def rects(draw, most=40, size=30, longest=12):
    found = []
    for _ in range(draw(st.integers(0, most))):
        x, y = draw(st.integers(-size, size)), draw(st.integers(-size, size))
        found.append(Rect(x, y, x + draw(st.integers(1, longest)), y + draw(st.integers(1, longest))))
    return found


@given(rects())
@settings(max_examples=examples(150), deadline=None)
def test_touching_pairs_are_those_of_shapely(boxes):
    """Two rectangles touch when their intersection in shapely has an area or a length; a corner has neither."""
    shapes = [box(*r) for r in boxes]
    expected = set()
    for i, a in enumerate(shapes):
        for j in range(i):
            common = a.intersection(shapes[j])
            if common.length > 0:
                expected.add((j, i))
    found = [tuple(sorted(pair)) for pair in touching(boxes, range(len(boxes)))]
    assert len(found) == len(set(found))
    assert set(found) == expected


@given(rects(), rects(most=15))
@settings(max_examples=examples(100), deadline=None)
def test_meeting_pairs_are_those_of_shapely(left, right):
    """A left and a right rectangle meet when their intersection in shapely has an area."""
    boxes = left + right
    found = list(meeting(boxes, range(len(left)), range(len(left), len(boxes))))
    expected = {
        (i, j + len(left))
        for i, a in enumerate(left)
        for j, b in enumerate(right)
        if box(*a).intersection(box(*b)).area > 0
    }
    assert len(found) == len(set(found))
    assert set(found) == expected


@given(rects(most=60))
@settings(max_examples=examples(60), deadline=None)
def test_components_are_those_of_networkx(boxes):
    """Nets grown from the touching pairs are the connected components of the graph of real contacts."""
    ours = nx.Graph()
    ours.add_nodes_from(range(len(boxes)))
    ours.add_edges_from(touching(boxes, range(len(boxes))))
    theirs = nx.Graph()
    theirs.add_nodes_from(range(len(boxes)))
    theirs.add_edges_from((i, j) for i, a in enumerate(boxes) for j, b in enumerate(boxes) if i < j and a.touches(b))
    assert sorted(map(sorted, nx.connected_components(ours))) == sorted(map(sorted, nx.connected_components(theirs)))


def test_corners_do_not_touch_and_edges_do():
    """A shared edge joins, a shared corner does not (common practice in layout connectivity)."""
    boxes = [Rect(0, 0, 4, 4), Rect(4, 4, 8, 8), Rect(4, 0, 8, 4)]
    assert {frozenset(p) for p in touching(boxes, range(3))} == {frozenset((0, 2)), frozenset((1, 2))}


def test_a_crowded_slab_is_halved_and_tells_each_pair_once():
    """Long thin wires above one another, crossed by tall ones: as many pairs as crossings, none twice."""
    wires = [Rect(0, 10 * k, 4000, 10 * k + 4) for k in range(120)]
    tall = [Rect(40 * k, -5, 40 * k + 4, 2000) for k in range(90)]
    boxes = wires + tall
    found = [frozenset(p) for p in touching(boxes, range(len(boxes)))]
    assert len(found) == len(set(found)) == 120 * 90


def test_one_giant_among_many_does_not_multiply():
    """A rectangle a million times taller than the rest costs no more than a few copies of all."""
    boxes = [Rect(10 * k, 0, 10 * k + 3, 1) for k in range(3000)] + [Rect(0, 0, 30_000, 10**9)]
    assert sum(1 for _ in touching(boxes, range(len(boxes)))) == 3000


def test_a_mesh_whose_halves_are_empty_on_one_side():
    """Crowded slabs at the ends of a drawing, where one half of a slab holds nothing."""
    n = 100
    boxes = [Rect(10 * i, -2, 10 * i + 3, 10 * n) for i in range(n)] + [
        Rect(-2, 10 * i, 10 * n, 10 * i + 3) for i in range(n)
    ]
    assert sum(1 for _ in touching(boxes, range(len(boxes)))) == n * n
