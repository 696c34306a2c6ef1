"""Find the page that explains a word: of a lesson, of the library, or of another word that its meaning names."""

import re
from functools import cache

from layoutdrill.cells.library import library
from layoutdrill.deck.words import Word, find_word, taught, words

NOWHERE = "no page"


def place_of(word: Word) -> str:
    """Say in a few letters which page explains a word; of one that has none, which word its meaning leads to."""
    if own := _own_place(word):
        return own
    other = named_in(word)
    return f"see {other.word}" if other is not None else NOWHERE


def cell_showing(word: Word) -> str:
    """Return a cell of the library that shows a structure, or ""."""
    if not word.structure:
        return ""
    return next((cell.name for cell in library().values() if cell.structure.rstrip("0123456789") == word.word), "")


def page_of(name: str) -> tuple[str, str, int]:
    """
    Return what explains a word as (lesson or "cell", its name, the page from 0): its own page, else that of the word
    its meaning names; ("", "", 0) where nothing does.
    """
    word = find_word(name)
    if not _own_place(word):
        word = named_in(word) or word
    place = taught(word)
    if place is not None:
        return "lesson", place.lesson, place.page - 1
    return ("cell", cell, 0) if (cell := cell_showing(word)) else ("", "", 0)


def shown_for(name: str) -> str:
    """Return the word whose page is shown where a word has none of its own; "" where it has, or none is."""
    word = find_word(name)
    other = None if _own_place(word) else named_in(word)
    return "" if other is None else other.word


def _own_place(word: Word) -> str:
    place = taught(word)
    if place is not None:
        return f"lesson {place.number}, page {place.page}"
    return f"library: {cell}" if (cell := cell_showing(word)) else ""


@cache
def named_in(word: Word) -> Word | None:
    """
    Return the structure with a page of its own that a word, or its meaning, names: the one named longest; None where it
    names none.
    """
    about = f"{word.word}; {word.about}"
    named = [
        (len(name), other)
        for other in words()
        if other.structure and other != word
        for name in (other.word, *other.also)
        if _names(about, name)
    ]
    ranked = sorted(named, key=lambda pair: pair[0], reverse=True)
    return next((other for _, other in ranked if _own_place(other)), None)


def _names(about: str, name: str) -> bool:
    said, wanted = (about, name) if name.isupper() else (about.casefold(), name.casefold())
    return wanted in said and bool(re.search(rf"(?<![\w-]){re.escape(wanted)}(?:s|es)?(?![\w-])", said))
