"""Proved drawings to ask about, each made once."""

from functools import cache

import pytest

from layoutdrill.cells import load_cell
from layoutdrill.face import DrawnFace
from layoutdrill.process import load_process
from layoutdrill.question import Specimen, kinds
from tests.drawings import drawing_of


@cache
def drawn(cell_name, process_name, seed, difficulty=0.3):
    cell, process = load_cell(cell_name), load_process(process_name)
    found = drawing_of(cell_name, process_name, seed, difficulty)
    return Specimen(
        cell.name,
        cell.structure,
        cell.aliases,
        DrawnFace(found.layout, process, found.extraction),
        found.extraction.netlist,
        cell.boundary,
        cell.look_for,
        seed,
        ports=cell.ports,
    )


CELL_KINDS = tuple(name for name, kind in kinds().items() if not kind.whole_die)
"""The kinds that ask of cells; those of whole dies have tests of their own."""
WIDELY = ("nand2", "latch_static", "latch_gates", "half_adder")
"""Cells of which one suits each kind."""


def asked_of_some_cell(kind, process, dice):
    """Return a question of a kind about the first of some cells that it fits."""
    cells = (cell for cell in WIDELY if load_cell(cell).fits(load_process(process)))
    questions = (kind.ask(drawn(cell, process, 1), dice) for cell in cells)
    return next(question for question in questions if question is not None)


@pytest.fixture(name="drawn", scope="session")
def _drawn():
    """Return the function that draws and proves a cell."""
    return drawn
