"""Arrays are asked about like cells: every kind fits, and the choices offered are other arrays."""

import pytest

from layoutdrill.cells import load_cell
from layoutdrill.cells.arrays import array_names
from layoutdrill.deck.specimen import drawn
from layoutdrill.dice import Dice
from layoutdrill.drill.practice import practice_deck
from layoutdrill.process import load_process
from layoutdrill.question import kinds
from layoutdrill.question.lookalikes import look_alikes, would_show
from tests.question.fairness import grade

ARRAYS = {load_cell(name).structure for name in array_names()}


@pytest.mark.parametrize("process", ["silicon-gate-cmos", "silicon-gate-nmos"])
def test_every_kind_of_the_eye_fits_a_ram(process):
    """Each kind asks, and takes its own solution for right."""
    specimen = drawn(load_cell("ram_array_2x2"), process, 3, 0.2)
    for name in ("name", "count", "spot", "point", "rails", "same net", "polarity"):
        kind = kinds()[name]
        question = kind.ask(specimen, Dice(1))
        assert question is not None, kind.name
        assert kind.grade(question, kind.solution(question)).credit == 1


@pytest.mark.parametrize("process", ["silicon-gate-cmos", "silicon-gate-nmos", "metal-gate-pmos"])
def test_the_choices_beside_an_array_are_arrays(process):
    """Nobody takes a RAM for an inverter: at least three other arrays come first, the nearest with what tells it."""
    made = load_process(process)
    for name in array_names():
        cell = load_cell(name)
        if cell.fits(made):
            others = look_alikes(cell.structure, cell.aliases, name, made, cell.netlist(made).count())
            assert len(others) >= 3
            assert set(others) <= ARRAYS
            assert cell.structure not in others
            assert would_show(cell.structure, name, others[0], made)


# Source: what a FIFO's stages and a whole FIFO are called, data sheets of the 40105 type; the credit is our own rule.
def test_the_wider_word_for_a_slice_earns_half():
    """A slice is one row of a FIFO: “FIFO” is true but too wide; the other way round it is wrong."""
    kind = kinds()["name"]
    specimen = drawn(load_cell("fifo_slice_2"), "silicon-gate-cmos", 1, 0.2)
    question = kind.ask(specimen, Dice(1))
    assert question is not None
    assert [grade(kind, question, typed).credit for typed in ("fifo stage", "fifo", "register")] == [1, 0.5, 0]


def test_an_array_can_be_practised_by_its_name():
    """Also of a size that no list names; a process that it does not fit is left out."""
    (item,) = practice_deck(("memory_array_2x3",), (), ("same net",), 0.3).items
    assert item.cells == ("memory_array_2x3",)
    assert "silicon-gate-nmos" in item.processes
    assert "metal-gate-pmos" not in item.processes
