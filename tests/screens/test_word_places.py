"""Each word of the glossary leads somewhere, or says that it does not."""

from layoutdrill.cells import load_cell
from layoutdrill.deck import load_deck
from layoutdrill.deck.words import find_word, words
from layoutdrill.screens.word_places import NOWHERE, page_of, place_of, shown_for


def test_every_word_says_where_it_leads():
    """A lesson's page, a cell, a structure that its meaning names and that has a page, or plainly none."""
    led = {word.word: (place_of(word), page_of(word.word)) for word in words()}
    for word, (told, (sort, name, page)) in led.items():
        assert (told == NOWHERE) == (not sort), word
        if told.startswith("see "):
            other = find_word(told.removeprefix("see "))
            assert shown_for(word) == other.word
            assert page_of(other.word) == (sort, name, page)
            assert not place_of(other).startswith(("see ", NOWHERE))
        if sort == "lesson":
            assert 0 <= page < len(load_deck(name).pages)
        elif sort:
            assert load_cell(name)
    assert {told.partition(" ")[0] for told, _ in led.values()} == {"lesson", "library:", "see", "no"}


def test_a_structure_without_a_page_leads_to_what_it_is_made_of():
    """A ripple adder is full adders in a row (Weste & Harris, ch. 11); an arbiter is made of nothing named."""
    assert shown_for("ripple adder") == "full adder"
    assert shown_for("full adder") == ""
    assert place_of(find_word("arbiter")) == NOWHERE
