"""Nets beyond a resistor, clamps, and levels that hang on sizes: what is asked of them, and what is not."""

import pytest

from layoutdrill.dice import Dice
from layoutdrill.netlist.spice import read_spice
from layoutdrill.process import load_process
from layoutdrill.question import kinds
from layoutdrill.question.circuit import Pins, Undrawn, rows_of
from layoutdrill.question.fault import column_of
from layoutdrill.question.measurement import MeasurementKey, Reading
from layoutdrill.question.targets import is_load
from layoutdrill.question.ways import hard_to_call, way_to
from layoutdrill.simulate.levels import Level
from tests.question.fairness import unfair

PAD = "pad_in_clamped", "metal-gate-pmos-vgg", 1000
RESISTOR = "A strip drawn for its length is a resistor: the nets at its two ends are two."


def test_a_probe_behind_a_resistor_reads_the_full_level(drawn):
    """No current flows behind a pad's resistor, so no level is lost (Ohm's law), and the verdict names the resistor."""
    kind, specimen = kinds()["measurement"], drawn(*PAD)
    behind = next(node for node in specimen.netlist.elements[0].nodes if node != "pad")
    asked = [kind.ask(specimen, Dice(seed)) for seed in range(12)]
    inner = [q for q in asked if MeasurementKey.of(q).net == behind]
    assert inner
    for question in inner:
        key = MeasurementKey.of(question)
        assert key.right == (Reading.HIGH if key.row["pad"] else Reading.LOW)
        assert "the resistor leads to" in kind.grade(question, kind.solution(question)).decides
        assert not unfair(kind, question)


def test_a_clamp_is_no_load(drawn):
    """Gate and source on the supply that shuts it: it conducts at no level between the rails (common practice)."""
    specimen = drawn(*PAD)
    clamp = next(t for t in specimen.netlist.transistors if t.gate == "VSS")
    loads = [t for t in specimen.netlist.transistors if is_load(t, specimen.process, specimen.netlist)]
    assert clamp not in loads
    assert {t.gate for t in loads} == {"VGG"}


@pytest.mark.parametrize("name", ["across a seam", "same net", "transcribe", "reading check"])
def test_a_resistor_is_told_to_part_two_nets(drawn, name):
    """Diffusion runs on unbroken through it: that it counts as a device is a convention, which is said."""
    kind = kinds()[name]
    asked = [q for seed in range(4) if (q := kind.ask(drawn(*PAD), Dice(seed))) is not None]
    assert asked
    for question in asked:
        assert RESISTOR in question.facts
        assert not unfair(kind, question)
    plain = kind.ask(drawn("nand2", "metal-gate-pmos-vgg", 1), Dice(1))
    assert RESISTOR not in plain.facts


TWO_SWITCHES = """
.subckt two a b y
mp y VSS a VDD pmos w=90u l=3u
mn y VDD b VSS nmos w={wide}u l={long}u
.ends
"""


class _Read:
    """Stands for an extraction of which only the netlist is looked at."""

    def __init__(self, netlist):
        self.netlist = netlist


@pytest.mark.parametrize(("wide", "long", "asked"), [(6, 3, False), (3, 15, True)])
def test_a_level_that_hangs_on_two_open_switches_is_not_asked(wide, long, asked):
    """Of two open switches one wins by its size, which is no way to read a circuit; of switch and resistor it is."""
    process = load_process("silicon-gate-cmos")
    netlist = read_spice(TWO_SWITCHES.format(wide=wide, long=long), "two.sp")
    circuit, pins = Undrawn(netlist, process, ()), Pins(("a", "b"), ("y",), {})
    (_, high), *_ = [(row, level) for row, level in rows_of(circuit, pins, "y") if row == {"a": 1, "b": 0}]
    assert high is Level.HIGH
    levels = {"a": Level.HIGH, "b": Level.LOW, "y": high, "VDD": Level.HIGH, "VSS": Level.LOW}
    sources = {"a": 1, "b": 0, "VDD": 1, "VSS": 0}
    assert way_to(netlist, levels, "y", sources, 0) is not None
    assert hard_to_call(netlist, process, levels, sources, "y", high) is not asked
    column = column_of(_Read(netlist), Undrawn(netlist, process, ()), pins)
    assert (column is not None) is asked
