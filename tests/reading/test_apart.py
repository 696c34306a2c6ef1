"""Netlists of many stores are explained store by store, in a time that grows with their number."""

import pytest

from layoutdrill.cells import load_cell
from layoutdrill.process import load_process
from layoutdrill.reading.explain import explain_netlist


# Source: the definitions of a register and of a shift register (common practice).
@pytest.mark.parametrize(
    ("name", "taken"),
    [("register_row_4", ["d0", "d1", "d2", "d3"]), ("shift_register_4", ["d", "q0", "q1", "q2"])],
)
def test_each_bit_is_told(name, taken):
    """Every bit of a register takes its own input at the rise of the clock; of a shift register, the bit before."""
    found = explain_netlist(load_cell(name).netlist(load_process("metal-gate-sapphire")))
    told = [(s.output, s.kind, s.control, s.when, words, held) for s, words, held in found.stores]
    assert told == [(f"q{k}", "flip-flop", "clk", "rise", d, f"q{k}") for k, d in enumerate(taken)]
    assert "the stores were simulated one by one" in found.remarks
    assert f"stateful: at most {2**4} stable states" in found.text()


def test_many_stores_are_told_in_part():
    """Of a FIFO's stores as many as are read at a glance, and how many more there are."""
    found = explain_netlist(load_cell("fifo_3x4").netlist(load_process("metal-gate-sapphire")))
    assert "FIFO" in found.recognition.names
    assert any(remark.startswith("the stores were simulated one by one; 2 more") for remark in found.remarks)
