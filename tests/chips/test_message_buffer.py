"""The message buffer, whole: its numbers before drawing, its drawing, its behaviour, its file in other hands."""

from collections import Counter
from dataclasses import replace

import pytest

from layoutdrill.cells.chips import chip_names, load_chip
from layoutdrill.cells.entry import Style
from layoutdrill.errors import LayoutdrillError
from layoutdrill.layout.gdswrite import write_gdsii
from layoutdrill.process import load_process
from layoutdrill.recognise.outline import outline
from layoutdrill.recognise.whole import recognise
from tests.chips.message_buffer import PINS, MessageBuffer, random_pins
from tests.chips.plain_extraction import read, shape
from tests.chips.running import compared

PROCESS = "metal-gate-sapphire"


@pytest.fixture(scope="module")
def die(chip_of):
    return chip_of("message_buffer", PROCESS)


@pytest.mark.parametrize("name", chip_names())
def test_as_many_transistors_as_stated(name):
    """A chip has the number of transistors that its file states, and no two of one name."""
    chip = load_chip(name)
    for process in map(load_process, ("metal-gate-sapphire", "metal-gate-cmos")):
        netlist = chip.netlist(process)
        assert len({t.name for t in netlist.transistors}) == chip.transistors[Style.COMPLEMENTARY] >= 300


def test_another_number_is_refused():
    """A chip that has not as many as stated is an error that says both numbers."""
    chip = replace(load_chip("message_buffer"), transistors={Style.COMPLEMENTARY: 479})
    with pytest.raises(LayoutdrillError, match="480 transistors, 479 are stated"):
        chip.netlist(load_process(PROCESS))


def test_the_drawn_die_has_what_was_planned(die):
    """What is extracted from the drawing has the transistors stated (fingers as one), and a pad to each pin."""
    chip, netlist = load_chip("message_buffer"), die.cell
    groups = {(t.kind, t.gate, t.ends) for t in netlist.transistors}
    assert len(groups) == chip.transistors[Style.COMPLEMENTARY]
    opened = die.layout.shapes["glass"]
    assert len(opened) == len(chip.pads)
    for label in die.layout.labels:
        assert sum(r.contains(label.x, label.y) for r in opened) == 1, label.text
    assert {label.text for label in die.layout.labels} == {pad.name for pad in chip.pads}


def test_the_drawn_die_does_what_it_is_meant_to(die):
    """Its switch-level run equals a plain program of the message buffer, step by step; ten thousand in a bench."""
    steps, levels, wrong = compared(die.cell, MessageBuffer(), PINS, random_pins, 150)
    assert (steps, wrong) == (150, [])
    assert levels > 30 * steps


def test_a_lost_transistor_is_noticed(die):
    """The same run tells a buffer that lacks one transistor of a marker: the comparison can fail."""
    lacking = replace(die.cell, transistors=tuple(t for t in die.cell.transistors if t.gate != "PH")[1:])
    _, _, wrong = compared(lacking, MessageBuffer(), PINS, random_pins, 20)
    assert wrong


def test_it_is_seen_for_what_it_is(die):
    """Its netlist alone tells a FIFO, a register row, a decoder, output drivers and protected inputs."""
    lines: Counter[str] = Counter()
    for entry in outline(recognise(die.cell).structures):
        lines[entry.term] += entry.count
    assert lines["4 × 4 FIFO"] == 1
    assert lines["4-bit register"] == 1
    assert lines["2-to-4 decoder"] == 1
    assert lines["output pad"] == 11
    assert lines["input pad"] >= 6


def test_other_hands_read_the_same_netlist(die, tmp_path):
    """Its GDSII, read by gdstk 0.9 and extracted by polygons without the project's code, gives the same netlist."""
    path = tmp_path / "die.gds"
    path.write_bytes(write_gdsii(die.layout, load_process(PROCESS)))
    transistors, names = read(path)
    meant = [(t.kind.value, t.gate, *t.ends) for t in die.cell.transistors]
    assert len(transistors) == len(meant)
    ours = {name: name for name in names}
    assert shape(transistors, names) == shape(meant, ours)
    moved = [
        (kind, ends[0], gate, ends[1]) if k == 7 else (kind, gate, *ends) for k, (kind, gate, *ends) in enumerate(meant)
    ]
    assert shape(moved, ours) != shape(meant, ours)
