"""Decks and lessons as data: read, checked with every error in its place, written in one canonical form."""

from layoutdrill.deck.files import deck_names, lesson_names, load_deck
from layoutdrill.deck.model import Arrangement, Deck, Item, Page, Picture
from layoutdrill.deck.write import deck_text

__all__ = [
    "Arrangement",
    "Deck",
    "Item",
    "Page",
    "Picture",
    "deck_names",
    "deck_text",
    "lesson_names",
    "load_deck",
]
