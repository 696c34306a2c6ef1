"""A part cut out of a die is, read from its own shapes alone, the library's cell of which that field was made."""

import pytest

from layoutdrill.cells import load_cell
from layoutdrill.dice import Dice
from layoutdrill.face import DrawnFace
from layoutdrill.netlist.compare import Merge, compare
from layoutdrill.process import load_process
from layoutdrill.question import Specimen, kinds
from layoutdrill.question.cut_out import MOST_OF_ONE, cut_out, readable_parts
from layoutdrill.question.die_plan import die_plan

PROCESS = "metal-gate-sapphire"
CELLS = {"register bit": "register_bit", "latch": "latch_static"}
"""Of what the fields of the message buffer are made, by the library's names."""


@pytest.fixture(scope="module")
def parts(chip_of):
    die, cell, process = chip_of("message_buffer", PROCESS), load_cell("message_buffer"), load_process(PROCESS)
    face = DrawnFace(die.layout, process, die.extraction)
    specimen = Specimen(cell.name, cell.structure, (), face, die.cell, cell.boundary, seed=1, ports=cell.ports)
    plan = die_plan(specimen)
    units = [unit for area in plan.areas for unit in readable_parts(area.repeats[1])]
    made = {unit.term: (unit, cut_out(specimen, plan.recognition, unit)) for unit in units if unit.term in CELLS}
    return specimen, made


def test_it_is_what_it_was_on_the_die(parts):
    """Same transistors as on the die and no others, few enough to be read, with every net that leads out named."""
    die, made = parts
    assert set(made) == set(CELLS)
    for unit, part in made.values():
        assert len(part.netlist.transistors) == len(unit.transistors) <= MOST_OF_ONE
        places = {r.centre for name in unit.transistors for r in die.extraction.channel(name)}
        assert {r.centre for t in part.netlist.transistors for r in part.extraction.channel(t.name)} == places
        assert set(die.process.supplies) <= set(part.netlist.ports)
        assert {port.name for port in part.ports} < set(part.netlist.ports)


def test_it_can_be_read_in_full(parts):
    """The kinds that read a circuit ask about it: which structure, its sequence, how many transistors."""
    _, made = parts
    for _, part in made.values():
        for kind in ("count", "name", "sequence"):
            question = kinds()[kind].ask(part, Dice(1))
            assert question is not None
            assert kinds()[kind].judge(question, kinds()[kind].solution(question)).correct


def test_it_is_the_cell_of_the_library(parts):
    """By structure alone the latch that was cut out is the library's static latch, which drew it."""
    _, made = parts
    latch = load_cell(CELLS["latch"]).netlist(load_process(PROCESS))
    assert compare(made["latch"][1].netlist, latch, ports=False, merge=Merge.FINGERS).equal
