"""
Loops within one channel-connected group: at a rail a Schmitt inverter has one output (Weste & Harris, from memory).
"""

import pytest

from layoutdrill.netlist.spice import read_spice
from layoutdrill.simulate.sequence import sequence

CMOS = (
    "M{0}1 x{0} {1} {2} VSS nmos W=4u L=2u\n"
    "M{0}2 VSS {1} x{0} VSS nmos W=4u L=2u\n"
    "M{0}3 VDD {2} x{0} VSS nmos W=8u L=2u\n"
    "M{0}4 z{0} {1} {2} VDD pmos W=8u L=2u\n"
    "M{0}5 VDD {1} z{0} VDD pmos W=8u L=2u\n"
    "M{0}6 VSS {2} z{0} VDD pmos W=16u L=2u\n"
)
NMOS = (
    "M{0}1 x{0} {1} {2} VSS nmos W=8u L=2u\n"
    "M{0}2 VSS {1} x{0} VSS nmos W=8u L=2u\n"
    "M{0}3 VDD {2} x{0} VSS nmos W=4u L=2u\n"
    "M{0}4 VDD {2} {2} VSS nmosd W=2u L=8u\n"
)


def levels(stage, inputs):
    """Run a chain of two from a state in which nothing is known; return the outputs of both after each input."""
    text = f".subckt pair a b y VDD VSS\n{stage.format(1, 'a', 'b')}{stage.format(2, 'b', 'y')}.ends\n"
    states = sequence(read_spice(text, "pair.sp"), [{"a": value} for value in inputs])
    return ["".join(str(state.level(net)) for net in "by") for state in states]


@pytest.mark.parametrize("stage", [CMOS, NMOS], ids=["complementary", "depletion load"])
def test_an_input_at_a_rail_decides_a_schmitt_inverter(stage):
    """And the one behind it, at the first step as at later ones; an input that is not known decides nothing."""
    assert levels(stage, [1, 0, 1]) == ["01", "10", "01"]
    assert levels(stage, ["X", 0]) == ["XX", "10"]


def test_what_holds_either_level_stays_unknown():
    """A net that opens its own way up keeps 1, and keeps 0 as charge while nothing pulls it down."""
    text = ".subckt keep e y VDD VSS\nM1 VDD y y VSS nmos\nM2 y e VSS VSS nmos\n.ends\n"
    let_go, pulled = sequence(read_spice(text, "keep.sp"), [{"e": 0}, {"e": 1}])
    assert (str(let_go.stored("y")), str(pulled.stored("y"))) == ("X", "0")
