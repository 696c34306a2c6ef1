"""
Slips that neighbours and the way of a current show: nets that are never charged, clamps and multipliers turned round,
bits that never change, with the right circuits beside them.

Forms: Mead & Conway 1980, Dickson 1976, Regitz & Karp 1970, four-phase logic of the 1960s; from memory.
"""

from dataclasses import replace
from itertools import pairwise

import pytest

from layoutdrill.netlist.model import Mode
from layoutdrill.reading.slips import find_slips
from layoutdrill.recognise.whole import recognise
from layoutdrill.simulate.supplies import find_supplies
from tests.reading.netlists import planted
from tests.reading.netlists.board import Board


def slips(netlist, *edits):
    for edit in edits:
        netlist, _, _ = planted(netlist, edit)
    return find_slips(netlist, find_supplies(netlist))


def told(netlist, *edits):
    return [s.kind for s in slips(netlist, *edits)]


def columns(count):
    """Cells of three transistors, three words, on read lines that one clock charges."""
    b = Board("nmos")
    for k in range(count):
        b.n("f", "VDD", f"r{k}", f"pre{k}")
        for w in range(3):
            b.n(f"ww{w}", f"w{k}", f"st{w}{k}")
            b.n(f"st{w}{k}", f"x{w}{k}", "VSS")
            b.n(f"rw{w}", f"r{k}", f"x{w}{k}")
    words = [f"{s}w{w}" for s in "rw" for w in range(3)]
    return b.case("cells", ["f", *words, *(f"{s}{k}" for s in "rw" for k in range(count))], "").netlist


def carries():
    b = Board("nmos")
    for i in range(5):
        b.n("f", "VDD", f"c{i}", f"pre{i}")
        b.n(f"g{i}", f"c{i}", "VSS", f"low{i}")
    for i in range(4):
        b.n(f"p{i}", f"c{i}", f"c{i + 1}", f"pass{i}")
    b.inv("c4", "out")
    return b.case("carries", ["f", "out", *(f"p{i}" for i in range(4)), *(f"g{i}" for i in range(5))], "").netlist


def phases():
    b = Board("nmos")
    before = "d"
    for i in range(3):
        for half, (charge, lets) in enumerate((("f1", "f2"), ("f3", "f4"))):
            net = f"y{2 * i + half}"
            b.n(charge, "VDD", net, f"{net}.pre")
            b.n(lets, net, f"{net}t", f"{net}.lets")
            b.n(before, f"{net}t", "VSS")
            before = net
    return b.case("phases", ["d", "f1", "f2", "f3", "f4", before], "").netlist


@pytest.mark.parametrize(("make", "edit"), [
    (lambda: columns(3), ("drop", "pre1")), (carries, ("drop", "pre2")), (phases, ("drop", "y3.pre")),
])  # fmt: skip
def test_the_one_net_among_its_likes_that_nothing_charges_is_told(make, edit):
    netlist = make()
    assert told(netlist) == []
    assert "is never charged" in " ".join(s.text for s in slips(netlist, edit))


def test_nets_that_share_a_way_to_the_rail_are_no_carry():
    """Two charged gates over one transistor: the net between is charged by neither, and need not be."""
    b = Board("nmos")
    for i in range(4):
        b.n("f", "VDD", f"y{i}", f"pre{i}")
        b.n(f"a{i}", f"y{i}", f"s{i // 2}")
        b.inv(f"y{i}", f"z{i}")
    for i in range(2):
        b.n(f"g{i}", f"s{i}", "VSS")
    netlist = b.case("shared", "f a0 a1 a2 a3 g0 g1 z0 z1 z2 z3", "").netlist
    assert told(netlist) == []


def test_a_net_let_go_by_what_charges_it_is_out_of_turn():
    assert "phase out of turn" in told(phases(), ("gate", "y4.lets", "f1"))


def multiplier():
    b = Board("nmos")
    nets = ["VDD", "v0", "v1", "v2", "v3", "out"]
    for i, (a, o) in enumerate(pairwise(nets)):
        b.n(a, a, o, f"d{i}")
        b.c(o, "VSS" if o == "out" else ("ck", "cn")[i % 2])
    return b.case("multiplier", "ck cn out", "").netlist


def moved(netlist, at, nodes):
    """Return a netlist with the nodes of an element moved; without it where there are none."""
    some = [replace(e, nodes=nodes) if i == at else e for i, e in enumerate(netlist.elements) if i != at or nodes]
    return replace(netlist, elements=tuple(some))


def test_a_multiplier_out_of_its_row_is_told():
    """A diode that leads back, a joint that nothing lifts, two neighbours lifted at once."""
    right = multiplier()
    assert recognise(right).heading == "voltage multiplier"
    assert told(right) == []
    assert told(right, ("gate", "d2", "v2")) == ["diode turned round"]
    assert told(moved(right, 1, ())) == ["missing device"]
    assert told(moved(right, 2, ("v2", "cn"))) == ["phase out of turn"]


def clamped(first, second):
    b = Board("cmos")
    b.r("pad", "in")
    b.diode(*first)
    b.diode(*second)
    b.inv(b.inv("in"), "y")
    return b.case("clamped", "pad y", "").netlist


def test_a_clamp_turned_round_is_told():
    """Both to rails that they keep off from are right; one diode to a rail by itself may be anything."""
    low, high = ("VSS", "in"), ("in", "VDD")
    assert told(clamped(low, high)) == []
    assert told(clamped(low, ("VDD", "in"))) == ["diode turned round"]
    assert told(clamped(("in", "VSS"), high)) == ["diode turned round"]


def test_a_bit_that_takes_its_own_level_never_changes():
    b = Board("cmos")
    cn = b.inv("c", "cn")
    q, _ = b.dff("d", "c", cn, "q")
    b.inv(q, "d")
    toggle = b.case("toggle", "c q", "").netlist
    assert told(toggle) == []
    still = Board("cmos")
    cn = still.inv("c", "cn")
    still.dff("q", "c", cn, "q")
    assert told(still.case("still", "c q", "").netlist) == ["own output"]


def single_phase(stages, inverted=False):
    """Dividers on one clock line each, the output of one the clock of the next (Yuan & Svensson 1989)."""
    b = Board("cmos")
    clock = "c"
    for i in range(stages):
        q = f"q{i}"
        d = b.inv(q, f"d{i}") if inverted else q
        b.p(d, "VDD", f"u{i}")
        b.p(clock, f"u{i}", f"x{i}")
        b.n(d, f"x{i}", "VSS")
        b.p(clock, "VDD", f"y{i}")
        b.n(f"x{i}", f"y{i}", f"v{i}")
        b.n(clock, f"v{i}", "VSS")
        b.p(f"y{i}", "VDD", q)
        b.n(clock, q, f"w{i}")
        b.n(f"y{i}", f"w{i}", "VSS")
        clock = q
    return b.case("dividers", ["c", clock], "").netlist


def test_a_bit_on_one_clock_line_inverts_so_that_it_divides_by_itself():
    """Through an inverter it takes its own level instead, and divides nothing."""
    assert recognise(single_phase(1)).heading == "toggle flip-flop"
    assert recognise(single_phase(3)).heading == "3-bit ripple counter"
    assert told(single_phase(1)) == []
    assert "toggle" not in recognise(single_phase(1, inverted=True)).heading
    assert told(single_phase(1, inverted=True)) == ["own output"]


def super_buffer(gate):
    b = Board("nmos")
    b.inv("a", "an")
    b.n("an", "VDD", "y", "up", mode=Mode.DEPLETION)
    b.n(gate, "y", "VSS", "down")
    return b.case("drive", "a y", "").netlist


def test_a_load_and_a_driver_on_one_net_are_told():
    """In a super buffer they stand on a net and its inverse."""
    assert told(super_buffer("a")) == []
    assert "odd load" in told(super_buffer("an"))
    assert "missing load" in told(super_buffer("a"), ("drop", "an.load"))


def sought(sides):
    """Two words of three cells whose compared bit opens a transistor from a charged line."""
    b = Board("cmos")
    for w in range(2):
        b.p("f", "VDD", f"m{w}")
        for k in range(3):
            q, qn = b.ram6(f"w{w}", f"b{k}", f"n{k}")
            first, second = sides(w, k, q, qn)
            b.n(first, f"b{k}", f"k{w}{k}")
            b.n(second, f"n{k}", f"k{w}{k}")
            b.n(f"k{w}{k}", f"m{w}", "VSS")
    ports = ["f", "w0", "w1", "m0", "m1", *(f"{s}{k}" for s in "bn" for k in range(3))]
    return b.case("sought", ports, "").netlist


def test_words_compared_through_their_cells_are_a_memory_by_content():
    """Each side of a cell asks once; one that asks twice joins both bit lines."""
    right = sought(lambda w, k, q, qn: (qn, q))
    assert recognise(right).heading == "2 × 3 content-addressable memory"
    assert told(right) == []
    wrong = sought(lambda w, k, q, qn: (q, q) if (w, k) == (1, 1) else (qn, q))
    assert "content" not in recognise(wrong).heading
    assert told(wrong) == ["two ways at once"]


def adder(swapped):
    b = Board("cmos")
    an, bn = b.inv("a", "an"), b.inv("b", "bn")
    b.tg("b", "h", an, "a", tag="t0")
    b.tg(bn, "h", *((an, "a") if swapped else ("a", an)), tag="t1")
    b.inv("h", "y")
    return b.case("xor", "a b y", "").netlist


def test_a_net_and_its_inverse_let_in_at_once_are_told():
    assert told(adder(swapped=False)) == []
    assert "two ways at once" in told(adder(swapped=True))


def test_a_half_of_an_inverter_that_hangs_on_what_gates_it_is_told():
    """A switch by itself that lets its own gate through is pass logic."""
    b = Board("cmos")
    b.nand("a", "b", y="x")
    b.n("x", "y", "VSS", "low")
    b.p("x", "y", "z", "high")
    b.inv("c", "z")
    gated = b.case("half", "a b c y", "").netlist
    assert "own output" not in told(gated)
    assert "own output" in told(gated, ("end", "high", "z", "x"))


def test_the_one_open_drain_that_leads_to_the_other_rail_is_told():
    """Where the outputs are two and two, either may be meant."""
    b = Board("nmos")
    for k in range(4):
        b.inv(f"a{k}", f"g{k}")
        b.n(f"g{k}", f"y{k}", "VSS", f"out{k}", width=40)
    right = b.case("drains", [f"{s}{k}" for s in "ay" for k in range(4)], "").netlist
    assert told(right) == []
    assert told(right, ("end", "out2", "VSS", "VDD")) == ["wrong rail"]
    assert "wrong rail" not in told(right, ("end", "out2", "VSS", "VDD"), ("end", "out1", "VSS", "VDD"))
