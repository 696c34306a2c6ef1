"""
Slips planted in sound netlists are found, and the transistor at fault is named.

The sound circuits are textbook gates; what is planted is known, so the plant itself is the reference.
"""

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1] / "simulate"))

from dataclasses import replace

from circuits import circuit, gate, inverter

from layoutdrill.netlist.model import Kind, Netlist
from layoutdrill.reading.slips import KINDS, find_slips
from layoutdrill.simulate.supplies import find_supplies
from tests.each import each

SOUND = {
    "inverter": circuit("a y VDD VSS", *inverter("a", "y")),
    "NAND2": circuit("a b y VDD VSS", "p a VDD y", "p b VDD y", "n a y k", "n b k VSS"),
    "NAND3": circuit("a b c y VDD VSS", "p a VDD y", "p b VDD y", "p c VDD y", "n a y k", "n b k l", "n c l VSS"),
    "NOR2": circuit("a b y VDD VSS", "n a y VSS", "n b y VSS", "p a VDD m", "p b m y"),
    "AOI21": circuit("a b c y VDD VSS", "n a y k", "n b k VSS", "n c y VSS", "p a VDD m", "p b VDD m", "p c m y"),
    "AOI22": circuit("a b c d y VDD VSS", "n a y k", "n b k VSS", "n c y l", "n d l VSS", "p a VDD m", "p b VDD m",
                     "p c m y", "p d m y"),
    "AND2": circuit("a b z VDD VSS", "p a VDD y", "p b VDD y", "n a y k", "n b k VSS", *inverter("y", "z")),
    "tri-state": circuit("a e en y VDD VSS", "p a VDD m", "p en m y", "n e y k", "n a k VSS"),
    "mux": circuit("s d0 d1 y VDD VSS", *inverter("s", "sn"), *gate("d0", "y", "sn", "s"), *gate("d1", "y", "s", "sn")),
    "latch": circuit("d e q VDD VSS", *inverter("e", "en"), *gate("d", "m", "e", "en"), *inverter("m", "k"),
                     *inverter("k", "q"), *gate("q", "m", "en", "e")),
    "RAM cell": circuit("w b bn VDD VSS", *inverter("q", "qn"), *inverter("qn", "q"), "n w b q", "n w bn qn"),
    "read stack": circuit("w b bn r o VDD VSS", *inverter("q", "qn"), *inverter("qn", "q"), "n w b q", "n w bn qn",
                          "n qn VSS k", "n r k o"),
    "full adder": circuit(
        "a b i s o VDD VSS", "n i x k1", "n a k1 VSS", "n b k1 VSS", "n a x k2", "n b k2 VSS", "p i x m1", "p a m1 VDD",
        "p b m1 VDD", "p a x m2", "p b m2 VDD", "n x y k3", "n a k3 VSS", "n b k3 VSS", "n i k3 VSS", "n a y k4",
        "n b k4 k5", "n i k5 VSS", "p x y m3", "p a m3 VDD", "p b m3 VDD", "p i m3 VDD", "p a y m4", "p b m4 m5",
        "p i m5 VDD", *inverter("x", "o"), *inverter("y", "s")),
    "NMOS NAND2": circuit("a b y VDD VSS", "d y y VDD 8/2", "n a y k 2/4", "n b k VSS 2/4"),
    "domino": circuit("c a b z VDD VSS", "p c VDD y", "n a y k", "n b k l", "n c l VSS", *inverter("y", "z")),
}  # fmt: skip


def slips(netlist):
    return find_slips(netlist, find_supplies(netlist))


@each("name", SOUND)
def test_sound_circuits_raise_nothing(name):
    """No slip is told in a circuit that has none."""
    assert slips(SOUND[name]) == ()


def changed(netlist, number, **what):
    """Return the netlist with one transistor changed, and that transistor's name."""
    t = netlist.transistors[number]
    others = list(netlist.transistors)
    others[number] = replace(t, **what)
    return Netlist(netlist.name, netlist.ports, tuple(others)), t.name


@each(
    ("name", "number", "what", "kind"),
    [
        ("NAND2", 3, {"gate": "bb"}, "floating gate"),
        ("inverter", 0, {"gate": "A1"}, "floating gate"),
        ("NAND3", 4, {"source": "l", "drain": "l"}, "shorted ends"),
        ("inverter", 0, {"source": "VDD", "drain": "VSS"}, "supplies joined"),
        ("NOR2", 1, {"source": "q7"}, "loose end"),
        ("NAND2", 2, {"body": "VDD"}, "wrong body"),
        ("NAND2", 1, {"gate": "a"}, "networks do not match"),
        ("NAND3", 1, {"gate": "c"}, "networks do not match"),
        ("AOI21", 5, {"gate": "b"}, "networks do not match"),
        ("AOI22", 7, {"gate": "a"}, "networks do not match"),
        ("NAND2", 1, {"kind": Kind.N}, "networks do not match"),
        ("AOI21", 2, {"source": "k"}, "networks do not match"),
    ],
)
def test_planted_slips_are_named(name, number, what, kind):
    """Each planted change is told as its kind of slip, with the changed transistor among those named."""
    planted, culprit = changed(SOUND[name], number, **what)
    found = slips(planted)
    assert kind in KINDS
    assert any(s.kind == kind and culprit in s.transistors for s in found), [(s.kind, s.text, s.repair) for s in found]


def test_undriven_output():
    """A port that nothing drives, and one that is only pulled one way, are told."""
    netlist = circuit("a y z VDD VSS", *inverter("a", "y"))
    assert [(s.kind, s.nets) for s in slips(netlist)] == [("undriven output", ("z",))]
    half = circuit("a b y VDD VSS", "n a y k", "n b k VSS")
    assert ("undriven output", ("y",)) in [(s.kind, s.nets) for s in slips(half)]


def test_every_single_gate_change_of_a_complex_gate_is_found():
    """All changes of one gate net in an AOI21 and a NAND3, but those that give another sound circuit, are told."""
    told = total = 0
    for name in ("AOI21", "NAND3", "NAND2", "NOR2"):
        sound = SOUND[name]
        nets = sorted({t.gate for t in sound.transistors})
        for number, t in enumerate(sound.transistors):
            for net in nets:
                if net != t.gate:
                    planted, culprit = changed(sound, number, gate=net)
                    total += 1
                    told += any(culprit in s.transistors for s in slips(planted))
    assert total == 32
    assert told == total


def test_the_first_repair_restores_the_gate():
    """For a NAND2 with one p gate misread the first repair offered is to put it right."""
    planted, culprit = changed(SOUND["NAND3"], 1, gate="c")
    (slip,) = [s for s in slips(planted) if s.kind == "networks do not match"]
    assert f"{culprit} with its gate on b instead of c (then y is NAND3)" in slip.repair.split("; or ")


def test_a_switch_that_leads_nowhere():
    """A misread feedback net at a transmission gate is a loose end, though two transistors meet there."""
    latch = SOUND["latch"]
    stray = [i for i, t in enumerate(latch.transistors) if set(t.ends) == {"q", "m"}]
    others = list(latch.transistors)
    for i in stray:
        others[i] = replace(others[i], source="q7" if others[i].source == "q" else "m",
                            drain="q7" if others[i].drain == "q" else "m")  # fmt: skip
    (slip,) = slips(Netlist(latch.name, latch.ports, tuple(others)))
    assert (slip.kind, slip.nets, len(slip.transistors)) == ("loose end", ("q7",), 2)


def test_repairs_leave_no_input_unread_and_no_gate_floating():
    """A NAND2 with one gate misread: what is offered makes a gate of both inputs, and nothing less."""
    netlist, _ = changed(SOUND["NAND2"], 1, gate="a")
    (slip,) = [s for s in slips(netlist) if s.kind == "networks do not match"]
    assert slip.repair.count("then y is NAND2") == 2
    assert "inverter" not in slip.repair
    netlist, name = changed(SOUND["NAND2"], 3, gate="bb")
    (slip,) = [s for s in slips(netlist) if s.kind == "networks do not match"]
    assert slip.repair == f"{name} with its gate on b instead of bb (then y is NAND2)"


def test_two_lines_of_a_decoder_on_one_address():
    """A 2-to-4 NOR decoder with one transistor on the wrong line: the pair and the address left out are told."""
    lines = [f"d a{i}n a{i}n VDD 8/2|n a{i} a{i}n VSS 2/4" for i in range(2)]
    for k in range(4):
        ins = [f"a{i}n" if k >> i & 1 else f"a{i}" for i in range(2)]
        lines.append(f"d y{k} y{k} VDD 8/2|" + "|".join(f"n {net} y{k} VSS 2/4" for net in ins))
    sound = circuit("a0 a1 y0 y1 y2 y3 VDD VSS", *"|".join(lines).split("|"))
    assert slips(sound) == ()
    at = next(i for i, t in enumerate(sound.transistors) if t.gate == "a1" and "y0" in t.ends)
    wrong, name = changed(sound, at, gate="a1n")
    (slip,) = slips(wrong)
    assert slip.kind == "same address"
    assert slip.text == "y0 and y2 both answer a1=1 a0=0, and nothing answers a1=0 a0=0"
    assert name in slip.transistors


def test_an_inverter_whose_gate_is_read_as_a_supply_is_told():
    """A chain of inverters with both gates of one on a supply still reads, and is told."""
    chain = [line for a, y in (("a", "x"), ("VSS", "w"), ("w", "v"), ("v", "y")) for line in inverter(a, y)]
    netlist = circuit("a y VDD VSS", *chain)
    assert ("unread net", ("x",)) in [(s.kind, s.nets) for s in slips(netlist)]
