"""Home: go on where one left, the syllabus as an outline, decks, and the rest."""

from collections.abc import Sequence
from contextlib import suppress
from secrets import randbits
from typing import ClassVar

from textual.message import Message
from textual.screen import Screen

from layoutdrill.screens.doors import OTHER, DoorPage
from layoutdrill.screens.page import bindings_for
from layoutdrill.screens.row import NOT_BEGUN, Day, Row
from layoutdrill.value import mutable

COMING = "Lessons and decks are being read: they come in a moment, above what stands here."


class HomeScreen(DoorPage):
    """The first screen."""

    name_of: ClassVar[str] = "home"
    about: ClassVar[str] = (
        "Where everything starts. Take the lessons in order if layouts are new to you, or find your place with "
        "“Find my place” below them; take a deck or free practice if you know what you are after."
    )
    elsewhere: ClassVar[str] = " ^P finds cells and words too."
    BINDINGS = bindings_for("home")

    @mutable
    class ListRead(Message):
        """A worker read decks and records."""

        rows: tuple[Row, ...]
        trouble: Exception | None = None

    @mutable
    class TodayPlanned(Message):
        """A worker planned today's questions."""

        day: Day

    _told_trouble = _listed = False
    _today = Day((), {})
    _below: tuple[Row, ...] = OTHER

    def on_mount(self) -> None:
        self.head("layoutdrill", "reading chip layouts")
        self.fill(OTHER)
        if self.bench.settings_error is not None:
            self.bench.show_error(self.bench.settings_error)

    def fill(self, rows: Sequence[Row]) -> None:
        """Show the rows; until the lessons stand there no cursor does, so that Enter opens nothing in their place."""
        super().fill(rows)
        if not self._listed:
            self.options.highlighted = None
            self.say("")

    def say(self, words: str) -> None:
        """Say that the lessons are coming for as long as they are not there: what stands below is not all there is."""
        super().say(words if self._listed else COMING)

    def go_to(self, page: Screen[object]) -> None:
        """Open a page; whoever comes back finds the whole list."""
        super().go_to(page)
        self.sought = ""

    def on_screen_resume(self) -> None:
        self._read()

    def _read(self) -> None:
        routes = self.bench.routes

        def work() -> None:
            try:
                rows, trouble = routes.home_rows()
            except Exception as error:  # noqa: BLE001 - shown as a panel; the app lives on
                self._listed = True
                self.post_message(self.OpeningFailed(error))
                self.call_later(self._plan)
            else:
                self.post_message(self.ListRead(rows, trouble))

        self.run_worker(work, thread=True, group="read", exit_on_error=False)

    def _plan(self) -> None:
        """Plan the day, once the list stands: that takes most of the program."""
        routes, settings = self.bench.routes, self.bench.settings

        def work() -> None:
            day = Day((), {})
            with suppress(Exception):  # what is wrong with the records has been told; the lessons stand without it
                day = routes.day_planned(randbits(31), timed=settings.timed, left_out=settings.resting)
            self.post_message(self.TodayPlanned(day))

        self.run_worker(work, thread=True, group="plan", exit_on_error=False)

    def on_home_screen_list_read(self, message: ListRead) -> None:
        fresh = not any(row.key.startswith("lesson:") for row in self.rows)
        self._below = (*message.rows, *OTHER)
        self._listed = True
        self.say("")
        self.fill(self._today.onto(self._below))
        if message.trouble is not None and not self._told_trouble:
            self._told_trouble = True
            self.bench.show_error(message.trouble)
        if fresh and _none_begun(self.rows):
            self._begin_at_the_first()
        elif fresh:
            self.options.highlighted = None  # Today comes first: Enter opens nothing in its place, and no cursor jumps
        self.call_after_refresh(self._plan)

    def on_home_screen_today_planned(self, message: TodayPlanned) -> None:
        """Put today first; the cursor goes there unless it stands somewhere by then."""
        stood = self.under_cursor
        self._today = message.day
        self.fill(self._today.onto(self._below))
        if not stood and not self.sought:
            self._begin_at_the_first()

    def _begin_at_the_first(self) -> None:
        keys = [row.key for row in self.rows]
        self.options.highlighted = keys.index(where_to_begin(self.rows))
        self.call_after_refresh(self.options.scroll_home, animate=False)

    def possible(self) -> frozenset[str]:
        names = super().possible()
        return names if self.sought else names - {"leave"}  # nothing lies behind home; ^Q ends


def where_to_begin(rows: Sequence[Row]) -> str:
    """Return the key of the row under the cursor at first: lesson 1 for whoever has begun none, else the uppermost."""
    if _none_begun(rows):
        return next(row.key for row in rows if row.key.startswith("lesson:"))
    return next((row.key for row in rows if row.key), "")


def _none_begun(rows: Sequence[Row]) -> bool:
    lessons = [row for row in rows if row.key.startswith("lesson:")]
    return bool(lessons) and all(row.state in ("", NOT_BEGUN) for row in lessons)
