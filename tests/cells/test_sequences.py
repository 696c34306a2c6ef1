"""Flip-flops with more than data, counters and feedback registers run through the states that textbooks give them."""

import pytest

from layoutdrill.cells import load_cell
from layoutdrill.process import load_process
from layoutdrill.recognise.whole import recognise
from layoutdrill.simulate.sequence import sequence
from layoutdrill.simulate.table import table
from tests.each import each

PROCESS = load_process("silicon-gate-cmos")


def started(name, levels, steps):
    """Return the states of a cell whose outputs were first driven to `levels` while clk was 0, and then let go."""
    first = {**levels, "clk": 0, "clkn": 1}
    states = sequence(load_cell(name).netlist(PROCESS), [first, dict.fromkeys(levels), *steps])
    return states[2:]


def rises(count):
    return [step for _ in range(count) for step in ({"clk": 1, "clkn": 0}, {"clk": 0, "clkn": 1})]


def counted(name, levels, count):
    """Return the outputs, as a string of bits, after each of so many rises of the clock."""
    states = started(name, levels, rises(count))[::2]
    return ["".join(str(state.level(q)) for q in levels) for state in states]


# Source: definition of the toggle flip-flop (textbooks of digital design, from memory): half the clock's frequency.
def test_a_toggle_flip_flop_halves_the_clock():
    """It changes at every rise."""
    assert counted("ff_toggle", {"q": 0}, 6) == ["1", "0", "1", "0", "1", "0"]


# Source: characteristic equation q ^ t (textbooks of digital design, from memory).
def test_a_toggle_flip_flop_with_input_changes_while_it_is_1():
    """t at 0 leaves it."""
    steps = [step for t in (1, 0, 1, 1) for step in ({"t": t}, *rises(1))]
    states = started("ff_toggle_input", {"q": 0}, steps)[1::3]
    assert [str(state.level("q")) for state in states] == ["1", "1", "0", "1"]


# Source: characteristic table of the JK flip-flop: hold, reset, set, toggle (textbooks of digital design, from memory).
@each("q", [0, 1])
@each(("j", "k", "after"), [(0, 0, "q"), (0, 1, "0"), (1, 0, "1"), (1, 1, "!q")])
def test_a_jk_flip_flop_does_what_its_table_says(q, j, k, after):
    """All eight rows."""
    state = started("ff_jk", {"q": q}, [{"j": j, "k": k}, *rises(1)])[1]
    assert str(state.level("q")) == {"q": str(q), "!q": str(1 - q)}.get(after, after)


# Source: common practice: set and reset act whatever the clock does, and the value stays when they end.
@each("clk", [0, 1])
@each(
    ("name", "port", "active", "level"),
    [("ff_set", "s", 1, "1"), ("ff_reset", "rn", 0, "0"), ("ff_set_reset", "s", 1, "1"), ("ff_set_reset", "r", 1, "0")],
)
def test_set_and_reset_act_at_once(name, port, active, level, clk):
    """With the data the other way, and the clock at either level; at the next rise the data is taken again."""
    idle = {"s": 0, "r": 0, "rn": 1}
    ports = {p.name for p in load_cell(name).ports} & set(idle)
    data = 1 - int(level)
    begin = {"d": data, "clk": clk, "clkn": 1 - clk} | {p: idle[p] for p in ports}
    steps = [begin, {port: active}, {port: 1 - active}, {"clk": 0, "clkn": 1}, {"clk": 1, "clkn": 0}]
    states = sequence(load_cell(name).netlist(PROCESS), steps)
    assert [str(state.level("q")) for state in states[1:]] == [level, level, level, str(data)]


# Source: a binary counter; the ripple counter's bits change at the fall of the one before (from memory).
def test_a_ripple_counter_counts():
    """Through all eight numbers, the first bit the least."""
    seen = counted("counter_ripple_3", {"q0": 1, "q1": 1, "q2": 1}, 9)
    assert [int(bits[::-1], 2) for bits in seen] == [0, 1, 2, 3, 4, 5, 6, 7, 0]


# Source: a Johnson counter of n bits has 2n states, one bit changing at a time (textbooks, from memory).
def test_a_johnson_counter_changes_one_bit_at_a_time():
    """Six states of three bits, then the first again."""
    seen = counted("counter_johnson_3", {"q0": 0, "q1": 0, "q2": 0}, 6)
    assert seen == ["100", "110", "111", "011", "001", "000"]


# Source: x^3 + x^2 + 1 is primitive, so three bits run through 2^3 - 1 states (tables of polynomials, from memory).
def test_a_feedback_shift_register_runs_through_seven_states():
    """And stays at 000."""
    seen = counted("shift_feedback_3", {"q0": 1, "q1": 0, "q2": 0}, 7)
    assert len(set(seen)) == 7
    assert seen[-1] == "100"
    assert counted("shift_feedback_3", {"q0": 0, "q1": 0, "q2": 0}, 2) == ["000", "000"]


# Source: computed, equality of two words of two bits.
def test_a_comparator_tells_equal_words():
    """All sixteen rows."""
    rows = table(load_cell("comparator_2").netlist(PROCESS), ("a0", "b0", "a1", "b1"), ("y",)).rows
    assert all(
        int(row.outputs[0]) == (row.inputs[0] == row.inputs[1] and row.inputs[2] == row.inputs[3]) for row in rows
    )


# Source: definition of non-overlapping phases (Mead & Conway 1980, from memory).
def test_phases_do_not_overlap():
    """One is high at either level of the clock, and they are never high together."""
    states = sequence(load_cell("clock_two_phase").netlist(PROCESS), [{"clk": clk} for clk in (0, 1, 0, 1)])
    assert [(str(s.level("ph1")), str(s.level("ph2"))) for s in states] == [("0", "1"), ("1", "0")] * 2


def test_a_gated_ring_stands_and_does_not_settle():
    """Off, its output is a level; on, no level can be told."""
    off, on = sequence(load_cell("ring_oscillator_gated").netlist(PROCESS), [{"on": 0}, {"on": 1}])
    assert str(off.level("y")) == "0"
    assert str(on.level("y")) == "X"


# Source: common practice: who drives the line overcomes the keeper, and the keeper holds it after.
@pytest.mark.parametrize("level", [0, 1])
def test_a_keeper_keeps_what_was_driven(level):
    """Driven, then let go."""
    states = sequence(load_cell("bus_keeper").netlist(PROCESS), [{"line": level}, {"line": None}])
    assert str(states[1].level("line")) == str(level)


# Source: the three-transistor cell reads the opposite on a precharged line, and does not spoil the bit (from memory).
@pytest.mark.parametrize("bit", [0, 1])
def test_a_dynamic_cell_keeps_by_charge(bit):
    """Written, kept while the write line is low, read twice."""
    idle, precharged, let_go = {"read": 0}, {"out": 1}, {"out": None}
    steps = [{"write": 1, "in": bit, "out": 1, **idle}, {"write": 0}, {"in": 1 - bit}]
    steps += [let_go, {"read": 1}, {**idle, **precharged}, let_go, {"read": 1}]
    states = sequence(load_cell("ram_3t").netlist(PROCESS), steps)
    assert [str(states[n].stored("out")) for n in (4, 7)] == [str(1 - bit)] * 2


# Source: an open drain pulls one way only (common practice).
def test_an_open_drain_lets_go():
    """Low at input 0; at input 1 nothing drives the output."""
    low, free = sequence(load_cell("open_drain").netlist(PROCESS), [{"a": 0}, {"a": 1}])
    assert str(low.level("y")) == "0"
    assert "y" in free.floating


def test_a_row_with_other_feedback_is_no_counter():
    """A shift register that takes data from outside keeps its name."""
    netlist = load_cell("shift_register_4").netlist(PROCESS)
    assert recognise(netlist).term == "shift register"
