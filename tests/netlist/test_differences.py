"""Differences are told in words that someone who transcribed a netlist by hand can act on."""

from dataclasses import replace
from pathlib import Path
from random import Random

import pytest

from layoutdrill.errors import LayoutdrillError
from layoutdrill.netlist.compare import Merge, Terms, compare, compare_by, compare_files
from layoutdrill.netlist.spice import read_spice
from tests.each import each
from tests.netlist.netlists import nand_array

LATCH = """.subckt latch d en q vdd gnd
* clocked inverter in, inverter out, clocked inverter back
mp1 s d vdd pmos
mp2 x nen s pmos
mn1 x en t nmos
mn2 t d gnd nmos
mp3 q x vdd pmos
mn3 q x gnd nmos
mp4 u q vdd pmos
mp5 x en u pmos
mn4 x nen w nmos
mn5 w q gnd nmos
mp6 nen en vdd pmos
mn6 nen en gnd nmos
.ends
"""

ONE = "one edit makes them equal: "
CASES = {
    "equal": ([], ["equal: 12 transistors, 11 nets"]),
    "a gate on the wrong net": (
        [("mn4 x nen w", "mn4 x en w")],
        [
            ONE + "transistor mn4 (its_mn4 in B): its gate is on net en in A, on net n5 in B, which is nen in A",
            "different: 1 finding",
        ],
    ),
    "an end on the wrong net": (
        [("mn2 t d gnd", "mn2 t d vdd")],
        [
            ONE + "transistor mn2 (its_mn2 in B): one end (source or drain) is on net vdd in A, on net gnd in B",
            "different: 1 finding",
        ],
    ),
    "the wrong kind": (
        [("mn3 q x gnd nmos", "mn3 q x gnd pmos")],
        [
            ONE + "transistor mn3 (its_mn3 in B) is p-channel in A, n-channel in B",
            "different: 1 finding",
        ],
    ),
    "a transistor forgotten": (
        [("mp5 x en u pmos\n", "")],
        [
            ONE + "transistor its_mp5 of B is not in A; there it is p-channel, gate en, between u and x",
            "different: 1 finding",
        ],
    ),
    "a wire not seen": (
        [("mp3 q x vdd", "mp3 q x2 vdd"), ("mn3 q x gnd", "mn3 q x2 gnd")],
        [
            ONE + "nets x (with mp2, mn1, mp5, mn4) and x2 (with mp3, mn3) of A are one net in B, n4",
            "different: 1 finding",
        ],
    ),
    "two nets taken for one": (
        [("mp2 x nen s", "mp2 x en s"), ("mn4 x nen w", "mn4 x en w"), ("mp6 nen en", "mp6 en en"),
         ("mn6 nen en", "mn6 en en")],
        [
            (
                ONE + "nets en (with its_mn6, its_mn1, its_mp6, its_mp5) "
                "and n5 (with its_mn6, its_mn4, its_mp6, its_mp2) of B are one net in A, en"
            ),
            "different: 1 finding",
        ],
    ),
    "a port forgotten": (
        [("latch d en q vdd", "latch d en vdd")],
        ["port q: B has it, in A it is a net, but no port", "different: 1 finding"],
    ),
    "a port by another name": (
        [("latch d en q", "latch data en q"), ("mp1 s d", "mp1 s data"), ("mn2 t d", "mn2 t data")],
        ["port data of A is called d in B", "different: 1 finding"],
    ),
    "rails by other names and a wire moved": (
        [("vdd", "vcc"), ("mn2 t d", "mn2 t en")],
        [
            "port vcc: A has it, in B there is none of this name",
            "port vdd: B has it, in A there is none of this name",
            "transistor mn2 (its_mn2 in B): its gate is on net en in A, on net d in B",
            "different: 3 findings",
        ],
    ),
}  # fmt: skip


def disguised_latch():
    """Return the latch with its devices in another order, and inner nets and devices under other names."""
    n = read_spice(LATCH, "b.sp")
    nets = {"s": "n1", "t": "n2", "u": "n3", "x": "n4", "nen": "n5", "w": "n6"}
    named = [replace(t.renamed(nets), name=f"its_{t.name}") for t in n.transistors]
    Random(4).shuffle(named)
    return replace(n, transistors=tuple(named))


@each("case", CASES)
def test_a_slip_in_transcribing_a_latch_is_told(case):
    """One slip of each sort; B is right, under other names."""
    changes, lines = CASES[case]
    text = LATCH
    for old, new in changes:
        assert old in text
        text = text.replace(old, new)
    assert compare(read_spice(text, "a.sp"), disguised_latch()).text().split("\n") == lines


def test_sizes_and_bodies_are_told():
    """Lengths, widths and bodies are compared where they are asked for, and told with both values."""
    a = read_spice("M1 y a g b nmos L=1u W=2u\nM2 z a g b nmos L=1u W=2u", "a.sp")
    b = read_spice("M1 y a g c nmos L=1u W=2u\nM2 z a g b nmos L=1.5u W=3u", "b.sp")
    assert compare(a, b).equal
    assert compare(a, b, sizes=True).differences == (
        "transistor M2: L is 1 µm in A, 1.5 µm in B",
        "transistor M2: W is 2 µm in A, 3 µm in B",
    )
    assert compare(b, a, bodies=True).differences == ("net b: one net in B, two in A, b (with M2) and c (with M1)",)
    bare = read_spice("M1 y a g nmos\nM2 z a g b nmos", "b.sp")
    assert compare(a, bare, bodies=True).differences == ("transistor M1: its body is on net b in A, not told in B",)


def test_a_netlist_that_tells_no_bodies_at_all_is_told_once():
    """A netlist without bodies gives one line, not one for every transistor."""
    a = read_spice("M1 y a g b nmos\nM2 z a g b nmos", "a.sp")
    b = read_spice("M1 y a g nmos\nM2 z a g nmos", "b.sp")
    told = ("A tells the bodies of its transistors, B tells none",)
    assert compare(a, b).equal
    assert compare(a, b, bodies=True).differences == told
    assert compare_by(b, a, Terms(bodies=True, titles=("B", "A"))).differences == told


def test_other_devices_are_told():
    """Resistors and diodes that differ are told as transistors are."""
    a = read_spice(".subckt e p q\nR1 p m 1k\nD1 m q dio\nM1 m p q nmos\n.ends", "a.sp")
    b = read_spice(".subckt e p q\nD1 q m dio\nM1 m p q nmos\n.ends", "b.sp")
    assert compare(a, b).differences == (
        "A has 1 resistor, B has no resistors",
        "diode D1: its anode is on net m in A, on net q in B",
        "diode D1: its cathode is on net q in A, on net m in B",
        "resistor R1 of A (between p and m) has no counterpart in B",
    )


def test_the_reader_may_be_told_whose_netlist_is_whose():
    """The two netlists may go by other titles than A and B."""
    told = compare_by(
        read_spice("M1 y a g nmos", "a"), read_spice("M1 y a g pmos", "b"), Terms(titles=("yours", "the drawing"))
    )
    assert told.differences == (ONE + "transistor M1 is n-channel in yours, p-channel in the drawing",)


def test_a_long_list_is_cut_short():
    """Ten cells of another kind of gate: the first twelve lines, and how many more there are."""
    a = nand_array(10, labelled=True)
    b = replace(a, transistors=tuple(t.renamed({t.gate: f"A{(int(t.gate[1:]) + 1) % 10}"}) for t in a.transistors))
    lines = compare(a, b).differences
    assert len(lines) == 13
    assert lines[-1].startswith("and ")


def test_too_many_alike_are_counted_instead_of_paired():
    """Two thousand transistors with only the rails labelled, one of them wrong."""
    a = nand_array(500, labelled=False)
    wrong = replace(a.transistors[801], gate="Y3")
    b = replace(a, transistors=(*a.transistors[:801], wrong, *a.transistors[802:]))
    lines = compare(a, b, merge=Merge.SPLITS).differences  # given one, no single edit is looked for
    assert "devices that look like M200b of B (p-channel, gate Y3, between VDD and Y200): 0 in A, 1 in B" in lines


def test_files_that_cannot_be_read_are_told(tmp_path: Path):
    """A missing file or one that is no text is told with its path."""
    good, noise = tmp_path / "good.sp", tmp_path / "noise.sp"
    good.write_text("M1 y a g nmos", encoding="utf-8")
    noise.write_bytes(b"\x00\xff\xfe")
    assert compare_files(good, good).text() == "equal: 1 transistor, 3 nets"
    with pytest.raises(LayoutdrillError, match=r"noise.sp:1:\d+: this is no text; give a SPICE or CDL netlist"):
        compare_files(good, noise)
    with pytest.raises(LayoutdrillError, match=r"none.sp: no such file; check the path"):
        compare_files(tmp_path / "none.sp", good)
