"""Compaction finds the smallest placement that keeps all distances."""

import networkx as nx
from hypothesis import given, settings
from hypothesis import strategies as st

from layoutdrill.drawing.row_pairs.shaping.compaction import solve
from tests.sampling import examples

rules = st.lists(
    st.tuples(st.integers(0, 9), st.integers(0, 9), st.integers(0, 20)).filter(lambda r: r[0] < r[1]), max_size=30
)


@settings(max_examples=examples(100), deadline=None)
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


@settings(max_examples=examples(100), deadline=None)
@given(rules, st.lists(st.tuples(st.integers(2, 9), st.integers(2, 9)).filter(lambda b: b[0] != b[1]), max_size=4))
def test_bends_are_straightened_only_within_the_border(edges, bends):
    """Lines that wires step between come together; no distance is given up for it and no room is taken."""
    count = 10
    named = [(0, line, 0) for line in range(1, count)] + [(line, 1, 0) for line in range(2, count)]
    named += [(i, j, w) for i, j, w in edges if i > 1 and j > 1]
    at = [0, 10_000, *range(2, count)]
    least = solve(at, named, even=False)
    straight = solve(at, named, even=True, bends=bends)
    assert straight[1] == least[1]
    assert all(straight[j] - straight[i] >= w for i, j, w in named)
    apart = {(i, j) for i, j, w in named if w > 0}
    if len(bends) == 1 and not apart:
        assert straight[bends[0][0]] == straight[bends[0][1]]


def test_a_step_that_costs_nothing_is_taken_out():
    """Two lines with room to spare between a near and a far neighbour end in one place."""
    rules = [(0, 2, 4), (0, 3, 10), (2, 1, 20), (3, 1, 6), (0, 1, 40)]
    placed = solve([0, 100, 4, 50], rules, even=True)
    assert placed[2] != placed[3]
    placed = solve([0, 100, 4, 50], rules, even=True, bends=[(2, 3)])
    assert placed[2] == placed[3]
    assert placed[1] == 40
