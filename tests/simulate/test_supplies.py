"""The supplies of PMOS logic are told by its loads, whatever clamps stand at its pads (common practice)."""

import pytest

from layoutdrill.netlist.spice import read_spice
from layoutdrill.simulate.supplies import find_supplies


@pytest.mark.parametrize(("high", "low"), [("vss", "vdd"), ("gnd", "vgg"), ("plus", "minus")])
def test_clamps_at_four_pads_do_not_turn_the_supplies_round(high, low):
    """Two loads, each beside its drivers, say more than four clamps with gate and source on the other rail."""
    clamps = "".join(f"MC{pad} {pad} {high} {high} {high} pmos\n" for pad in "abcd")
    logic = f"M1 y a k {high} pmos\nM2 k b {high} {high} pmos\nM3 z c {high} {high} pmos\n"
    loads = f"ML1 {low} {low} y {high} pmos\nML2 {low} {low} z {high} pmos\n"
    text = f".subckt top a b c d y {high} {low}\n{clamps}{logic}{loads}.ends\n"
    supplies = find_supplies(read_spice(text, "top.sp"))
    assert (supplies.high, supplies.low) == ({high}, {low})
