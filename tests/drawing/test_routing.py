"""Routes are cheapest, and never share a place."""

import itertools

import networkx as nx
import pytest

from layoutdrill.dice import Dice
from layoutdrill.drawing.row_pairs.draw import drawing
from layoutdrill.drawing.row_pairs.routing.router import Tree, _Router
from layoutdrill.drawing.shared import Request
from layoutdrill.process import load_process
from tests.drawing.gates import cell

PROCESSES = [load_process("silicon-gate-cmos"), load_process("metal-gate-sapphire")]


@pytest.mark.parametrize("process", PROCESSES, ids=lambda p: p.name)
def test_the_search_finds_the_cheapest_way(process):
    """Between any two nodes the aimed search pays what Dijkstra's algorithm of a graph library pays."""
    made = drawing(Request(cell("mux2_tg", process), process, 3, difficulty=1))
    assert made is not None
    dice = Dice(1)
    tolls = [dice.below(12) for _ in made.grid.owner]
    graph = nx.DiGraph()
    for node, steps in enumerate(made.grid.steps):
        graph.add_weighted_edges_from((node, near, price + tolls[near]) for near, price in steps)
    prices = {(a, b): data["weight"] for a, b, data in graph.edges(data=True)}
    nodes = sorted(graph.nodes)
    router = _Router(made.grid, dice)
    for _ in range(60):
        start = dice.pick(nodes)
        targets = {dice.pick(nodes), dice.pick(nodes)}
        path = router._search(tolls, [start], Tree(), targets)
        known = nx.single_source_dijkstra_path_length(graph, start)
        reached = [known[t] for t in targets if t in known]
        assert (path is None) == (not reached)
        if path is not None:
            assert sum(prices[step] for step in itertools.pairwise(path)) == min(reached)


@pytest.mark.parametrize("process", PROCESSES, ids=lambda p: p.name)
def test_no_two_nets_share_a_node(process):
    """However crowded the drawing, each node of the grid belongs to one net at most."""
    for seed in range(6):
        made = drawing(Request(cell("xor2_tg", process), process, seed, difficulty=1))
        assert made is not None
        used = [node for tree in made.trees.values() for node in tree.nodes]
        assert len(used) == len(set(used))
