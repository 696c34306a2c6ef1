"""A pulse while the supply comes up: a resistor or a long channel, and a capacitor (common practice)."""

import pytest

from layoutdrill.netlist.spice import read_spice
from layoutdrill.recognise.whole import recognise

INVERTERS = (
    "M1 n c VSS VSS nmos L=2u W=4u\nM2 n c VDD VDD pmos L=2u W=8u\nM3 r n VSS VSS nmos L=2u W=4u\n"
    "M4 r n VDD VDD pmos L=2u W=8u\n"
)
SLOW = {
    "resistor, capacitor and a diode that empties it": "R1 VDD c 100k\nC1 c VSS 10p\nD1 c VDD\n",
    "long channel and capacitor": "M5 c VSS VDD VDD pmos L=40u W=2u\nC1 c VSS 5p\n",
    "long channel and plate": "M5 c VSS VDD VDD pmos L=40u W=2u\nM6 VSS c VSS VSS nmos L=50u W=50u\n",
}


@pytest.mark.parametrize("case", SLOW)
def test_what_is_slow_inside_is_a_reset(case):
    """Two inverters behind it: one block, and no input pad, for nothing leads in."""
    found = recognise(read_spice(f".subckt por r VDD VSS\n{INVERTERS}{SLOW[case]}.ends\n", "por.sp"))
    assert found.heading == "power-on reset"


def test_a_pad_with_the_same_devices_stays_a_pad():
    """A port with clamp and pull-up is read from outside."""
    text = f".subckt pad c r VDD VSS\n{INVERTERS}R1 VDD c 100k\nD1 c VDD\nD2 VSS c\n.ends\n"
    assert "input pad" in recognise(read_spice(text, "pad.sp")).names
