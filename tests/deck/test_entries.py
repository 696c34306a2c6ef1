"""The library's entries are decks: they read back as what they are, and their pictures and questions are proved."""

import pytest

from layoutdrill.cells import cell_names, load_cell
from layoutdrill.cells.arrays import array_names
from layoutdrill.deck.check import check_deck
from layoutdrill.deck.entry import cell_entry, process_entry, told_of
from layoutdrill.deck.known import drawn_processes
from layoutdrill.deck.model import Arrangement
from layoutdrill.deck.read import read_deck
from layoutdrill.deck.write import deck_text
from layoutdrill.errors import LayoutdrillError
from layoutdrill.process import load_process
from layoutdrill.yamldoc import loads
from tests.sampling import some


@pytest.mark.parametrize("name", [*cell_names(), *array_names()])
def test_every_entry_reads_back(name):
    """As a deck of one's own it would have no error; each look-alike on it is another structure, with what tells it."""
    entry = cell_entry(name)
    deck, errors = read_deck(loads(deck_text(entry), "entry"), entry.name)
    assert not errors
    assert deck.items == entry.items
    for page in entry.pages[1:]:
        assert page.arrangement is Arrangement.SIDE_BY_SIDE
        assert len(page.pictures) >= 2
    cell = load_cell(name)
    for process in drawn_processes():
        if cell.fits(load_process(process)):
            assert any(cell.structure in words for words in told_of(cell, load_process(process)))


@pytest.mark.parametrize("name", some(["pass_n", "super_buffer", "sr_nor", "decoder2_nor"]))
def test_an_entry_s_pictures_and_questions_are_proved(tmp_path, name):
    """The checker of decks draws every picture and asks of every item."""
    path = tmp_path / "entry.yaml"
    path.write_text(deck_text(cell_entry(name)))
    assert not check_deck(path)


@pytest.mark.parametrize("name", drawn_processes())
def test_a_process_tells_how_it_is_told(name):
    """In its own words, with the cells that make sense in it."""
    entry = process_entry(name)
    process = load_process(name)
    words = " ".join(page.text for page in entry.pages)
    assert process.about.strip() in words
    assert process.tell.strip() in words
    for cell in cell_names():
        listed = f" {cell}," in words or f" {cell}." in words
        assert listed == load_cell(cell).fits(process), cell


@pytest.mark.parametrize("name", some(drawn_processes()))
def test_a_process_s_pictures_are_proved(tmp_path, name):
    """Each page of its entry is drawn and asked about, as of a deck of one's own."""
    path = tmp_path / "entry.yaml"
    path.write_text(deck_text(process_entry(name)))
    assert not check_deck(path)


def test_the_kit_s_process_is_told_without_drawings():
    """Nothing is drawn in it, so nothing is promised."""
    entry = process_entry("open-130nm")
    assert not entry.items
    assert not any(page.pictures for page in entry.pages)


def test_an_unknown_name_is_told():
    """With the name that was perhaps meant."""
    with pytest.raises(LayoutdrillError, match='no cell "nad2"; did you mean "nand2"'):
        cell_entry("nad2")
