"""
What works by charge, and what is held from one side: four-phase stages, wide dynamic gates, resets with a helper.

Forms: four-phase ratioless logic (Yen 1968), dynamic comparators (Weste & Harris, CMOS VLSI Design), resets of a long
channel and a plate (patents of the 1980s); all from memory.
"""

import pytest

from layoutdrill.netlist.spice import read_spice
from layoutdrill.reading.slips import find_slips
from layoutdrill.recognise.whole import recognise
from layoutdrill.simulate.supplies import find_supplies
from tests.reading.netlists import planted
from tests.reading.netlists.board import Board


def told(netlist):
    return [slip.kind for slip in find_slips(netlist, find_supplies(netlist))]


def four_phase(bits, first="VDD"):
    """PMOS: a phase charges a net through a diode of its own, data and the next phase bring it back to the rail."""
    b = Board("pmos")
    b.high = first
    before = "d"
    for i in range(bits):
        for stage, charge, lets in (("m", "f1", "f2"), ("q", "f3", "f4")):
            net = f"{stage}{i}"
            b.p(charge, charge, net)
            b.p(lets, net, f"{net}t")
            b.p(before, f"{net}t", b.high)
            before = net
    b.p(before, "pad", b.high, width=40)
    return b.case("phases", f"d f1 f2 f3 f4 pad {b.high}", "").netlist


@pytest.mark.parametrize("bits", [2, 4])
def test_phases_that_charge_are_no_supplies(bits):
    """Each of them charges as many nets as the other: none is the rail of loads, and no stage is ratioed."""
    netlist = four_phase(bits, "VSS")
    assert find_supplies(netlist).nets == {"VSS"}
    assert f"{bits}-bit four-phase shift register" in recognise(netlist).heading
    assert told(netlist) == []


@pytest.mark.parametrize(("device", "gate"), [("q0-q0t.p", "f3"), ("m1-m1t.p", "f4"), ("q1-q1t.p", "f2")])
def test_a_phase_out_of_turn_is_placed(device, gate):
    """A net let go by the phase that charges it, or by that of its neighbour; the right phase is offered."""
    netlist, _, _ = planted(four_phase(2, "VSS"), ("gate", device, gate))
    (slip,) = [s for s in find_slips(netlist, find_supplies(netlist)) if s.kind == "phase out of turn"]
    assert slip.transistors == (device,)
    assert {"m": "f2", "q": "f4"}[device[0]] in slip.repair


def comparator(size):
    """A charged net that any pair of unlike bits lets go, all pairs over one foot."""
    b = Board()
    b.p("f", "m", "VDD")
    for i in range(size):
        b.n(f"a{i}", "m", f"k{i}")
        b.n(b.inv(f"b{i}"), f"k{i}", "foot")
        b.n(b.inv(f"a{i}"), "m", f"l{i}")
        b.n(f"b{i}", f"l{i}", "foot")
    b.n("f", "foot", "VSS")
    b.inv("m", "ne")
    return b.case("unlike", ["f", "ne", *(f"{x}{i}" for i in range(size) for x in "ab")], "").netlist


@pytest.mark.parametrize("size", [2, 8])
def test_a_charged_line_let_go_by_unlike_pairs_over_one_foot_compares(size):
    """With more inputs than a table is made of, the pairs and the foot on the clock still tell it; nothing is amiss."""
    netlist = comparator(size)
    assert recognise(netlist).heading == f"{size}-bit equality comparator"
    assert told(netlist) == []


def test_a_helper_beside_a_long_channel_is_no_inverter():
    """Both pull the slow net up; a reset it stays, and its gate on the slow net itself is told."""
    stages = "".join(
        f"M{y}n {y} {a} VSS VSS nmos L=2u W=4u\nM{y}p {y} {a} VDD VDD pmos L=2u W=8u\n" for a, y in ("tu", "uv", "vw")
    )
    slow = "M1 t VSS VDD VDD pmos L=100u W=2u\nM2 VSS t VSS VSS nmos L=50u W=100u\n"
    for gate, slips in (("u", []), ("t", ["own output"])):
        text = f".subckt por w VDD VSS\n{stages}{slow}M3 t {gate} VDD VDD pmos L=8u W=2u\n.ends\n"
        netlist = read_spice(text, "por.sp")
        assert recognise(netlist).heading == "power-on reset"
        assert told(netlist) == slips
