"""The glossary, from anywhere: each word with what it means; choosing one opens the page that explains it."""

from typing import ClassVar

from textual.message import Message

from layoutdrill.deck.words import Word, words
from layoutdrill.screens.doors import DoorPage
from layoutdrill.screens.page import bindings_for
from layoutdrill.screens.row import Row
from layoutdrill.screens.word_places import place_of
from layoutdrill.value import mutable


class GlossaryScreen(DoorPage):
    """Every word; typing narrows the list."""

    name_of: ClassVar[str] = "words"
    about: ClassVar[str] = (
        "The words that questions and pages use. Type letters of one; Enter opens the page that explains it, with its "
        "picture. Esc leads back to where you were."
    )
    BINDINGS = bindings_for("words")

    @mutable
    class PagesFound(Message):
        """A worker found the page of each word."""

        rows: tuple[Row, ...]

    def on_mount(self) -> None:
        self.head("Words")
        self.intro = "Type letters of a word; Enter opens the page that explains it, or that of another word (“see”)."
        self.fill(word_rows())
        self.say(self.intro)

        def work() -> None:
            try:
                rows = word_rows(places=True)
            except Exception as error:  # noqa: BLE001 - shown as a panel; the app lives on
                self.post_message(self.OpeningFailed(error))
            else:
                self.post_message(self.PagesFound(rows))

        self.run_worker(work, thread=True, group="read", exit_on_error=False)

    def on_glossary_screen_pages_found(self, message: PagesFound) -> None:
        self.fill(message.rows)


def word_rows(*, places: bool = False) -> tuple[Row, ...]:
    """Return a row for each word; with its place, which is slow to find at first."""
    return (Row("", "Words"), *(_row(word, places=places) for word in words()))


def _row(word: Word, *, places: bool) -> Row:
    also = f" Also: {', '.join(word.other)}." if word.other else ""
    return Row(f"word:{word.word}", word.word, f"{word.about}.{also}", place_of(word) if places else "")
