"""
Standard parts, built from transistors, against their published function tables.

3-to-8 decoder: M74HC138 data sheet; D latch: LS75 data sheet; dual pair plus inverter (4007 type): its function table;
FIFO flags: the article on circular buffers with wrap bits in an encyclopedia; the tables are from memory of these.
"""

import sys
from itertools import product
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent))

from circuits import circuit, gate, inverter

from layoutdrill.simulate.sequence import sequence
from layoutdrill.simulate.states import Memory, behaviour, edge_test
from layoutdrill.simulate.table import table


def nand(inputs, y, tag):
    """Return the lines of a NAND of any width."""
    lines = [f"p {i} VDD {y}" for i in inputs]
    nets = [y, *(f"{tag}{k}" for k in range(len(inputs) - 1)), "VSS"]
    return [*lines, *(f"n {i} {nets[k]} {nets[k + 1]}" for k, i in enumerate(inputs))]


def decoder():
    lines = []
    for a in ("a", "b", "c", "ga", "gb"):
        lines += inverter(a, f"{a}n")
    for a in ("a", "b", "c"):
        lines += inverter(f"{a}n", f"{a}t")
    lines += [*nand(["g", "gan", "gbn"], "en", "e"), *inverter("en", "e")]
    for k in range(8):
        address = [f"{a}t" if k >> i & 1 else f"{a}n" for i, a in enumerate(("a", "b", "c"))]
        lines += nand([*address, "e"], f"y{k}", f"k{k}_")
    return circuit("c b a g ga gb " + " ".join(f"y{k}" for k in range(8)) + " VDD VSS", *lines)


def test_decoder_of_three_address_lines():
    """Of 64 input codes 8 give one low output each, at the address, and 56 none (M74HC138; the counts computed)."""
    seen = table(decoder(), ["g", "ga", "gb", "c", "b", "a"], [f"y{k}" for k in range(8)])
    assert len(seen.rows) == 64
    low = 0
    for row in seen.rows:
        g, ga, gb, c, b, a = row.inputs
        wanted = ["1"] * 8
        if g and not ga and not gb:
            wanted[4 * c + 2 * b + a] = "0"
            low += 1
        assert list(row.outputs) == wanted
    assert low == 8


LATCH = circuit(
    "d e q VDD VSS", *inverter("e", "en"), *gate("d", "m", "e", "en"), *inverter("m", "k"), *inverter("k", "q"),
    *gate("q", "m", "en", "e"),
)  # fmt: skip


def test_d_latch():
    """Enable high: q = d; low: q holds (LS75)."""
    states = sequence(LATCH, [{"d": 1, "e": 1}, {"d": 0}, {"d": 1}, {"e": 0}, {"d": 0}, {"e": 1}, {"e": 0}, {"d": 1}])
    assert "".join(s.level("q") for s in states) == "10111000"
    assert behaviour(LATCH, ["d", "e"], ["q"]).memory is Memory.STATEFUL
    assert [(s.kind, s.control, s.when) for s in edge_test(LATCH, ["d", "e"], ["q"])] == [("latch", "e", "1")]


def test_two_latches_make_a_flip_flop():
    """Master and slave on opposite levels take the input at the rise (common practice)."""
    half = [("d", "m", "c", "cn", "u"), ("mo", "s", "cn", "c", "q")]
    lines = [*inverter("c", "cn")]
    for d, m, off, on, _ in half:
        out = "mo" if m == "m" else "q"
        lines += [*gate(d, m, on, off), *inverter(m, f"{m}k"), *inverter(f"{m}k", out), *gate(out, m, off, on)]
    flop = circuit("d c q VDD VSS", *lines)
    assert [(s.kind, s.control, s.when) for s in edge_test(flop, ["d", "c"], ["q"])] == [("flip-flop", "c", "rise")]
    states = sequence(flop, [{"d": 0, "c": 0}, {"c": 1}, {"d": 1}, {"c": 0}, {"c": 1}, {"d": 0}, {"c": 0}])
    assert "".join(s.level("q") for s in states[1:]) == "000111"


def test_six_transistor_dual_pair():
    """The pairs wired as three inverters, a NOR3, a NAND3, a switch (application notes of the 4007 type, M)."""
    three = circuit("a b c x y z VDD VSS", *inverter("a", "x"), *inverter("b", "y"), *inverter("c", "z"))
    nor = circuit("a b c y VDD VSS", "n a y VSS", "n b y VSS", "n c y VSS", "p a VDD k", "p b k l", "p c l y")
    nand3 = circuit("a b c y VDD VSS", "p a VDD y", "p b VDD y", "p c VDD y", "n a y k", "n b k l", "n c l VSS")
    switch = circuit(
        "a d1 d0 y VDD VSS", *inverter("a", "an"), *gate("d1", "y", "a", "an"), *gate("d0", "y", "an", "a")
    )
    for netlist in (three, nor, nand3, switch):
        assert len(netlist.transistors) == 6
    assert [table(three, ["a", "b", "c"], ["x"]).rows[r].outputs[0] for r in (0, 4)] == ["1", "0"]
    assert "".join(table(nor, ["a", "b", "c"], ["y"]).column("y")) == "10000000"
    assert "".join(table(nand3, ["a", "b", "c"], ["y"]).column("y")) == "11111110"
    assert "".join(table(switch, ["a", "d1", "d0"], ["y"]).column("y")) == "01010011"


def test_fifo_flags():
    """Pointers equal: empty; equal but for the wrap bit: full (circular buffer with wrap bits, an encyclopedia)."""
    names = [("w0", "r0"), ("w1", "r1"), ("ww", "rw")]
    lines = []
    for a, b in names:
        lines += [*inverter(a, f"{a}n"), *inverter(b, f"{b}n")]
        lines += [f"n {a} d{a} k{a}", f"n {b}n k{a} VSS", f"n {a}n d{a} l{a}", f"n {b} l{a} VSS"]
        lines += [f"p {a} VDD m{a}", f"p {b}n VDD m{a}", f"p {a}n m{a} d{a}", f"p {b} m{a} d{a}"]  # d: 1 where equal
    lines += [*nand(["dw0", "dw1", "dww"], "en", "e"), *inverter("en", "empty"), *inverter("dww", "dwwn")]
    lines += [*nand(["dw0", "dw1", "dwwn"], "fn", "f"), *inverter("fn", "full")]
    flags = circuit("ww w1 w0 rw r1 r0 empty full VDD VSS", *lines)
    seen = table(flags, ["ww", "w1", "w0", "rw", "r1", "r0"], ["empty", "full"])
    for row in seen.rows:
        write, read = row.inputs[:3], row.inputs[3:]
        assert row.outputs[0] == str(int(write == read))
        assert row.outputs[1] == str(int(write[1:] == read[1:] and write[0] != read[0]))


def test_marker_of_a_ripple_fifo():
    """A stage loads when its marker is 0 and the previous one's is 1, and sets its own (40105 type data sheet)."""
    stage = circuit(
        "p r m VDD VSS",
        *nand(["p", "mn"], "load_n", "l"),
        *nand(["load_n", "mn"], "m", "a"),
        *nand(["m", "r"], "mn", "b"),
    )
    steps = [{"p": 0, "r": 0}, {"r": 1}, {"p": 1}, {"p": 0}, {"r": 0}, {"r": 1}]
    states = sequence(stage, steps)
    assert "".join(s.level("m") for s in states) == "001100"


def test_sequence_agrees_with_table_for_logic():
    """For a netlist without memory a sequence visits the rows of the table (definition)."""
    netlist = decoder()
    rows = {row.inputs: row.outputs for row in table(netlist, ["g", "ga", "gb", "c", "b", "a"], ["y0", "y5"]).rows}
    names = ["g", "ga", "gb", "c", "b", "a"]
    order = list(product((0, 1), repeat=6))[::5]
    states = sequence(netlist, [dict(zip(names, row, strict=True)) for row in order])
    for row, state in zip(order, states, strict=True):
        assert (state.level("y0"), state.level("y5")) == rows[row]
