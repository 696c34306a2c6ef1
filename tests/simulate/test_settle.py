"""
Levels at switch level: textbook cases of ratio, charge, sneak paths, feedback, contention.

Sources: R. E. Bryant, "A switch-level model and simulator for MOS digital systems", IEEE Trans. Comput. 1984
(strengths, charge sharing, X); Mead & Conway 1980 (ratio, pass transistors), both from memory; "common practice"
elsewhere.
"""

import sys
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parent))

from circuits import circuit, gate, inverter

from layoutdrill.errors import LayoutdrillError
from layoutdrill.simulate.drops import drops
from layoutdrill.simulate.sequence import sequence
from layoutdrill.simulate.settle import settle
from layoutdrill.simulate.table import table


def column(netlist, inputs, output):
    return "".join(table(netlist, inputs.split(), [output]).column(output))


def levels(states, net):
    return "".join(s.level(net) for s in states)


NAND = circuit("a b y VDD VSS", "p a VDD y", "p b VDD y", "n a y k", "n b k VSS")
NOR = circuit("a b y VDD VSS", "n a VSS y", "n b VSS y", "p a y k", "p b k VDD")
XOR = circuit(
    "a b y VDD VSS", *inverter("a", "an"), *inverter("b", "bn"), "n a y k", "n b k VSS", "n an y l", "n bn l VSS",
    "p a VDD m", "p b VDD m", "p an m y", "p bn m y",
)  # fmt: skip


@pytest.mark.parametrize(("netlist", "wanted"), [(NAND, "1110"), (NOR, "1000"), (XOR, "0110")])
def test_static_gates(netlist, wanted):
    """NAND, NOR and XOR give 1110, 1000 and 0110 (function tables of standard parts)."""
    assert column(netlist, "a b", "y") == wanted


def test_an_unknown_input_matters_only_where_it_must():
    """With one input of a NAND at 0 the other may be X (Bryant: indeterminate switches)."""
    assert settle(NAND, {"a": 0, "b": "X"}).level("y") == "1"
    assert settle(NAND, {"a": 1, "b": "X"}).level("y") == "X"


DEPLETION = "d y y VDD {0}/1", "n a y VSS 1/{1}"


@pytest.mark.parametrize(("load", "driver", "low"), [(4, 1, "0"), (2, 1, "0"), (1, 1, "!"), (4, 4, "0")])
def test_ratio_decides_a_fight_with_a_load(load, driver, low):
    """A depletion load loses at 4:1 and 2:1; at 1:1 the level is no level (Mead & Conway; level-1 equations)."""
    netlist = circuit("a y VDD VSS", f"d y y VDD {load}/1", f"n a y VSS 1/{driver}")
    assert column(netlist, "a", "y") == "1" + low


def test_series_drivers_add_up():
    """Two series drivers of one square against a load of two squares have no ratio left (Mead & Conway: sum the Z)."""
    good = circuit("a b y VDD VSS", "d y y VDD 8/1", "n a y k 1/1", "n b k VSS 1/1")
    poor = circuit("a b y VDD VSS", "d y y VDD 2/1", "n a y k 1/1", "n b k VSS 1/1")
    assert column(good, "a b", "y") == "1110"
    assert column(poor, "a b", "y") == "111!"


def test_loads_of_every_sort():
    """A saturated enhancement load, a p load with its gate low, a PMOS load on the negative rail (common practice)."""
    saturated = circuit("a y VDD VSS", "n VDD VDD y 8/1", "n a y VSS 1/2")
    pseudo = circuit("a b y VDD VSS", "p VSS VDD y 4/1", "n a y VSS 1/2", "n b y VSS 1/2")
    pmos = circuit("a b y VDD VSS", "p VDD VDD y 8/1", "p a VSS y 1/2", "p b VSS y 1/2")
    assert column(saturated, "a", "y") == "10"
    assert column(pseudo, "a b", "y") == "1000"
    assert column(pmos, "a b", "y") == "1110"  # with VSS the positive rail; NOR in negative logic


def test_contention_is_a_fight():
    """Two inverters on one net, inputs different: X by a fight; inputs equal: a level (Bryant: equal and opposing)."""
    assert column(circuit("a b y VDD VSS", *inverter("a", "y"), *inverter("b", "y")), "a b", "y") == "1!!0"


def test_pass_transistors_and_their_poor_level():
    """An n pass transistor loses one threshold on a 1, none on a 0; through two gates in a row it loses two."""
    one = circuit("d g y VDD VSS", "n g d y")
    assert drops(settle(one, {"d": 1, "g": 1})) == {"y": 1}
    assert drops(settle(one, {"d": 0, "g": 1})) == {}
    assert settle(one, {"d": 1, "g": 0}).level("y") == "Z"
    chain = circuit("d g y VDD VSS", "n g d k", "n g k y")
    assert drops(settle(chain, {"d": 1, "g": 1})) == {"k": 1, "y": 1}  # in series on one gate level: still one
    gated = circuit("d g e y VDD VSS", "n g d k", "n k e y")
    assert drops(settle(gated, {"d": 1, "g": 1, "e": 1})) == {"k": 1, "y": 2}
    both = circuit("d g gn y VDD VSS", *gate("d", "y", "g", "gn"))
    assert drops(settle(both, {"d": 1, "g": 1, "gn": 0})) == {}
    assert drops(settle(circuit("d g y VDD VSS", "p g d y"), {"d": 0, "g": 0})) == {"y": 1}


def test_precharge_holds_and_is_discharged():
    """A dynamic gate keeps its precharged 1 while no path conducts, and loses it for good when one does."""
    netlist = circuit("c a b y VDD VSS", "p c VDD y", "n a y k", "n b k l", "n c l VSS")
    states = sequence(netlist, [{"c": 0, "a": 0, "b": 1}, {"c": 1}, {"a": 1}, {"a": 0}, {"c": 0}])
    assert [s.stored("y") for s in states] == ["1", "1", "0", "0", "1"]
    assert levels(states, "y") == "1Z0Z1"


def test_charge_sharing_by_size():
    """A gate node outweighs the bare node inside a stack; two equal nodes of opposite charge give X (Bryant)."""
    stack = circuit("c a b y VDD VSS", "p c VDD y", "n a y k", "n b k VSS")
    steps = [{"c": 1, "a": 1, "b": 1}, {"a": 0, "b": 0}, {"c": 0}, {"c": 1}, {"a": 1}]  # k at 0, y at 1, then joined
    assert sequence(stack, steps)[-1].stored("y") == "1"
    equal = circuit("p q s w x y VDD VSS", "n p w x", "n q s y", "n s x y", "n x VSS u", "n y VSS v")
    states = sequence(equal, [{"p": 1, "w": 1, "q": 1, "s": 0}, {"p": 0, "q": 0}, {"s": 1}])
    assert states[1].stored("x") == "1"
    assert states[1].stored("y") == "0"
    assert states[2].stored("x") == states[2].stored("y") == "X"


def test_a_bit_line_outweighs_a_gate_node():
    """Nine or more channel ends make a bus, whose charge wins over one cell's (common practice)."""
    ports = "b e " + " ".join(f"w{i}" for i in range(9)) + " VDD VSS"
    lines = [f"n w{i} b s{i}" for i in range(9)] + [f"n s{i} VSS t{i}" for i in range(9)] + ["n e b o"]
    netlist = circuit(f"{ports} o", *lines)
    off = {f"w{i}": 0 for i in range(9)}
    steps = [{**off, "e": 1, "o": 0, "w0": 1}, {"w0": 0, "o": 1}, {"e": 0}, {"w0": 1}]
    states = sequence(netlist, steps)
    assert states[2].stored("s0") == "0"
    assert states[3].stored("s0") == "1"


def test_a_sneak_path_runs_backwards():
    """Two pass networks share a net: a 1 from one source reaches the other output backwards (Bryant: sneak paths)."""
    netlist = circuit("a b s t u y VDD VSS", "n s a k", "n t b k", "n u k y")
    assert settle(netlist, {"a": 1, "b": 0, "s": 1, "t": 1, "u": 1}).level("y") == "!"
    assert settle(netlist, {"a": 1, "b": 0, "s": 1, "t": 0, "u": 1}).level("y") == "1"
    bridge = circuit("a b c d e y VDD VSS", "n a y k", "n b y l", "n e k l", "n c k VSS", "n d l VSS", "p VSS VDD y")
    seen = table(bridge, ["a", "b", "c", "d", "e"], ["y"])
    for row in seen.rows:
        a, b, c, d, e = row.inputs
        assert (row.outputs[0] == "0") == bool(a & c | b & d | a & e & d | b & e & c)
    assert seen.complete


def test_a_ring_oscillates_and_is_told():
    """Three inverters in a ring, opened by a NAND, do not come to rest; their nets become X."""
    ring = circuit(
        "e y VDD VSS", "p e VDD a", "p y VDD a", "n e a k", "n y k VSS", *inverter("a", "b"), *inverter("b", "y")
    )
    states = sequence(ring, [{"e": 0}, {"e": 1}, {"e": 0}])
    assert levels(states, "y") == "1X1"
    assert states[0].oscillating == frozenset()
    assert {"a", "b", "y"} <= states[1].oscillating


def test_an_sr_latch_of_nors():
    """Set, hold, reset, hold (standard function table)."""
    latch = circuit("s r q qn VDD VSS", "n r VSS q", "n qn VSS q", "p r VDD k", "p qn k q",
                    "n s VSS qn", "n q VSS qn", "p s VDD l", "p q l qn")  # fmt: skip
    states = sequence(latch, [{"s": 1, "r": 0}, {"s": 0}, {"r": 1}, {"r": 0}])
    assert levels(states, "q") == "1100"
    assert levels(states, "qn") == "0011"
    assert sequence(latch, [{"s": 0, "r": 0}])[0].level("q") == "X"


def test_a_race_is_told_as_unknown():
    """Both inputs of an SR latch let go at once: which side wins is not known; one after the other it is (standard)."""
    latch = circuit("s r q qn VDD VSS", "n r VSS q", "n qn VSS q", "p r VDD k", "p qn k q",
                    "n s VSS qn", "n q VSS qn", "p s VDD l", "p q l qn")  # fmt: skip
    at_once = sequence(latch, [{"s": 1, "r": 1}, {"s": 0, "r": 0}])
    assert levels(at_once, "q") == "0X"
    in_turn = sequence(latch, [{"s": 1, "r": 1}, {"s": 0}, {"r": 0}])
    assert levels(in_turn, "q") == "000"
    assert levels(in_turn, "qn") == "011"
    assert levels(sequence(latch, [{"s": 1, "r": 0}, {"s": 0, "r": 1}, {"s": 1, "r": 0}]), "q") == "101"


def test_six_transistor_ram_cell_is_written_and_read():
    """A word line high writes what the bit lines say; let go, the lines show the bit; sizes do not matter (M)."""
    cell = circuit("w b bn VDD VSS", *inverter("q", "qn"), *inverter("qn", "q"), "n w b q", "n w bn qn")
    states = sequence(cell, [
        {"w": 1, "b": 0, "bn": 1}, {"w": 0}, {"b": None, "bn": None}, {"w": 1},  # write 0, read
        {"w": 0}, {"w": 1, "b": 1, "bn": 0}, {"w": 0, "b": None, "bn": None}, {"w": 1},  # write 1, read
    ])  # fmt: skip
    assert states[1].level("q") == "0"
    assert (states[3].level("b"), states[3].level("bn")) == ("0", "1")
    assert states[6].level("q") == "1"
    assert (states[7].level("b"), states[7].level("bn")) == ("1", "0")


def test_reading_with_both_lines_high_keeps_the_bit():
    """Both bit lines driven high, the usual start of a read, do not turn the cell over (common practice)."""
    cell = circuit("w b bn VDD VSS", *inverter("q", "qn"), *inverter("qn", "q"), "n w b q", "n w bn qn")
    states = sequence(cell, [{"w": 1, "b": 0, "bn": 1}, {"w": 0}, {"b": 1}, {"w": 1}, {"w": 0}])
    assert states[-1].level("q") == "0"


def test_a_keeper_yields_to_a_write():
    """The weak pull-up of a level restorer loses against the pass transistor, and makes a 1 full (Weste & Harris)."""
    netlist = circuit("d g y VDD VSS", "n g d a", *inverter("a", "y"), "p y VDD a")
    states = sequence(netlist, [{"d": 1, "g": 1}, {"d": 0}, {"d": 1}, {"g": 0}])
    assert levels(states, "y") == "0100"
    assert drops(states[0]) == {}


def test_a_jam_latch_turns_over():
    """A transmission gate overrides the feedback inverter of a loop (common practice)."""
    latch = circuit("d c cn q VDD VSS", *gate("d", "m", "c", "cn"), *inverter("m", "q"), *inverter("q", "m"))
    states = sequence(latch, [{"d": 1, "c": 1, "cn": 0}, {"c": 0, "cn": 1}, {"d": 0}, {"c": 1, "cn": 0}])
    assert levels(states, "q") == "0001"


def test_level_shifter_needs_its_stable_state():
    """Crossed pull-ups start from X; the only stable state is the right one (found by a case split)."""
    shifter = circuit("a y VDD VSS", *inverter("a", "an"), "p y VDD k", "p k VDD y", "n a k VSS", "n an y VSS")
    assert column(shifter, "a", "y") == "01"


def test_wrong_questions_are_told():
    """Unknown nets, too many inputs, values that are no level and supplies that are no nets are refused."""
    with pytest.raises(LayoutdrillError, match='no net "c"'):
        table(NAND, ["a", "c"], ["y"])
    with pytest.raises(LayoutdrillError, match="13 inputs"):
        table(NAND, list("abcdefghijklm"), ["y"])
    with pytest.raises(LayoutdrillError, match="not a level"):
        settle(NAND, {"a": 3, "b": 0})
    with pytest.raises(LayoutdrillError, match="none of the supplies"):
        table(NAND, ["a", "b"], ["y"], {"VCC": 1, "GND": 0})
