"""
Structures by their names, and ports by role.

Circuits are the textbook ones (Weste & Harris; Rabaey; Mead & Conway for NMOS), drawn up here from memory; names are
common practice.
"""

import sys
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parents[1] / "simulate"))

from circuits import circuit, gate, inverter

from layoutdrill.netlist.roles import Role
from layoutdrill.recognise.terms import UNKNOWN, canonical, term
from layoutdrill.recognise.whole import recognise
from tests.each import each


def nmos(y, *rows):
    """Return an NMOS gate: a depletion load, and rows of series drivers."""
    lines = [f"d {y} {y} VDD 8/2"]
    for r, row in enumerate(rows):
        nets = [y, *(f"{y}{r}{k}" for k in range(len(row.split()) - 1)), "VSS"]
        lines += [f"n {g} {nets[k]} {nets[k + 1]} 2/4" for k, g in enumerate(row.split())]
    return lines


def pmos(y, *rows):
    """Return a PMOS gate: a saturated load on the negative rail VDD, and rows of series drivers from VSS."""
    lines = [f"p VDD VDD {y} 16/2"]
    for r, row in enumerate(rows):
        nets = [y, *(f"{y}{r}{k}" for k in range(len(row.split()) - 1)), "VSS"]
        lines += [f"p {g} {nets[k]} {nets[k + 1]} 2/8" for k, g in enumerate(row.split())]
    return lines


def nand2(a, b, y, k):
    return (f"p {a} VDD {y}", f"p {b} VDD {y}", f"n {a} {y} {k}", f"n {b} {k} VSS")


def nor2(a, b, y, k):
    return (f"n {a} VSS {y}", f"n {b} VSS {y}", f"p {a} VDD {k}", f"p {b} {k} {y}")


WHOLE = {
    "inverter": ("a y", inverter("a", "y")),
    "buffer": ("a y", (*inverter("a", "m"), *inverter("m", "y"))),
    "NAND2": ("a b y", nand2("a", "b", "y", "k")),
    "NOR2": ("a b y", nor2("a", "b", "y", "k")),
    "AND2": ("a b y", (*nand2("a", "b", "m", "k"), *inverter("m", "y"))),
    "OAI21": ("a b c y", ("n a y k", "n b y k", "n c k VSS", "p a VDD m", "p b m y", "p c VDD y")),
    "AOI22": ("a b c d y", ("n a y k", "n b k VSS", "n c y l", "n d l VSS",
                            "p a VDD m", "p b VDD m", "p c m y", "p d m y")),
    "complex gate": ("a b c d y", ("n a y k", "n b k VSS", "n c k l", "n d l VSS",
                                   "p a VDD y", "p b VDD m", "p c m y", "p d m y")),
    "transmission gate": ("a b c cn", gate("a", "b", "c", "cn")),
    "pass transistor": ("a b c", ("n c a b",)),
    "tri-state inverter": ("a e en y", ("p a VDD m", "p en m y", "n e y k", "n a k VSS")),
    "tri-state buffer": ("a e y", (*inverter("a", "an"), *inverter("e", "en"), "p an VDD m", "p en m y", "n e y k",
                                   "n an k VSS")),
    "2:1 multiplexer": ("s d0 d1 y", (*inverter("s", "sn"), *gate("d0", "y", "sn", "s"), *gate("d1", "y", "s", "sn"))),
    "XOR2": ("a b y", (*nand2("a", "b", "m", "k1"), *nand2("a", "m", "u", "k2"), *nand2("m", "b", "v", "k3"),
                       *nand2("u", "v", "y", "k4"))),
    "XNOR2": ("a b y", (*nor2("a", "b", "m", "k1"), *nor2("a", "m", "u", "k2"), *nor2("m", "b", "v", "k3"),
                        *nor2("u", "v", "y", "k4"))),
    "Schmitt inverter": ("a y", ("n a y k", "n a k VSS", "n y k VDD", "p a y m", "p a m VDD", "p y m VSS")),
    "level restorer": ("a y", (*inverter("a", "y"), "p y VDD a")),
    "level shifter": ("a y", (*inverter("a", "an"), "p y VDD k", "p k VDD y", "n a k VSS", "n an y VSS")),
    "precharged gate": ("c a b y", ("p c VDD y", "n a y k", "n b k l", "n c l VSS")),
    "domino gate": ("c a b z", ("p c VDD y", "n a y k", "n b k VSS", *inverter("y", "z"))),
    "cross-coupled inverters": ("q qn", (*inverter("q", "qn"), *inverter("qn", "q"))),
    "SR latch": ("s r q qn", (*nor2("r", "qn", "q", "k1"), *nor2("s", "q", "qn", "k2"))),
    "dynamic latch": ("d c cn q", (*gate("d", "m", "c", "cn"), *inverter("m", "q"))),
    "latch": ("d e q", (*inverter("e", "en"), *gate("d", "m", "e", "en"), *inverter("m", "k"), *inverter("k", "q"),
                        *gate("q", "m", "en", "e"))),
    "static RAM cell": ("w b bn", (*inverter("q", "qn"), *inverter("qn", "q"), "n w b q", "n w bn qn")),
    "memory bit": ("w i r o", (*inverter("q", "qn"), *inverter("qn", "q"), "n w i q", "n r qn o")),
    "shift-register bit": ("d p pn r rn q", (*gate("d", "m", "p", "pn"), *inverter("m", "k"),
                                             *gate("k", "u", "r", "rn"), *inverter("u", "q"))),
    "half adder": ("a b s c", (*nand2("a", "b", "m", "k"), *inverter("m", "c"), "n a t u", "n b t u", "n m u VSS",
                               "p a VDD v", "p b v t", "p m VDD t", *inverter("t", "s"))),
    "full adder": ("a b i s o", (
        "n i x k1", "n a k1 VSS", "n b k1 VSS", "n a x k2", "n b k2 VSS", "p i x m1", "p a m1 VDD", "p b m1 VDD",
        "p a x m2", "p b m2 VDD", "n x y k3", "n a k3 VSS", "n b k3 VSS", "n i k3 VSS", "n a y k4", "n b k4 k5",
        "n i k5 VSS", "p x y m3", "p a m3 VDD", "p b m3 VDD", "p i m3 VDD", "p a y m4", "p b m4 m5", "p i m5 VDD",
        *inverter("x", "o"), *inverter("y", "s"))),
}  # fmt: skip


@each("name", WHOLE)
def test_called_by_its_name(name):
    """The textbook circuit of each structure is called by the structure's name, whole, with nothing left over."""
    ports, lines = WHOLE[name]
    netlist = circuit(f"{ports} VDD VSS", *lines)
    found = recognise(netlist)
    assert found.term == name
    assert found.leftover == ()
    assert term(found.term)
    assert sorted(t for s in found.structures for t in s.transistors) == sorted(t.name for t in netlist.transistors)


def other(net):
    """Return another name for a net, which sorts differently."""
    return net if net in ("VDD", "VSS") else f"net_{ord(net[0]) * 7 % 101}_{net}"


@each("name", WHOLE)
def test_names_and_order_do_not_matter(name):
    """Renamed nets, reversed devices and exchanged ends change nothing (an invariance, no outside source)."""
    ports, lines = WHOLE[name]
    swapped = []
    for line in reversed(lines):
        kind, g, a, b, *size = line.split()
        swapped.append(" ".join([kind, *(other(n) for n in (g, b, a)), *size]))
    renamed = " ".join(other(n) for n in reversed(ports.split()))
    found = recognise(circuit(f"VSS {renamed} VDD", *swapped))
    assert name in found.names


NMOS = {
    "inverter": ("a y", nmos("y", "a")),
    "NAND2": ("a b y", nmos("y", "a b")),
    "NOR3": ("a b c y", nmos("y", "a", "b", "c")),
    "AOI21": ("a b c y", nmos("y", "a b", "c")),
    "super buffer": ("a y", (*nmos("m", "a"), "d a y VDD 4/2", "n m y VSS 2/4")),
    "SR latch": ("s r q qn", (*nmos("q", "r", "qn"), *nmos("qn", "s", "q"))),
    "shift-register bit": ("d p r q", ("n p d m", *nmos("k", "m"), "n r k u", *nmos("q", "u"))),
    "latch": ("d e en q", ("n e d m", *nmos("k", "m"), *nmos("q", "k"), "n en q m")),
    "static RAM cell": ("w b bn", (*nmos("q", "qn"), *nmos("qn", "q"), "n w b q", "n w bn qn")),
}


RATIOED = {
    "precharged gate": ("a b pc ev y", ("n pc VDD y", "n a y k", "n b y k", "n ev k VSS")),
    "Schmitt inverter": ("a y", ("n a y k", "n a k VSS", "d y VDD y", "n y VDD k")),
    "Schmitt inverter, PMOS": ("a y", ("p a y k", "p a k VDD", "p VSS VSS y", "p y VSS k")),
    "inverter, PMOS": ("a y", ("p a y VDD", "p VSS VSS y")),
}


@pytest.mark.parametrize("name", RATIOED)
def test_one_kind_circuits(name):
    """Two-phase precharge and the Schmitt inverter with a load, in NMOS and PMOS; a load tells the low rail."""
    ports, lines = RATIOED[name]
    found = recognise(circuit(f"{ports} VDD VSS", *lines))
    assert found.term == name.removesuffix(", PMOS")
    assert found.supplies.low == {"VSS"}
    if name == "precharged gate":
        assert set(found.nets(Role.CLOCK)) == {"pc", "ev"}


@each("name", NMOS)
def test_nmos(name):
    """NMOS structures with depletion loads have the names of their function (Mead & Conway)."""
    ports, lines = NMOS[name]
    assert recognise(circuit(f"{ports} VDD VSS", *lines)).term == name


@pytest.mark.parametrize(("name", "lines"), [("inverter", pmos("y", "a")), ("NAND2", pmos("y", "a", "b")),
                                             ("NOR2", pmos("y", "a b"))])  # fmt: skip
def test_pmos(name, lines):
    """PMOS gates are named by electrical level (high is the positive rail VSS); negative logic swaps NAND and NOR."""
    found = recognise(circuit("a b y VDD VSS", *lines))
    assert found.term == name
    assert found.supplies.high == {"VSS"}
    assert any("negative" in note for note in found.notes)


def roles(found):
    return {p.net: str(p.role) for p in found.ports if p.role is not Role.SUPPLY}


def test_ports_by_role():
    """Ports have the roles that the structure gives them."""
    ram = recognise(circuit("w b bn VDD VSS", *WHOLE["static RAM cell"][1]))
    assert roles(ram) == {"w": "word line", "b": "bit line", "bn": "bit line"}
    mux = recognise(circuit("s d0 d1 y VDD VSS", *WHOLE["2:1 multiplexer"][1]))
    assert roles(mux) == {"s": "select", "d0": "input", "d1": "input", "y": "output"}
    latch = recognise(circuit("d e q VDD VSS", *WHOLE["latch"][1]))
    assert roles(latch) == {"d": "data", "e": "enable", "q": "output"}
    sr = recognise(circuit("s r q qn VDD VSS", *WHOLE["SR latch"][1]))
    assert roles(sr) == {"s": "set", "r": "reset", "q": "output", "qn": "output"}


def register(i, d, q):
    lines = []
    for half, on, off, a, out in (("m", "cn", "c", d, f"h{i}"), ("s", "c", "cn", f"h{i}", q)):
        lines += [
            *gate(a, f"{half}{i}", on, off),
            *inverter(f"{half}{i}", f"{half}k{i}"),
            *inverter(f"{half}k{i}", out),
        ]
        lines += gate(out, f"{half}{i}", off, on)
    return lines


def test_from_inverter_to_register_row():
    """Four bits on one clock: row, bits, latches, inverters, each level in the tree (common practice)."""
    lines = [line for i in range(4) for line in register(i, f"d{i}", f"q{i}")]
    ports = " ".join(f"d{i} q{i}" for i in range(4))
    found = recognise(circuit(f"{ports} c cn VDD VSS", *lines))
    assert found.term == "register row"
    (row,) = found.structures
    assert [p.term for p in row.parts] == ["register bit"] * 4
    assert [p.term for p in row.parts[0].parts] == ["latch", "latch"]
    assert {p.term for p in row.parts[0].parts[0].parts} == {"inverter", "transmission gate"}
    assert set(row.nets(Role.CLOCK)) == {"c", "cn"}


def test_chained_bits_are_a_shift_register():
    """Register bits that feed each other on one clock are a shift register (common practice)."""
    lines = [line for i in range(3) for line in register(i, f"q{i}", f"q{i + 1}")]
    found = recognise(circuit("q0 q3 c cn VDD VSS", *lines))
    assert found.term == "shift register"
    assert roles(found)["q0"] == "data"


def test_ram_array():
    """Cells on common word and bit lines are one array, counted in words and bits."""
    lines = []
    for w in range(3):
        for b in range(2):
            q, qn = f"q{w}{b}", f"n{w}{b}"
            lines += [*inverter(q, qn), *inverter(qn, q), f"n w{w} b{b} {q}", f"n w{w} bn{b} {qn}"]
    found = recognise(circuit("w0 w1 w2 b0 bn0 b1 bn1 VDD VSS", *lines))
    assert found.term == "RAM array"
    assert found.structures[0].function == "3 word lines, 2 bits to a word"
    assert len(found.structures[0].parts) == 6


@pytest.mark.parametrize("order", ["a1 a0", "a0 a1"])
@pytest.mark.parametrize("style", ["NMOS NOR", "CMOS NAND"])
def test_decoder_with_the_address_of_each_column(style, order):
    """
    A 2-to-4 decoder: one column for each address, its address told (standard part, 2-to-4 line decoder).

    Numbered lines count by their numbers, in whatever order the ports come (common practice).
    """
    lines = []
    for k in range(4):
        ins = [f"a{i}" if (k >> i & 1) == (style == "CMOS NAND") else f"a{i}n" for i in range(2)]
        lines += nmos(f"y{k}", *ins) if style == "NMOS NOR" else nand2(*ins, f"y{k}", f"k{k}")
    for i in range(2):
        lines += nmos(f"a{i}n", f"a{i}") if style == "NMOS NOR" else inverter(f"a{i}", f"a{i}n")
    found = recognise(circuit(f"{order} y0 y1 y2 y3 VDD VSS", *lines))
    assert found.term == "2-to-4 decoder"
    columns = [p for p in found.structures[0].parts if p.term == "decoder column"]
    for k in range(4):
        (column,) = [c for c in columns if c.nets(Role.OUTPUT) == (f"y{k}",)]
        assert f"address {k}: " in column.notes[0]
    assert roles(found)["a0"] == "address"


def test_planes():
    """NOR columns across common lines are a plane; one plane into another is a PLA (Mead & Conway, M)."""
    products = {"p0": ("a", "bn"), "p1": ("an", "b"), "p2": ("an", "bn", "c")}
    sums = {"s0": ("p0", "p1"), "s1": ("p1", "p2")}
    lines = [line for net in ("a", "b") for line in nmos(f"{net}n", net)]
    lines += [line for y, ins in (*products.items(), *sums.items()) for line in nmos(y, *ins)]
    lines += [line for y in sums for line in nmos(f"{y}o", y)]
    found = recognise(circuit("a b c s0o s1o VDD VSS", *lines))
    assert found.term == "PLA"
    assert [p.term for p in found.structures[0].parts][:2] == ["AND plane", "OR plane"]
    rom = [line for y, ins in {"b0": ("w0", "w2"), "b1": ("w1", "w2"), "b2": ("w0", "w1", "w3")}.items()
           for line in nmos(y, *ins)]  # fmt: skip
    assert recognise(circuit("w0 w1 w2 w3 b0 b1 b2 VDD VSS", *rom)).term == "ROM plane"


def test_what_fits_nothing_is_said_to_fit_nothing():
    """A heap of devices without sense gets no name, and its devices are listed."""
    heap = circuit("a b c d VDD VSS", "n a b c", "p b c VDD", "n c VSS d", "p d VSS b", "n d a VDD")
    found = recognise(heap)
    assert found.term == UNKNOWN
    assert any("fits nothing known" in note or "made of" in note for note in found.notes)


def test_supplies_inferred_with_reasons():
    """Without labels the rails are found by what ends on them, and the reason is told."""
    netlist = circuit("a b y top bottom", "p a top y", "p b top y", "n a y k", "n b k bottom")
    found = recognise(netlist)
    assert found.term == "NAND2"
    assert (found.supplies.high, found.supplies.low) == ({"top"}, {"bottom"})
    assert any("only n channels end on it" in r for r in found.supplies.reasons)
    for high, low in (("VCC", "GND"), ("vpwr", "vgnd"), ("Vdd", "vss"), ("VPWR", "VGND")):
        labelled = recognise(circuit(f"a y {high} {low}", f"p a {high} y", f"n a {low} y"))
        assert labelled.term == "inverter"
        assert labelled.supplies.high == {high}


def test_every_name_is_a_term():
    """Recognition speaks only in canonical terms, which the questions accept."""
    for ports, lines in WHOLE.values():
        for s in recognise(circuit(f"{ports} VDD VSS", *lines)).all():
            assert canonical(s.term) == s.term or s.term == UNKNOWN, s.term


def test_output_driver_and_input_protection():
    """A wide inverter on a port may be an output driver; transistors never on clamp a pad (common practice)."""
    wide = circuit("a y VDD VSS", *("n a VSS y 2/8" for _ in range(4)), *("p a VDD y 2/8" for _ in range(4)))
    assert recognise(wide).names == ("inverter", "output driver")
    guarded = circuit("pad y VDD VSS", "n VSS pad VSS", "p VDD pad VDD", *inverter("pad", "y"))
    found = recognise(guarded)
    assert found.names == ("inverter", "input protection")
    assert [s.term for s in found.structures[0].parts] == ["input protection", "inverter"]
    alone = recognise(circuit("pad VDD VSS", "n VSS pad VSS", "p VDD pad VDD"))
    assert alone.term == "input protection"


def test_fifo_slice():
    """Two latches loaded by a marker that was empty, after the 40105 type's data sheet: slice, row, marker."""
    lines = [*nand2("p", "mn", "ln", "k1"), *nand2("ln", "mn", "m", "k2"), *nand2("m", "r", "mn", "k3"),
             *inverter("ln", "l")]  # fmt: skip
    for i in range(2):
        lines += [*gate(f"d{i}", f"a{i}", "l", "ln"), *inverter(f"a{i}", f"b{i}"), *inverter(f"b{i}", f"q{i}")]
        lines += gate(f"q{i}", f"a{i}", "ln", "l")
    found = recognise(circuit("p r m d0 d1 q0 q1 VDD VSS", *lines))
    assert found.term == "FIFO slice"
    row, marker = found.structures[0].parts
    assert (row.term, [p.term for p in row.parts]) == ("register row", ["latch", "latch"])
    assert marker.term == "marker"
    assert roles(found)["d0"] == "data"


# Source: the three-transistor cell, common practice.
def test_a_dynamic_cell_reads_in_series_with_fingers_or_without():
    """A reading transistor of two fingers is still the cell's; two in parallel pull the line each alone: no cell."""
    write, reading = "n write in store", ("n store VSS k", "n read k out")
    for lines in (reading, (*reading, "n store k VSS")):
        assert recognise(circuit("VSS write in read out", write, *lines)).term == "dynamic RAM cell"
    apart = "n store VSS out", "n read VSS out"
    assert recognise(circuit("VSS write in read out", write, *apart)).term == UNKNOWN
