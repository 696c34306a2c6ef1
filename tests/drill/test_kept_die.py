"""The deck that is kept for checking: photographs of dies that no lesson shows, and what their marks spell."""

import pytest

from layoutdrill.cells import load_cell
from layoutdrill.deck import lesson_names, load_deck
from layoutdrill.netlist.compare import compare
from layoutdrill.photo.netlist import netlist_of
from layoutdrill.photo.read import load_marks
from layoutdrill.process import load_process
from tests.bench.kept_die import SHOTS

DECK = load_deck("next-die")


def test_every_item_is_a_photograph():
    """Kept for checking, of four dies; none of the marks' circuits comes in a lesson in that process."""
    assert DECK.kept
    assert len(DECK.photographs) == len(SHOTS)
    assert {cell for item in DECK.items for cell in item.cells} == set(DECK.photographs)
    lessons = [item for name in lesson_names() for item in load_deck(name).items]
    for shot in SHOTS:
        assert not any(shot.cell in item.cells and item.look == shot.look for item in lessons)


@pytest.mark.parametrize("shot", SHOTS, ids=lambda shot: shot.name)
def test_the_marks_spell_the_circuit_that_was_photographed(shot):
    """By isomorphism with the library's own netlist of the cell in that process."""
    (place,) = [place for place in DECK.photographs.values() if shot.name in str(place.marks)]
    marks, process = load_marks(place.marks), load_process(shot.process)
    assert compare(netlist_of(marks, process, shot.name), load_cell(shot.cell).netlist(process)).equal
