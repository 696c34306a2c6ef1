"""A look that hides what a deck asks: the question comes in another look, and says so."""

import pytest

from layoutdrill.deck import load_deck
from layoutdrill.drill.sitting import Sitting
from layoutdrill.picture.evidence import facts_of, visible
from layoutdrill.picture.looks import load_look, look_names
from layoutdrill.question import kinds
from layoutdrill.question.evidence_rule import TELLABLE


@pytest.mark.parametrize("look", look_names())
def test_every_look_asks_what_the_deck_asks(tmp_path, look):
    """Each question is of a kind that its item wants, and the picture shows what it rests on, or that is told."""
    with Sitting.open_deck("first-gates", count=4, seed=5, look=look, records=tmp_path / "r") as sitting:
        for number, draw in enumerate(sitting.plan):
            question = sitting.prepare(number)
            assert question.kind in draw.kinds
            shown = load_look(question.look or look)
            process = question.specimen.process
            missing = (kinds()[question.kind].needs(question) & facts_of(process)) - visible(shown, process)
            assert missing <= TELLABLE
            told = [fact for fact in question.facts if fact.startswith("Look: ")]
            assert len(told) == bool(question.look)
            assert not told or (load_look(look).title in told[0] and shown.title in told[0])


def test_the_deck_s_own_look_stands_in_first(tmp_path):
    """A deck that names a look is shown in it where the chosen one hides what is asked."""
    deck = load_deck("under-the-microscope")
    with Sitting.open_deck(deck, count=2, seed=1, look="transmitted-light", records=tmp_path / "r") as sitting:
        assert sitting.prepare(0).look == deck.look == "reflected-light"


def test_a_look_that_shows_all_is_kept(tmp_path):
    """Nothing is said where nothing had to be changed."""
    with Sitting.open_deck("first-gates", count=2, seed=5, look="stick-colours", records=tmp_path / "r") as sitting:
        assert sitting.prepare(0).look == ""
