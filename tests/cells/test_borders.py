"""Pads, drivers and registers of one kind of transistor do what their entries say, as simulated."""

from dataclasses import replace
from fractions import Fraction

import pytest

from layoutdrill.cells import load_cell
from layoutdrill.cells.model import style_of
from layoutdrill.cells.sizing import RATIOS
from layoutdrill.process import load_process
from layoutdrill.reading.slips import find_slips
from layoutdrill.recognise.whole import recognise
from layoutdrill.simulate.sequence import sequence
from layoutdrill.simulate.supplies import find_supplies

CMOS = load_process("silicon-gate-cmos")
PMOS = load_process("metal-gate-pmos")
ON, OFF = 0, 1
"""What turns a p transistor on and off."""


@pytest.mark.parametrize("level", [0, 1])
def test_a_resistor_does_not_keep_a_level_out(level):
    """Behind the resistor and between the diodes the pad's level is read (common practice)."""
    (state,) = sequence(load_cell("pad_in").netlist(CMOS), [{"pad": level}])
    assert str(state.level("q")) == str(level)


def test_a_tri_state_pad_lets_go():
    """It follows while enabled, and nothing drives it while not."""
    high, low, free = sequence(load_cell("pad_tristate").netlist(CMOS), [{"on": 1, "a": 1}, {"a": 0}, {"on": 0}])
    assert (str(high.level("pad")), str(low.level("pad"))) == ("1", "0")
    assert "pad" in free.floating


@pytest.mark.parametrize(("name", "active", "driven"), [("driver_lamp", 0, "0"), ("driver_high_voltage", 1, "1")])
def test_a_driver_of_one_side_only_pulls_one_way(name, active, driven):
    """Lamps are pulled low, a display's segments high; otherwise nothing inside drives the pad (common practice)."""
    pulled, free = sequence(load_cell(name).netlist(CMOS), [{"a": active}, {"a": 1 - active}])
    assert str(pulled.level("pad")) == driven
    assert "pad" in free.floating


# Source: a liquid crystal is driven by the exclusive or of the data with the backplane, so that its mean voltage is 0
# (common practice).
def test_a_segment_turns_over_with_the_backplane():
    """Shown: opposite to the backplane; not shown: with it."""
    steps = [{"a": a, "back": back} for a in (0, 1) for back in (0, 1)]
    states = sequence(load_cell("driver_liquid_crystal").netlist(CMOS), steps)
    assert [str(state.level("pad")) for state in states] == ["0", "1", "1", "0"]


# Source: four-phase ratioless logic (published in the 1960s; from memory).
def test_a_four_phase_register_shifts():
    """A bit in each round of the four phases comes out two rounds later."""
    bits, steps = (1, 0, 0, 1, 1, 0), []
    phases = ("f1", "f2", "f3", "f4")
    for bit in bits:
        for phase in phases:
            steps += [{"d": bit, **dict.fromkeys(phases, OFF), phase: ON}, {phase: OFF}]
    states = sequence(load_cell("shift_four_phase").netlist(PMOS), steps)
    after = [str(states[8 * k + 7].stored("q")) for k in range(len(bits))]
    assert after[1:] == [str(bit) for bit in bits[:-1]]


# Source: two-phase ratioless logic of p transistors (from memory).
@pytest.mark.parametrize("bit", [0, 1])
def test_a_ratioless_stage_lets_its_charge_go_into_its_own_phase(bit):
    """Charged while the phase is on, its node holds the opposite of the data once the phase is over."""
    charged, after = sequence(
        load_cell("shift_ratioless").netlist(PMOS), [{"d": bit, "f1": ON, "f2": OFF}, {"f1": OFF}]
    )
    node = next(t for t in load_cell("shift_ratioless").netlist(PMOS).transistors if t.name == "M2").ends[1]
    assert (str(charged.level(node)), str(after.stored(node))) == ("0", str(1 - bit))


# Source: two-phase ratioless registers with plates to the phase that reads (Joynson and others, IEEE J. Solid-State
# Circuits SC-7, 1972, on bootstrapping by such plates; from memory). A bit comes out two rounds later.
def test_a_ratioless_register_shifts_and_keeps_its_noughts():
    """Both levels survive each switch, for the plate behind them holds more charge than the gate before them."""
    bits, steps = (1, 0, 0, 1, 1, 0, 1), []
    for bit in bits:
        for phase in ("f1", "f2"):
            steps += [{"d": bit, "f1": OFF, "f2": OFF, phase: ON}, {phase: OFF}]
    states = sequence(load_cell("shift_ratioless").netlist(PMOS), steps)
    after = [str(states[4 * k + 3].stored("q")) for k in range(len(bits))]
    assert after[1:] == [str(bit) for bit in bits[:-1]]


def test_without_its_plates_a_nought_is_lost():
    """The gate behind the switch then holds as much as the node before it, or more: the level is not known."""
    netlist = load_cell("shift_ratioless").netlist(PMOS)
    bare = replace(netlist, transistors=tuple(t for t in netlist.transistors if t.source != t.drain))
    on, off = {"d": 1, "f1": ON, "f2": OFF}, {"f1": OFF}
    charged = sequence(bare, [{"d": 0, "f1": ON, "f2": OFF}, off, {"f2": ON}, {"f2": OFF}, on, off, {"f2": ON}])
    node = next(t for t in netlist.transistors if t.source == t.drain).gate
    assert str(charged[-1].stored(node)) != "0"


# Source: common practice: a clocked load works as a load while its clock is on, and takes no current else.
def test_a_clocked_load_pulls_while_its_clock_is_on():
    """The output is the opposite of the input then."""
    states = sequence(load_cell("inverter_clocked_load").netlist(PMOS), [{"a": 0, "ph": ON}, {"a": 1}, {"ph": OFF}])
    assert [str(s.level("y")) for s in states[:2]] == ["1", "0"]
    assert "y" in states[2].floating


@pytest.mark.parametrize("name", ["metal-gate-pmos", "metal-gate-pmos-vgg", "silicon-gate-nmos-enhancement"])
def test_an_enhancement_load_is_at_least_ten_times_as_long(name):
    """L over W of the load against the driver's, over every gate that has one driver or drivers in parallel."""
    # Source: common practice: saturated enhancement loads had 10:1 or more.
    process = load_process(name)
    assert RATIOS[style_of(process)] >= 10
    for cell in ("inverter", "nor2", "nor3", "nand2", "inverter_clocked_load"):
        if not load_cell(cell).fits(process):
            continue
        netlist = load_cell(cell).netlist(process)
        loads = [t for t in netlist.transistors if t.gate in (*process.rails, "ph")]
        drivers = [t for t in netlist.transistors if t not in loads]
        assert len(loads) == 1
        weakest = max(Fraction(t.length, t.width) for t in drivers)
        assert Fraction(loads[0].length, loads[0].width) >= 10 * weakest, cell


# Source: common practice: at a signal's pad something reads or drives it, and at a supply's only a clamp stands.
@pytest.mark.parametrize("process", ["silicon-gate-cmos", "silicon-gate-nmos"])
def test_a_clamped_pad_that_nothing_reads_is_a_supplys(process):
    """Named so, without a slip; with one inverter that reads it, it is an input with protection."""
    made = load_process(process)
    netlist = load_cell("pad_supply").netlist(made)
    assert recognise(netlist).term == "supply pad"
    assert find_slips(netlist, find_supplies(netlist)) == ()
    read = load_cell("input_protection").netlist(made)
    assert "supply pad" not in recognise(read).names
