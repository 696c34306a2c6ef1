"""Blocks that are named by what they compute or how they hang together, and circuits close to them that are not."""

from dataclasses import replace

import pytest

from layoutdrill.netlist.model import Kind
from layoutdrill.netlist.roles import Role
from layoutdrill.reading.slips import find_slips
from layoutdrill.recognise.whole import recognise
from layoutdrill.simulate.supplies import find_supplies
from tests.reading.netlists import all_cases, planted
from tests.reading.netlists.board import Board

CASES = {case.name: case for case in all_cases()}


def heading(netlist):
    return recognise(netlist).heading


def edited(name, *edits):
    """Return a case's netlist with several edits made."""
    netlist = CASES[name].netlist
    for edit in edits:
        netlist, _, _ = planted(netlist, edit)
    return netlist


def board(ports, style="cmos"):
    """Return a board, and what makes its netlist."""
    b = Board(style)
    return b, lambda: b.case("near", ports, "").netlist


def digits(shapes):
    """A decoder of ten addresses and a NOR a segment (data sheets of such decoders)."""
    b, made = board(["a", "b", "c", "d", *(f"s{s}" for s in "abcdefg")])
    for k in "abcd":
        b.inv(k, f"{k}n")
    for digit in range(10):
        b.nor(*(f"{k}n" if digit >> i & 1 else k for i, k in enumerate("abcd")), y=f"m{digit}")
    for s in "abcdefg":
        dark = [f"m{n}" for n, shape in enumerate(shapes) if s not in shape]
        b.nor(*dark, y=f"s{s}") if len(dark) > 1 else b.inv(dark[0], f"s{s}")
    return made()


DIGITS = ["abcdef", "bc", "abdeg", "abcdg", "bcfg", "acdfg", "acdefg", "abc", "abcdefg", "abcdfg"]


def test_segments_are_those_of_digits():
    """With tails on 6 and 9 too; not where a 2 lacks a stroke."""
    assert heading(digits(DIGITS)) == "seven-segment decoder"
    assert heading(digits(["abde" if d == "abdeg" else d for d in DIGITS])) == "10 × 7 ROM"


def sums(pairs, count):
    b, made = board([*(f"b{i}" for i in range(count)), *(f"g{k}" for k in range(len(pairs)))])
    for k, (i, j) in enumerate(pairs):
        b.xor(f"b{i}", f"b{j}", y=f"g{k}")
    return made()


def test_neighbours_in_a_row_are_gray_code():
    """Not neighbours in a ring, nor pairs apart (Gray 1953)."""
    assert heading(sums([(0, 1), (1, 2), (2, 3), (3, 4)], 5)) == "5-bit binary-to-Gray converter"
    assert heading(sums([(0, 1), (1, 2), (2, 3), (3, 0)], 4)) == "4 × XOR2"
    assert heading(sums([(0, 1), (2, 3), (4, 5)], 6)) == "3 × XOR2"


def undone(outside):
    b, made = board(["g0", "g1", "g2", "g3", *outside])
    b.xor("g3", "g2", y="b2")
    b.xor("b2", "g1", y="b1")
    b.xor("b1", "g0", y="b0")
    return made()


def test_sums_of_all_above_undo_gray_code():
    """Where only the last leads out it is a parity tree."""
    assert heading(undone(["b2", "b1", "b0"])) == "4-bit Gray-to-binary converter"
    assert heading(undone(["b0"])) == "4-bit parity tree"


def counter(next_of):
    """Four bits on one clock; `next_of` makes what each takes."""
    b, made = board("c rn u q0 q1 q2 q3")
    cn = b.inv("c", "cn")
    for i in range(4):
        b.inv(f"q{i}", f"n{i}")
    next_of(b)
    for i in range(4):
        b.dff_reset(f"d{i}", "c", cn, "rn", f"q{i}")
    return made()


def up_only(b):
    """Counts up while u is 1, else stands."""
    carry = "u"
    for i in range(4):
        b.xor(f"q{i}", carry, y=f"d{i}")
        carry = b.and_(carry, f"q{i}")


def twelve(b):
    """Counts to twelve: both upper bits go back after 1011."""
    b.inv("q0", "d0")
    b.xor("q1", "q0", y="d1")
    last = b.nand("q0", "q1", "q3")
    low = b.and_("q0", "q1")
    b.and_(b.xor("q2", low), last, y="d2")
    b.and_(b.xor("q3", b.and_(low, "q2")), last, y="d3")


def test_counters_by_their_states():
    """One that a line only stops counts one way, and one of twelve states is no decade."""
    assert heading(CASES["up_down"].netlist) == "4-bit up/down counter"
    assert heading(counter(up_only)) == "4-bit synchronous counter"
    assert heading(CASES["decade_paper"].netlist) == "decade counter"
    assert heading(counter(twelve)) == "4-bit synchronous counter"
    whole = next(s for s in recognise(counter(twelve)).structures if "counter" in s.term)
    assert "through 12 states" in whole.function


MOVED = {
    "set_reset_bit": [("drop", "mn.n1"), ("drop", "mn.p1"), ("drop", "q0.n1"), ("drop", "q0.p1")],
    "phase_detector": [("gate", "b3.n1", "up"), ("gate", "b3.p1", "up")],
    "match_word": [("gate", f"m{i}.b", f"q_{2 * i + 1}") for i in range(4)],
    "file_two_read": [("gate", "r20a", "ra1")],
    "analog_8": [("end", "z.3.n", "z", "x4"), ("end", "z.3.p", "z", "x4")],
    "hamming_corrector": [("gate", "h6.n0", "sn0"), ("gate", "h6.p0", "sn0")],
    "dynamic_pla": [("gate", "p2.pre", "f2"), ("gate", "p2.foot", "f2")],
}
NAMES = {
    "set_reset_bit": "register bit with set and reset",
    "phase_detector": "phase detector",
    "match_word": "content-addressable word",
    "file_two_read": "4 × 2 register file",
    "analog_8": "8:1 multiplexer",
    "hamming_corrector": "single-error corrector",
    "dynamic_pla": "PLA",
}


@pytest.mark.parametrize("name", MOVED)
def test_a_wire_elsewhere_is_another_circuit(name):
    """
    The name goes where what it rests on goes.

    Set without its gates; a loop let go by the wrong output; one side of a cell compared twice; a port that reads a
    word twice; a line that joins two inputs; a line that answers another bit's code; a column charged by another phase.
    """
    netlist = CASES[name].netlist
    assert heading(netlist) == NAMES[name]
    assert heading(edited(name, *MOVED[name])) != NAMES[name]


def test_diodes_are_lifted_in_turn():
    """All on one phase they pump nothing on (Dickson 1976)."""
    netlist = CASES["charge_pump"].netlist
    assert heading(netlist) == "voltage multiplier"
    same = tuple(
        replace(e, nodes=tuple("fp" if n == "fq" else n for n in e.nodes)) for e in netlist.elements
    )  # fmt: skip
    assert "multiplier" not in heading(replace(netlist, elements=same))


def test_a_shift_register_whose_bits_are_all_kept():
    """Not where a latch takes an input instead of a bit."""
    netlist = CASES["shift_and_store"].netlist
    assert heading(netlist) == "4-bit shift-and-store register"
    first = next(t for t in netlist.transistors if t.kind is Kind.N and t.gate == "st" and "q2" in t.ends)
    mate = next(t for t in netlist.transistors if set(t.ends) == set(first.ends) and t is not first)
    other = [
        replace(t, source="d", drain=(set(t.ends) - {"q2"}).pop()) if t in (first, mate) else t
        for t in netlist.transistors
    ]
    assert "store" not in heading(replace(netlist, transistors=tuple(other)))


def test_complements_by_networks_of_their_own():
    """An OR beside the AND is no complement of it."""
    assert heading(CASES["pass_and"].netlist) == "AND2 and NAND2"
    assert " and NAND2" not in heading(edited("pass_and", ("gate", "u.1", "bn"), ("gate", "u.2", "b")))


def crossed_bit(b, d, c, q, qn):
    """Put a register bit of three crossed pairs of NAND3 with set and reset ('74 type, data sheet)."""
    w, x, y, z = (f"{q}{k}" for k in "wxyz")
    b.nand("s", z, x, y=w)
    b.nand(w, "r", c, y=x)
    b.nand(x, c, z, y=y)
    b.nand(y, "r", d, y=z)
    b.nand("s", x, qn, y=q)
    b.nand(q, y, "r", y=qn)


def test_bits_of_crossed_gates_count():
    """Each takes its own opposite and clocks the next; where each takes an input they are bits alone."""
    b, made = board("c s r q0 q1 q2")
    for i in range(3):
        crossed_bit(b, f"n{i}", f"n{i - 1}" if i else "c", f"q{i}", f"n{i}")
    assert heading(made()) == "3-bit ripple counter"
    b, made = board("c s r d0 d1 q0 q1 n0 n1")
    for i in range(2):
        crossed_bit(b, f"d{i}", "c", f"q{i}", f"n{i}")
    assert heading(made()) == "2-bit register"


def summing(b):
    """Takes its own number and the inputs' sum."""
    carry = ""
    for i in range(4):
        half = b.xor(f"a{i}", f"q{i}", y=None if carry else "d0")
        if carry:
            b.xor(half, carry, y=f"d{i}")
        if i < 3:
            both = b.nand(f"a{i}", f"q{i}")
            carry = b.nand(both, b.nand(half, carry)) if carry else b.inv(both)


def test_what_adds_a_number_is_no_counter():
    """For two of its inputs' numbers it counts up or down, for the others by more."""
    b, made = board("c rn a0 a1 a2 a3 q0 q1 q2 q3")
    cn = b.inv("c", "cn")
    summing(b)
    for i in range(4):
        b.dff_reset(f"d{i}", "c", cn, "rn", f"q{i}")
    assert "4-bit accumulator" in heading(made())


def test_cells_with_two_word_lines_are_words_once():
    """Four words of two bits, each opened by either of two lines."""
    lines = [f"{x}{i}" for i in range(4) for x in "wx"]
    b, made = board([*lines, *(f"{x}{j}" for j in "01" for x in ("b", "bn", "d", "dn"))])
    for i in range(4):
        for j in range(2):
            q, qn = b.ram6(f"w{i}", f"b{j}", f"bn{j}")
            b.n(f"x{i}", f"d{j}", q)
            b.n(f"x{i}", f"dn{j}", qn)
    assert heading(made()) == "4 × 2 RAM array"


def test_a_register_that_can_be_read_out_in_a_row():
    """A switch before each bit takes its input or the bit before, and no bit of it is odd."""
    b, made = board("c e i d0 d1 d2 d3 q0 q1 q2 q3")
    cn, en, q = b.inv("c"), b.inv("e"), "i"
    for i in range(4):
        q, _ = b.dff(b.mux_tg("e", en, f"d{i}", q), "c", cn, f"q{i}")
    netlist = made()
    assert heading(netlist) == "4-bit loadable shift register"
    assert find_slips(netlist, find_supplies(netlist)) == ()


def test_one_output_can_compare():
    """Greater of two numbers of four bits, from the lowest up; with an OR for an AND it is no comparison."""
    for last, wanted in (("and_", True), ("or_", False)):
        b, made = board([*(f"{x}{i}" for i in range(4) for x in "ab"), "gt"])
        greater = b.and_("a0", b.inv("b0"))
        for i in range(1, 4):
            inverse = b.inv(f"b{i}")
            here = getattr(b, last if i == 3 else "and_")(b.or_(f"a{i}", inverse), greater)
            greater = b.or_(b.and_(f"a{i}", inverse), here, y="gt" if i == 3 else None)
        assert (heading(made()) == "4-bit magnitude comparator") is wanted


def test_a_gate_of_gates_that_holds_is_a_c_element():
    """Two of three agree, one of which is its own output (Muller 1959); with a third input it is no C-element."""
    for third, wanted in (("q", True), ("c", False)):
        b, made = board("a b c q")
        b.nand(b.nand("a", "b"), b.nand("a", "q"), b.nand("b", third), y="q")
        assert (heading(made()) == "C-element") is wanted


def test_lines_that_are_ored_by_their_numbers_are_encoded():
    """Seven lines, each in the ORs of its number's bits; where two lines are in the same it is no encoder."""
    sums = [["d1", "d3", "d5", "d7"], ["d2", "d3", "d6", "d7"], ["d4", "d5", "d6", "d7"]]
    for line, wanted in (("d1", True), ("d2", False)):
        b, made = board([*(f"d{i}" for i in range(1, 8)), "y0", "y1", "y2"])
        for k, lines in enumerate([[line, *sums[0][1:]], *sums[1:]]):
            b.or_(*lines, y=f"y{k}")
        assert (heading(made()) == "8-to-3 encoder") is wanted


def test_carries_alone_are_a_carry_chain():
    """Each of what its bit makes, or lets through of the one before, in two NANDs."""
    b, made = board([*(f"{x}{i}" for x in "gp" for i in range(4)), "c0", "c1", "c2", "c3", "c4"])
    for i in range(4):
        b.nand(b.inv(f"g{i}"), b.nand(f"p{i}", f"c{i}"), y=f"c{i + 1}")
    assert heading(made()) == "4-bit carry chain"


def pushed(style, *, let_go=True):
    """Two wide transistors of one kind to the rails, each gated by a NOR of data and enable (Mead & Conway 1980)."""
    b, made = board("d en pad", style)
    off = b.inv("en") if let_go else "en"
    b.nor(b.inv("d"), off, y="up")
    b.nor("d", off, y="down") if let_go else b.inv("up", "down")
    b.n("up", "VDD", "pad", width=200)
    b.n("down", "pad", "VSS", width=200)
    return made()


def test_a_pair_that_both_gates_close_is_let_go():
    """Of two NORs on one enable; where the one gate is the other's inverse, one of the two always conducts."""
    assert heading(pushed("nmos")) == heading(pushed("enmos")) == "tri-state pad"
    assert "tri-state" not in heading(pushed("nmos", let_go=False))


def test_other_names_are_of_the_whole():
    """An AND with an inverter behind it is a NAND; what it is made of goes for no other name of it."""
    b, made = board("a b r")
    b.inv(b.inv(b.nand("a", "b")), "r")
    assert recognise(made()).names == ("NAND2",)


@pytest.mark.parametrize("codes", [range(4), range(8), [0, 1, 1, 3], [0, 1, 2, 3, 4, 5, 7, 7]])
def test_a_column_without_complements_is_of_the_decoder_too(codes):
    """A NAND and an inverter for each address (common practice); one address twice leaves a decoder of the others."""
    bits = max(codes).bit_length()
    b, made = board([*(f"a{i}" for i in range(bits)), *(f"y{k}" for k in range(len(codes)))])
    lines = [(b.inv(f"a{i}"), f"a{i}") for i in range(bits)]
    for k, code in enumerate(codes):
        b.inv(b.nand(*(lines[i][code >> i & 1] for i in range(bits))), f"y{k}")
    assert heading(made()) == f"{bits}-to-{len(set(codes))} decoder"


@pytest.mark.parametrize("style", ["nmos", "enmos"])
def test_a_pair_on_a_net_and_its_complement_has_no_clock(style):
    """The wide pair of an output driver: its input gates the pull-up and an inverter, and is no phase for it."""
    b, made = board("a y", style)
    b.n("a", "VDD", "y", width=96)
    b.n(b.inv("a"), "y", "VSS", width=96)
    seen = recognise(made())
    assert "output driver" in seen.names
    assert {port.net: port.role for port in seen.ports}["a"] is Role.INPUT


def pairs_compared(pair, gates, last=""):
    """Pairs of bits, a gate for each half of them, and a last gate over both; or one gate over all."""
    b, made = board([*(f"{x}{i}" for x in "ab" for i in range(4)), "y"])
    nets = [getattr(b, pair)(f"a{i}", f"b{i}") for i in range(4)]
    if not last:
        getattr(b, gates)(*nets, y="y")
        return made()
    getattr(b, last)(getattr(b, gates)(*nets[:2]), getattr(b, gates)(*nets[2:]), y="y")
    return made()


def test_numbers_are_equal_where_all_pairs_are():
    """An AND of equal pairs, an OR of different ones, in one step or two; not an OR of equal ones (by definition)."""
    equal, halves = "4-bit equality comparator", "2 × 2-bit equality comparator"
    ways = [(pair, gate) for pair in ("xor", "xnor") for gate in ("and_", "nand", "nor")]
    fitting = [("xor", "nor"), ("xnor", "and_"), ("xnor", "nand")]
    assert [way for way in ways if heading(pairs_compared(*way)) == equal] == fitting
    assert heading(pairs_compared("xnor", "nand", "nor")) == equal == heading(pairs_compared("xor", "nor", "nand"))
    assert heading(pairs_compared("xnor", "nand", "nand")) == halves == heading(pairs_compared("xor", "nor", "nor"))
