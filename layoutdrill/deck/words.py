"""The glossary: the trade's words and the names of structures, each with the lesson page that explains it."""

import re
from functools import cache
from pathlib import Path

from layoutdrill.covers import lesson_names
from layoutdrill.deck.files import load_deck
from layoutdrill.deck.model import Deck, Page
from layoutdrill.errors import LayoutdrillError, did_you_mean
from layoutdrill.recognise.terms import TERMS
from layoutdrill.value import value
from layoutdrill.yamldoc import load

FILE = Path(__file__).with_name("words.yaml")


@value
class Word:
    """A word: its other names, what it means, whether it names a structure."""

    word: str
    also: tuple[str, ...]
    about: str
    structure: bool = False

    @property
    def other(self) -> tuple[str, ...]:
        """Return its other names, plurals left out."""
        return tuple(name for name in self.also if name not in (f"{self.word}s", f"{self.word}es"))


@value
class Taught:
    """The page, numbered from 1, of a lesson that explains a word beside a picture."""

    lesson: str
    number: int
    title: str
    page: int


@cache
def words() -> tuple[Word, ...]:
    """Return all words, by the alphabet."""
    glossary = []
    for entry in load(FILE).root.items():
        fields = entry.fields(("word", "about"), ("also",))
        also = tuple(one.text() for one in fields["also"].items()) if "also" in fields else ()
        glossary.append(Word(fields["word"].text(), also, fields["about"].text()))
    by_name = {term.name: Word(term.name, term.aliases, term.about, structure=True) for term in reversed(TERMS)}
    by_name |= {word.word: word for word in glossary}
    return tuple(sorted(by_name.values(), key=lambda word: word.word.casefold()))


def find_word(text: str) -> Word:
    """
    Return the word that is meant, by any of its names, singular or plural.

    Raises LayoutdrillError where it is not in the glossary, with those near it.
    """
    wanted = " ".join(text.casefold().split())
    spoken = {name.casefold(): word for word in reversed(words()) for name in (*word.also, word.word)}
    for name in (wanted, wanted.removesuffix("s"), wanted.rstrip("0123456789")):
        if name in spoken:
            return spoken[name]
    raise LayoutdrillError(
        f'"{text}" is not in the glossary', todo=did_you_mean(wanted, spoken) or "`layoutdrill words` lists all"
    )


def says(page: Page, word: Word) -> bool:
    """Tell whether a page speaks of a word, by any of its names."""
    as_written, small = _said(page)
    for name in (word.word, *word.also):
        said, wanted = (as_written, name) if name.isupper() else (small, name.casefold())  # AND is not the word “and”
        if wanted in said and re.search(rf"(?<![\w-]){re.escape(wanted)}[0-9]*(?:s|es)?(?![\w-])", said):
            return True
    return False


@cache
def _said(page: Page) -> tuple[str, str]:
    """Return all that a page says, in one line, as it is written and in small letters."""
    said = " ".join(" ".join((page.title, page.text, *(picture.caption for picture in page.pictures))).split())
    return said, said.casefold()


@cache
def taught(word: Word) -> Taught | None:
    """Return the first page that speaks of a word, with a picture. Slow at first: it reads all lessons."""
    for lesson in _lessons():
        for number, page in enumerate(lesson.pages, 1):
            if page.pictures and says(page, word):
                return Taught(lesson.name, lesson.lesson or 0, lesson.title, number)
    return None


@cache
def _lessons() -> tuple[Deck, ...]:
    return tuple(load_deck(name) for name in lesson_names())
