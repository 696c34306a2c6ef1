"""Comparison: the same circuit is equal whatever its names, and another one is not."""

from dataclasses import replace
from itertools import combinations, product
from random import Random

import networkx as nx
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from layoutdrill.netlist.compare import Merge, alike, compare
from layoutdrill.netlist.graph import Rules, build
from layoutdrill.netlist.match import UndecidedError, find_match
from layoutdrill.netlist.model import Element, Kind, Netlist, Transistor
from layoutdrill.netlist.spice import read_spice
from tests.kit.mutate import CHANGES
from tests.netlist.netlists import disguised, nand_array, netlists, pass_graph
from tests.netlist.reference import isomorphic
from tests.sampling import examples

STRICT = {"sizes": True, "bodies": True, "merge": Merge.NONE}


@settings(max_examples=examples(150), deadline=None)
@given(netlists(), st.integers(0, 999))
def test_a_disguised_copy_is_equal(n, seed):
    """Renaming, shuffling and exchanging source and drain change nothing, and the maps lead from one to the other."""
    copy = disguised(n, Random(seed))
    result = compare(n, copy, **STRICT)
    assert result.equal
    assert result.differences == ()
    moved = Netlist(
        copy.name,
        n.ports,
        tuple(replace(t.renamed(result.net_map), name=result.device_map[t.name]) for t in n.transistors),
    )
    assert moved.text().split("\n") == [line for line in copy.text().split("\n") if " F" not in line]


@settings(max_examples=examples(150), deadline=None)
@given(netlists(most=5), st.integers(0, len(CHANGES) - 1), st.integers(0, 999), st.booleans())
def test_a_changed_copy_is_judged_as_networkx_judges_it(n, change, seed, everything):
    """After one change, equal or not is what general graph isomorphism says (networkx, VF2)."""
    rng = Random(seed)
    changed = CHANGES[change](disguised(n, rng), rng)
    if changed is None:
        return
    result = compare(n, changed, sizes=everything, bodies=everything, merge=Merge.NONE)
    # A size that one of the netlists never gives is not held against the other.
    lengths = everything and all(any(t.length for t in each.transistors) for each in (n, changed))
    widths = everything and all(any(t.width for t in each.transistors) for each in (n, changed))
    assert result.equal is isomorphic(n, changed, lengths=lengths, widths=widths, bodies=everything)
    assert result.equal is (result.differences == ())


@settings(max_examples=examples(100), deadline=None)
@given(netlists(most=4, elements=False), netlists(most=4, elements=False))
def test_two_netlists_are_judged_as_networkx_judges_them(a, b):
    """The same for two netlists that have nothing to do with each other (networkx, VF2)."""
    b = replace(b, ports=a.ports)
    named = frozenset(a.ports) | ({"VDD", "GND"} & set(a.nets) & set(b.nets))  # rails are known by name in any case
    same = isomorphic(a, b, named=named, lengths=False, widths=False)
    assert compare(a, b, bodies=True, merge=Merge.NONE).equal is same


def test_graphs_that_refinement_cannot_tell_apart_are_told_apart_by_the_search():
    """A ring of six and two rings of three look alike everywhere, yet differ (textbook example; networkx agrees)."""
    ring, rings = pass_graph(nx.cycle_graph(6).edges), pass_graph([*nx.cycle_graph(3).edges, (3, 4), (4, 5), (5, 3)])
    assert not isomorphic(ring, rings)
    result = compare(ring, rings)
    assert not result.equal
    assert len(result.differences) == 2  # two ends put on each other's nets make one of the other


def shrikhande() -> nx.Graph:
    """Return the Shrikhande graph: Z4 × Z4, joined when the difference is ±(0,1), ±(1,0) or ±(1,1) (definition)."""
    steps = {(0, 1), (0, 3), (1, 0), (3, 0), (1, 1), (3, 3)}
    nodes = list(product(range(4), repeat=2))
    near = [(p, q) for p, q in combinations(nodes, 2) if ((p[0] - q[0]) % 4, (p[1] - q[1]) % 4) in steps]
    return nx.convert_node_labels_to_integers(nx.Graph(near))


def test_two_strongly_regular_graphs_with_the_same_numbers_differ():
    """The 4×4 rook's graph and the Shrikhande graph are both srg(16,6,2,2) and not isomorphic (networkx agrees)."""
    rook = nx.convert_node_labels_to_integers(nx.line_graph(nx.complete_bipartite_graph(4, 4)))
    other = shrikhande()
    assert nx.is_strongly_regular(rook)
    assert nx.is_strongly_regular(other)
    assert not nx.is_isomorphic(rook, other)
    assert not alike(pass_graph(rook.edges), pass_graph(other.edges))
    for graph in (rook, other):
        n = pass_graph(graph.edges)
        assert compare(n, disguised(n, Random(1))).equal


@pytest.mark.parametrize(
    "graph", [nx.petersen_graph(), nx.hypercube_graph(4), nx.grid_2d_graph(7, 7), nx.cycle_graph(64)]
)
def test_symmetric_circuits_are_equal_to_their_disguised_copies(graph):
    """Where all looks alike the search finds a match (graphs from networkx)."""
    n = pass_graph(nx.convert_node_labels_to_integers(graph).edges)
    for seed in range(5):
        assert compare(n, disguised(n, Random(seed))).equal


def test_many_alike_parts_with_one_that_differs_are_refused_without_trying_every_order():
    """Forty rings of six against thirty-nine and two rings of three: the choices in other rings are not revisited."""
    ring = list(nx.cycle_graph(6).edges)
    rings = [(a + 6 * k, b + 6 * k) for k in range(40) for a, b in ring]
    odd = [*rings[:-6], (234, 235), (235, 236), (236, 234), (237, 238), (238, 239), (239, 237)]
    a, b = pass_graph(rings), pass_graph(odd)
    graph = build(a, b, Rules(), [("G", "G")])
    assert find_match(graph, effort=100_000) is None
    assert compare(a, disguised(a, Random(2))).equal


def test_a_search_that_is_given_up_says_so():
    """With no effort allowed the two regular graphs stay undecided rather than being called different."""
    rook = nx.convert_node_labels_to_integers(nx.line_graph(nx.complete_bipartite_graph(4, 4)))
    graph = build(pass_graph(rook.edges), pass_graph(shrikhande().edges), Rules(), [("G", "G")])
    with pytest.raises(UndecidedError):
        find_match(graph, effort=0)


@pytest.mark.parametrize("labelled", [True, False])
def test_arrays_are_equal_to_their_disguised_copies(labelled):
    """A regular array needs no more than its rails to be labelled."""
    result = compare(nand_array(250, labelled=labelled), nand_array(250, labelled=labelled, seed=3), sizes=True)
    assert result.text() == "equal: 1000 transistors, 1002 nets"


def test_one_wrong_cell_in_an_array_is_found():
    """One crossed gate among 250 cells is named, where the ports say which cell it is in."""
    good, bad = nand_array(250, labelled=True), nand_array(250, labelled=True)
    wrong = replace(bad.transistors[402], gate="A7")
    bad = replace(bad, transistors=(*bad.transistors[:402], wrong, *bad.transistors[403:]))
    told = "transistor M100c: its gate is on net A100 in A, on net A7 in B"
    assert compare(good, bad).differences == (f"one edit makes them equal: {told}",)


def test_only_rails_labelled_finds_inputs_exchanged():
    """With ports unlabelled a gate whose inputs change places is the same circuit; with them labelled it is not."""
    nand = Netlist(
        "g",
        ("VDD", "GND", "A", "B", "Y"),
        (
            Transistor("M1", Kind.P, "A", "VDD", "Y"),
            Transistor("M2", Kind.P, "B", "VDD", "Y"),
            Transistor("M3", Kind.N, "A", "Y", "m"),
            Transistor("M4", Kind.N, "B", "m", "GND"),
        ),
    )
    crossed = replace(nand, transistors=tuple(t.renamed({"A": "B", "B": "A"}) for t in nand.transistors))
    assert not compare(nand, crossed).equal
    assert compare(nand, crossed, ports=False).equal
    turned = replace(nand, transistors=tuple(t.renamed({"VDD": "GND", "GND": "VDD"}) for t in nand.transistors))
    assert not compare(nand, turned, ports=False).equal


def test_resistor_ends_may_be_exchanged_and_diode_ends_may_not():
    """A resistor has no direction, a diode has (common practice)."""
    for kind, same in (("resistor", True), ("capacitor", True), ("diode", False)):
        one = Netlist("e", ("A", "B"), (), (Element("X", kind, "", ("A", "B")),))
        other = Netlist("e", ("A", "B"), (), (Element("X", kind, "", ("B", "A")),))
        assert compare(one, other).equal is same


def test_other_devices_of_three_nodes_keep_their_order():
    """A device that the project does not know has its nodes in order, and is not taken for a transistor."""
    one = Netlist("e", ("A", "B", "C"), (), (Element("X", "other", "thing", ("A", "B", "C")),))
    other = Netlist("e", ("A", "B", "C"), (), (Element("X", "other", "thing", ("A", "C", "B")),))
    assert compare(one, one).equal
    assert compare(one, other).differences == (
        "other X: its node 2 is on net B in A, on net C in B",
        "other X: its node 3 is on net C in A, on net B in B",
    )


def test_fingers_counted_in_one_netlist_are_merged_in_both():
    """One transistor of two fingers is the same as two transistors in parallel, of that width together."""
    drawn = Netlist(
        "n", ("A", "Y", "GND"), tuple(Transistor(f"M{k}", Kind.N, "A", "Y", "GND", width=650) for k in "12")
    )
    told = Netlist("n", ("A", "Y", "GND"), (Transistor("M1", Kind.N, "A", "GND", "Y", width=1300, fingers=2),))
    assert compare(drawn, told, sizes=True).text() == "equal: 1 transistor (of 2 fingers), 3 nets"
    assert not compare(drawn, told, sizes=True, merge=Merge.NONE).equal


def test_a_size_that_one_netlist_never_gives_is_not_held_against_it():
    """A hand-written netlist without L and W compares by connections, even when sizes are asked for."""
    sized = Netlist("n", ("A",), (Transistor("M1", Kind.N, "A", "y", "z", length=150, width=650),))
    bare = Netlist("n", ("A",), (Transistor("M1", Kind.N, "A", "y", "z"),))
    wide = Netlist("n", ("A",), (Transistor("M1", Kind.N, "A", "y", "z", width=700),))
    assert compare(sized, bare, sizes=True).equal
    assert compare(sized, wide, sizes=True).differences == ("transistor M1: W is 0.65 µm in A, 0.7 µm in B",)


def test_ohms_and_farads_count_where_sizes_do():
    """10k is 10000, and as much in two pieces; 12k is not; a netlist that tells none is not held against it."""
    ports = ".subckt rc a y VSS\n"
    told, pieces, other, bare = (
        read_spice(f"{ports}{rows}.ends\n", "rc.sp")
        for rows in ("R1 a y 10k\nC1 y VSS 1p\n", "R1 a m 4k\nR2 m y 6000\nC1 y VSS 500f\nC2 VSS y 0.5p\n",
                     "R1 a y 12k\nC1 y VSS 1p\n", "R1 a y\nC1 y VSS\n")
    )  # fmt: skip
    assert compare(told, other).equal
    assert compare(told, pieces, sizes=True).equal
    assert compare(told, bare, sizes=True).equal
    assert compare(told, other, sizes=True).differences == ("resistor R1: its value is 10000 in A, 12000 in B",)


def test_a_transistor_is_no_capacitor():
    """What one netlist has of one sort and the other of another is told as missing from either."""
    stage = "M1 y a VSS VSS nmos\nM2 y a VDD VDD pmos\n"
    one, other = (
        read_spice(f".subckt t a y VDD VSS\n{stage}{row}\n.ends\n", "t.sp")
        for row in ("C1 y a 1p", "M3 y b a VSS nmos")
    )
    said = compare(one, other).differences
    assert any(line.startswith("capacitor C1 of A") and "no counterpart" in line for line in said)
    assert any(line.startswith("transistor M3 of B") and "no counterpart" in line for line in said)
