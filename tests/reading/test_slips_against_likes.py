"""
Slips that show against likes: sizes, ends, halves and kinds where many alike are whole. And right circuits close by.

The circuits are the own netlists with an edit planted; the plant itself is the reference.
"""

from dataclasses import replace

import pytest

from layoutdrill.reading.explain import explain_netlist
from layoutdrill.reading.slips import find_slips
from layoutdrill.recognise.whole import recognise
from layoutdrill.simulate.supplies import find_supplies
from tests.each import each
from tests.reading.netlists import all_cases, planted
from tests.reading.netlists.board import Board

CASES = {case.name: case for case in all_cases()}


def slips(netlist):
    return find_slips(netlist, find_supplies(netlist))


def resized(netlist, name, *, width=1, length=1):
    """Return a netlist in which one transistor is so many times as wide or as long."""
    ts = [
        replace(t, width=int(t.width * width), length=int(t.length * length)) if t.name == name else t
        for t in netlist.transistors
    ]
    return replace(netlist, transistors=tuple(ts))


@each(
    ("name", "device", "size"),
    [
        ("complex_nmos", "w_15.load", {"length": 1 / 4}),
        ("two_phase_nmos", "x2f1.n0", {"width": 1 / 4}),
        ("complex_pmos", "c2_n.p2", {"width": 4}),
        ("gates", "w_3.p0", {"width": 4}),
        ("ripple", "w_25.p0", {"width": 1 / 4}),
        ("switches", "w_2-w_3.tg.n", {"length": 4}),
        ("ram_8x8_cmos", "q_71.access", {"width": 4}),
        ("ram_8x8_cmos", "q_71.p", {"width": 4}),
    ],
)
def test_a_size_far_from_those_of_its_likes_is_told_and_placed(name, device, size):
    """A load, a driver, one of two in parallel, an inverter, half of a switch, an access transistor, part of a cell."""
    (slip,) = slips(resized(CASES[name].netlist, device, **size))
    assert slip.kind == "odd proportion"
    assert device in slip.transistors[:1]


def test_what_is_larger_as_a_whole_is_in_proportion():
    """An output stage eight times as large, and a load twice as long behind a pass transistor (Mead & Conway 1980)."""
    right = CASES["gates"].netlist
    last = [t.name for t in right.transistors if t.name.startswith("s0.")]
    larger = right
    for name in last:
        larger = resized(larger, name, width=8)
    assert last
    assert slips(larger) == ()
    behind = resized(CASES["two_phase_nmos"].netlist, "x2f1.load", length=2)
    assert slips(behind) == ()


@each(
    ("name", "edit", "kind"),
    [
        ("two_phase", ("end", "w_2.load", "VDD", "x2"), "loose end"),
        ("priority", ("end", "w_6.p1", "VDD", "w_1"), "networks do not match"),
        ("pad_input", ("gate", "w_1.n0", "w_1"), "networks do not match"),
        ("mux_tree", ("drop", "t20"), "missing device"),
        ("mux_tree", ("gate", "t21", "s2n"), "two ways at once"),
        ("crossbar", ("drop", "y1.1"), "missing device"),
        ("ram_8x8_cmos", ("flip", "q_132.access"), "other kind"),
        ("ram_1t", ("drop", "sa1.n1"), "missing device"),
        ("charge_pump", ("drop", "fp.n0"), "missing device"),
        ("file_two_read", ("gate", "r10a", "rb2"), "wrong side"),
    ],
)
def test_the_odd_one_is_told_first(name, edit, kind):
    """With its kind, and with what was changed, or where it was taken from, named."""
    wrong, devices, nets = planted(CASES[name].netlist, edit)
    first = slips(wrong)[0]
    assert first.kind == kind
    assert set(devices) & set(first.transistors) or (set(nets) - {"VDD", "VSS"}) & set(first.nets)


def adder(style):
    b = Board(style)
    for i in range(2):
        half = b.xor_nand(f"a{i}", f"b{i}")
        b.xor_nand(half, f"c{i}", y=f"s{i}")
        b.nand(b.nand(f"a{i}", f"b{i}"), b.nand(half, f"c{i}"), y=f"c{i + 1}")
    return b.case("adder", "a0 b0 a1 b1 c0 s0 s1 c2", "").netlist


@pytest.mark.parametrize("style", ["nmos", "enmos", "pmos"])
def test_an_output_without_its_load_is_no_line_of_a_memory(style):
    """The two inputs of its stack are logic, and hold no bit."""
    (slip,) = slips(planted(adder(style), ("drop", "s0.load"))[0])
    assert (slip.kind, slip.nets) == ("missing load", ("s0",))


@pytest.mark.parametrize("place", ["n0", "n1"])
def test_an_n_written_as_p_in_a_stack_is_the_first_repair(place):
    """At the output or at the rail; nothing else is told of it."""
    b = Board()
    b.nand("a", "b", y="x")
    b.nand("x", "c", y="y")
    b.nand("c", "d", y="z")
    (slip,) = slips(planted(b.case("three", "a b c d y z", "").netlist, ("flip", f"x.{place}"))[0])
    assert slip.repair.startswith(f"x.{place} as an n transistor")


def test_a_gate_of_two_inputs_pulled_up_by_one_alone():
    """A NAND2 without one p transistor, by itself: no clock of one stage, unless the reader says so."""
    b = Board()
    b.nand("a", "b", y="y")
    (slip,) = slips(planted(b.case("alone", "a b y", "").netlist, ("drop", "y.p1"))[0])
    assert (slip.kind, slip.nets) == ("missing device", ("y",))
    assert "p transistor gated by b" in slip.repair
    assert slip.repair.endswith("or note a as a clock")


def test_driven_lines_of_a_decoder_are_no_words_of_a_rom():
    """Six lines of three address bits, each with an inverter, one with another's address."""
    b = Board()
    for i in range(3):
        b.inv(f"a{i}", f"n{i}")
    for k in (0, 1, 2, 3, 4, 4):
        lines = [f"a{i}" if k >> i & 1 else f"n{i}" for i in range(3)]
        b.inv(b.nand(*lines), f"y{b.count}")
    netlist = b.case("lines", ["a0", "a1", "a2", *sorted({n for n in b_nets(b) if n.startswith("y")})], "").netlist
    assert recognise(netlist).heading == "3-to-5 decoder"
    (slip,) = slips(netlist)
    assert slip.kind == "same address"


def b_nets(b):
    return {e for t in b.devices.values() for e in t.ends}


def test_a_tree_of_switches_without_buffers_is_a_parity_tree():
    """Three XORs of two transmission gates and two inverters each."""
    b = Board()
    for x, c, y in (("a", "b", "p"), ("c", "d", "q"), ("p", "q", "y")):
        b.xor_tg(x, b.inv(x), c, b.inv(c), y)
    assert recognise(b.case("tree", "a b c d y", "").netlist).heading == "4-bit parity tree"


def test_a_carry_by_transmission_gates_alone():
    """No buffer along the carry: each net of it is led to by two gates and leads on by one."""
    b = Board()
    for i in range(4):
        p = b.xor(f"a{i}", f"b{i}")
        pn = b.inv(p)
        b.mux_tg(p, pn, f"a{i}", f"c{i}", f"c{i + 1}")
        b.xor(p, f"c{i}", y=f"s{i}")
    netlist = b.case("carry", [*(f"{x}{i}" for i in range(4) for x in "abs"), "c0", "c4"], "").netlist
    assert recognise(netlist).heading == "4-bit ripple adder"
    assert slips(netlist) == ()


def test_an_input_behind_a_transmission_gate_needs_no_name():
    """In a list of transistors without ports it is taken for one."""
    b = Board()
    en = b.inv("e")
    b.latch("d", "e", en, "q")
    b.inv("q", "y")
    bare = replace(b.case("bare", "", "").netlist, ports=())
    read = explain_netlist(bare)
    assert not read.slips
    assert "d" in read.netlist.ports


def test_a_load_that_its_drivers_cannot_pull_against():
    """Of two stages one load is eight times as wide; twice as wide it is in order (Mead & Conway 1980)."""
    b = Board("nmos")
    b.nor("a", "b", "c", y="x")
    b.inv("x", "y")
    right = b.case("two", "a b c y", "").netlist
    assert slips(right) == ()
    assert slips(resized(right, "x.load", width=2)) == ()
    (slip,) = slips(resized(right, "x.load", width=8 * 2))
    assert slip.kind == "odd proportion"
    assert slip.transistors[0] == "x.load"
