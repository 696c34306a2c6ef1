"""Connected parts and shared edges, against networkx (3.x) on unit squares."""

import networkx as nx
from hypothesis import given, settings
from hypothesis import strategies as st

from layoutdrill.geometry.cutting import union
from layoutdrill.geometry.rect import Rect
from layoutdrill.geometry.regions import abutments, components
from tests.sampling import examples


@st.composite
def areas(draw):
    found = []
    for _ in range(draw(st.integers(0, 12))):
        x, y = draw(st.integers(0, 12)), draw(st.integers(0, 12))
        found.append(Rect(x, y, x + draw(st.integers(1, 5)), y + draw(st.integers(1, 5))))
    return found


def squares(rects):
    return {(x, y) for r in rects for x in range(r.x0, r.x1) for y in range(r.y0, r.y1)}


def beside(square):
    x, y = square
    return (x + 1, y), (x - 1, y), (x, y + 1), (x, y - 1)


@given(areas())
@settings(max_examples=examples(100), deadline=None)
def test_parts_are_those_of_the_unit_squares(rects):
    """Parts of a set of rectangles are the connected parts of the squares it covers."""
    graph = nx.Graph()
    graph.add_nodes_from(squares(rects))
    graph.add_edges_from((s, t) for s in graph for t in beside(s) if t in graph)
    ours = {frozenset(squares([rects[i] for i in part])) for part in components(rects)}
    assert ours == {frozenset(part) for part in nx.connected_components(graph)}


@given(areas(), areas())
@settings(max_examples=examples(100), deadline=None)
def test_shared_edges_add_up(left, right):
    """The edge two disjoint areas share is the number of pairs of neighbouring squares."""
    taken = squares(left)
    others = [r for r in union(right) if not squares([r]) & taken]
    expected = sum(1 for s in squares(others) for t in beside(s) if t in taken)
    assert sum(abutments(union(left), others).values()) == expected
