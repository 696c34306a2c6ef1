"""Circuits as a reader writes them down: what they are called, and what is not held against them."""

import pytest

from layoutdrill.cells.load import load_cell
from layoutdrill.netlist.spice import read_spice
from layoutdrill.process.load import load_process
from layoutdrill.reading.explain import explain_netlist
from layoutdrill.reading.notes import read_notes

# Toggle stages of two transmission-gate stores each, the reset in one gate of each store (common practice).
COUNTER = """
.global VDD GND
.subckt inv a y
MP y a VDD VDD pmos
MN y a GND GND nmos
.ends
.subckt nand2 a b y
MP1 y a VDD VDD pmos
MP2 y b VDD VDD pmos
MN1 y a m GND nmos
MN2 m b GND GND nmos
.ends
.subckt tg a y n p
MN a n y GND nmos
MP a p y VDD pmos
.ends
.subckt tff ck rn q qn
XC ck ckn inv
XT1 qn d ckn ck tg
XM1 d rn m nand2
XM2 m mm inv
XT2 mm d ck ckn tg
XT3 m sl ck ckn tg
XS1 sl q inv
XS2 q rn qn nand2
XT4 qn sl ckn ck tg
.ends
.subckt counter ck rn q0 q1 q2 VDD GND
X0 ck rn q0 n0 tff
X1 n0 rn q1 n1 tff
X2 n1 rn q2 n2 tff
.ends
"""

# Two inversions, a resistor from the first and a capacitor from the second (common practice), let go by an input.
OSCILLATOR = """
.subckt oscillator en out VDD GND
M1 a en VDD VDD pmos
M2 a c VDD VDD pmos
M3 a en x GND nmos
M4 x c GND GND nmos
M5 b a VDD VDD pmos
M6 b a GND GND nmos
R1 a r 100k
C1 b r 10n
R2 r c 1meg
M7 out b VDD VDD pmos
M8 out b GND GND nmos
.ends
"""

LAMP = """
.subckt lamp a b y z VDD VSS
M1 y a VSS VSS nmos W=4u L=1u
M2 z b VDD VDD pmos W=4u L=1u
M3 z b VSS VSS nmos W=4u L=1u
.ends
"""


@pytest.mark.parametrize(
    ("text", "name", "heading"),
    [(COUNTER, "counter", "3-bit ripple counter"), (OSCILLATOR, "oscillator", "RC oscillator")],
    ids=["counter", "oscillator"],
)
def test_a_gate_in_the_loop_does_not_hide_the_whole(text, name, heading):
    read = explain_netlist(read_spice(text, "own.sp", subckt=name))
    assert read.recognition.heading == heading
    assert not read.slips


@pytest.mark.parametrize("name", ["ram_1t", "ram_3t"])
def test_cells_that_store_by_charge_are_not_accused(name):
    process = load_process("silicon-gate-cmos-2m")
    read = explain_netlist(load_cell(name).netlist(process), process=process)
    assert read.recognition.heading == "dynamic RAM cell"
    assert not read.slips


def test_an_open_drain_is_noted_once(tmp_path):
    """Without notes its repair says that it may be one; with them nothing is told of it but at its port."""
    netlist = read_spice(LAMP, "lamp.sp", subckt="lamp")
    (slip,) = explain_netlist(netlist).slips
    assert slip.nets == ("y",)
    assert slip.repair.endswith("note it as an open drain")
    side = tmp_path / "lamp.notes.yaml"
    side.write_text("open drain: [y]\nnets: {y: lamp}\n", encoding="utf-8")
    read = explain_netlist(netlist, read_notes(side, netlist))
    assert not read.slips
    assert "  lamp: output, an open drain as noted" in read.text().splitlines()
    assert "  open-drain output (1 transistor): lamp = !a" in read.text().splitlines()
    assert read.heading == "open-drain output"
