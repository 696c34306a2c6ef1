"""Compaction finds the smallest placement that keeps all distances."""

import networkx as nx
from hypothesis import given, settings
from hypothesis import strategies as st

from layoutdrill.drawing.compaction import solve

rules = st.lists(
    st.tuples(st.integers(0, 9), st.integers(0, 9), st.integers(0, 20)).filter(lambda r: r[0] < r[1]), max_size=30
)


@settings(max_examples=100, deadline=None)
@given(rules)
def test_places_are_longest_paths(edges):
    """The least places are the longest paths from the border, as a graph library finds them."""
    count = 10
    order = [0, *range(2, count), 1]
    named = [(order[i], order[j], w) for i, j, w in edges] + [(0, line, 0) for line in range(1, count)]
    named += [(line, 1, 0) for line in range(2, count)]
    graph = nx.DiGraph()
    for i, j, w in named:
        graph.add_edge(i, j, weight=min(-w, graph.get_edge_data(i, j, {"weight": 0})["weight"]))
    lengths = nx.single_source_bellman_ford_path_length(graph, 0)
    at = [0] * count
    for place, line in enumerate(order):
        at[line] = place * 100
    assert solve(at, named, even=False) == [-lengths[line] for line in range(count)]
    spread = solve(at, named, even=True)
    assert spread[1] == -lengths[1]
    assert all(spread[j] - spread[i] >= w for i, j, w in named)
