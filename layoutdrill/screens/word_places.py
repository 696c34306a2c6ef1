"""Find the page that explains a word: of a lesson, else of the library."""

from layoutdrill.cells.library import library
from layoutdrill.deck.words import Word, find_word, taught


def place_of(word: Word) -> str:
    """Say in a few letters which page explains a word."""
    place = taught(word)
    if place is not None:
        return f"lesson {place.number}, page {place.page}"
    return f"library: {cell}" if (cell := cell_showing(word)) else ""


def cell_showing(word: Word) -> str:
    """Return a cell of the library that shows a structure, or ""."""
    if not word.structure:
        return ""
    return next((cell.name for cell in library().values() if cell.structure.rstrip("0123456789") == word.word), "")


def page_of(name: str) -> tuple[str, str, int]:
    """Return what explains a word as (lesson or "cell", its name, the page from 0); ("", "", 0) where nothing does."""
    word = find_word(name)
    place = taught(word)
    if place is not None:
        return "lesson", place.lesson, place.page - 1
    return ("cell", cell, 0) if (cell := cell_showing(word)) else ("", "", 0)
