"""Decks and lessons as data: read, checked with every error in its place, written in one canonical form."""

from layoutdrill.covers import Cover, deck_covers, lesson_covers, lesson_names
from layoutdrill.deck.files import deck_names, load_deck
from layoutdrill.deck.model import Arrangement, Deck, Item, Page, Picture
from layoutdrill.deck.write import deck_text

__all__ = [
    "Arrangement",
    "Cover",
    "Deck",
    "Item",
    "Page",
    "Picture",
    "deck_covers",
    "deck_names",
    "deck_text",
    "lesson_covers",
    "lesson_names",
    "load_deck",
]
