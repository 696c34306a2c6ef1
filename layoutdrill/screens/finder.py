"""Find anything: what can be done on the screen below, lessons, decks, cells, processes, words, settings."""

from typing import ClassVar

from textual.message import Message
from textual.screen import Screen

from layoutdrill.deck import lesson_covers
from layoutdrill.screens.actions import key_word, offered
from layoutdrill.screens.doors import OTHER, DoorPage
from layoutdrill.screens.glossary import word_rows
from layoutdrill.screens.library import library_rows
from layoutdrill.screens.page import Page, bindings_for
from layoutdrill.screens.row import Row
from layoutdrill.screens.settings import Settings
from layoutdrill.screens.settings_screen import setting_rows
from layoutdrill.screens.shelf import deck_rows, lesson_rows
from layoutdrill.value import mutable

DO = "do"


class FinderScreen(DoorPage):
    """A list of all there is; typing narrows it."""

    name_of: ClassVar[str] = "finder"
    about: ClassVar[str] = "Everything there is: type some letters of it, and Enter goes there. Esc leads back."
    BINDINGS = bindings_for("finder")

    @mutable
    class ListRead(Message):
        """A worker read decks and cells."""

        rows: tuple[Row, ...]

    def __init__(self, below: Page) -> None:
        super().__init__()
        self.below = below
        self.intro = "Type letters of what you look for."

    def on_mount(self) -> None:
        self.head("Find")
        self.fill(action_rows(self.below.name_of, self.below.possible()))
        self.say(self.intro)

        def work() -> None:
            try:
                places = () if self.bench.request.confined else place_rows()
                settings = () if self.bench.request.confined else found_settings(self.bench.settings)
                rows = (*action_rows(self.below.name_of, self.below.possible()), *places, *settings)
            except Exception as error:  # noqa: BLE001 - shown as a panel; the app lives on
                self.post_message(self.OpeningFailed(error))
            else:
                self.post_message(self.ListRead(rows))

        self.run_worker(work, thread=True, group="read", exit_on_error=False)

    def on_finder_screen_list_read(self, message: ListRead) -> None:
        self.fill(message.rows)

    def chosen(self, key: str) -> None:
        sort, _, name = key.partition(":")
        if sort == DO:
            self.bench.leave(self)
            self.below.do(name)
        else:
            super().chosen(key)

    def go_to(self, page: Screen[object]) -> None:
        """Open a page in the place of this one."""
        self.bench.go_on_to(page)


def action_rows(screen: str, possible: frozenset[str]) -> tuple[Row, ...]:
    """Return a row for each action of a screen; what cannot be done just now says so."""
    rows = [Row("", "Here")]
    for action in offered(screen):
        if action.keys and action.name not in ("find", "seek_less"):
            keys = ", ".join(key_word(key) for key in action.keys)
            now = "" if action.name in possible else " · not just now"
            rows.append(Row(f"{DO}:{action.name}", action.label, action.about, keys + now))
    return tuple(rows)


def found_settings(now: Settings) -> tuple[Row, ...]:
    """Return a row that leads to each setting."""
    rows = (Row(f"settings:{row.key}", row.name, row.text) for row in setting_rows(now))
    return (Row("", "Settings"), *rows)


def place_rows() -> tuple[Row, ...]:
    """Return lessons, decks, the other screens, processes, cells, words. Slow: reads every deck and cell."""
    return (*lesson_rows(lesson_covers(), ()), *deck_rows(), *OTHER, *library_rows(), *word_rows())
