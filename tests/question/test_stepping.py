"""Stepping through a circuit: every net has a level and a place, and what is stored stays."""

from dataclasses import replace

import pytest

from layoutdrill.dice import Dice
from layoutdrill.question import kinds
from layoutdrill.question.stepping import begun, levelled, net_places
from layoutdrill.screens.schematic import schematic
from layoutdrill.screens.step_screen import walk_words


def walk_of(drawn, kind, cell, process="silicon-gate-cmos"):
    """Return the start of a walk after a question of a kind, and the question."""
    question = next(q for seed in range(40) if (q := kinds()[kind].ask(drawn(cell, process, 1), Dice(seed))))
    return begun(question.specimen, kinds()[kind].stepping(question)), question


@pytest.mark.parametrize("kind", ["table", "function"])
def test_rows_go_by_in_the_order_of_the_table(drawn, kind):
    """A NAND is 1, 1, 1, 0 from row to row (trade: 1110 for 00, 01, 10, 11), then it begins again."""
    walk, _ = walk_of(drawn, kind, "nand2")
    seen = []
    for _ in range(5):
        seen.append(walk.levels["y"])
        walk = walk.onward()
    assert seen == ["1", "1", "1", "0", "1"]


def test_one_input_is_turned_and_taken_back(drawn):
    """A key changes its input alone; a level is that of the net and no colour."""
    walk, _ = walk_of(drawn, "table", "nand2")
    after = walk.turned("b")
    assert (after.row["a"], after.row["b"]) == (0, 1)
    assert set(after.levels.values()) <= set("01zx?")
    assert after.turned("b").levels == walk.levels


def test_a_latch_keeps_what_it_has(drawn):
    """A transparent latch of gates follows while it is enabled, and holds afterwards (LS75 data sheet)."""
    walk, _ = walk_of(drawn, "sequence", "latch_gates")
    clock = next(name for name in walk.stepping.inputs if name != "d")
    walk = walk if walk.row["d"] else walk.turned("d")
    walk = walk if walk.row[clock] else walk.turned(clock)
    output = walk.stepping.output
    held = walk.turned(clock).turned("d")
    assert held.levels[output] == walk.levels[output]
    assert held.turned(clock).levels[output] != walk.levels[output]


def test_the_sequence_that_was_asked_about_goes_by(drawn):
    """Space replays it step by step; the output has the levels of the key."""
    walk, question = walk_of(drawn, "sequence", "latch_static")
    seen = walk.levels[question.key.output]
    for _ in question.key.steps[1:]:
        walk = walk.onward()
        seen += walk.levels[question.key.output]
    assert seen == question.key.levels


def test_a_clock_goes_by_edges(drawn):
    """After that Space gives the clock one edge at a time, and changes nothing else."""
    walk, _ = walk_of(drawn, "sequence", "latch_gates")
    clocked = replace(walk.stepping, clocks=(walk.stepping.inputs[-1],), script=())
    walk = begun(walk.specimen, clocked)
    before, after = walk.row, walk.onward().row
    assert [name for name in before if before[name] != after[name]] == [clocked.clocks[0]]


@pytest.mark.parametrize("process", ["silicon-gate-cmos", "silicon-gate-nmos", "metal-gate-pmos"])
def test_every_net_has_its_place_on_the_picture(drawn, process):
    """The character of a net stands on the net."""
    specimen = drawn("nand2", process, 1)
    places = net_places(specimen.face.scene, specimen.netlist)
    assert set(places) == set(specimen.netlist.nets)
    for net, (x, y) in places.items():
        assert net in {name for _, name in specimen.extraction.nets_at(x, y)}


def test_levels_stand_in_the_schematic(drawn):
    """The names in the schematic carry their levels, with nothing left out."""
    walk, _ = walk_of(drawn, "table", "nand2")
    drawing = schematic(levelled(walk.specimen.netlist, walk.levels), ("VSS=0", "VDD=1"), 60)
    for word in ("a=0", "b=0", "y=1", "VDD=1", "VSS=0"):
        assert word in drawing
    words = walk_words(walk, 60)
    assert "1 a=0" in words
    assert "z floating" in words
