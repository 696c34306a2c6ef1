"""The wrong choices of a lesson’s questions about names are what the lesson shows, as far as it shows enough."""

import pytest

from layoutdrill.deck import load_deck
from layoutdrill.deck.specimen import SpecimenMaker
from layoutdrill.dice import Dice
from layoutdrill.question import kinds
from layoutdrill.question.lookalikes import WRONG, look_alikes_among
from layoutdrill.question.naming import canonical_structure
from tests.sampling import some

LESSONS = ("series-and-parallel", "complex-gates", "switches-and-stores", "loads-and-ratio", "flip-flops-and-registers")
ASKED = 6


def shown_in(deck):
    """Return the structures that a lesson's pages and questions are about, read from the deck itself."""
    cells = [cell for item in deck.items for cell in item.cells]
    cells += [picture.cell for page in deck.pages for picture in page.pictures]
    return {canonical_structure(deck.cell(cell).structure) for cell in cells}


@pytest.mark.parametrize("lesson", some(LESSONS, 2))
def test_wrong_choices_are_what_the_lesson_shows(lesson):
    """All of them where it shows three that could stand there; else all that it shows, and likenesses for the rest."""
    deck, kind, whole = load_deck(lesson), kinds()["name"], 0
    maker, shown = SpecimenMaker(deck), shown_in(deck)
    drawings = [(cell, item.processes[0]) for item in deck.items if "name" in item.kinds for cell in item.cells]
    for number, (cell, process) in enumerate(list(dict.fromkeys(drawings))[:ASKED]):
        if not deck.cell(cell).structure:
            continue
        specimen = maker.specimen(cell, process, 3, 0.3)
        question = kind.ask(specimen, Dice(number))
        right = kind.solution(question).text
        wrong = {canonical_structure(name) for name in question.choices} - {right}
        could = set(look_alikes_among(sorted(shown), right, specimen))
        assert len(wrong & shown) >= min(WRONG, len(could)), (cell, process, wrong - shown)
        whole += wrong <= shown
    assert whole


def test_a_deck_that_teaches_nothing_has_likenesses_as_before():
    """A plain deck has no pages: what its specimens are mistaken for is the trade's table."""
    maker = SpecimenMaker(load_deck("first-gates"))
    item = load_deck("first-gates").items[0]
    assert maker.specimen(item.cells[0], item.processes[0], 3, 0.3).taught == ()
