"""Home: go on where one left, the syllabus as an outline, decks, and the rest."""

from typing import ClassVar

from textual.message import Message

from layoutdrill.screens.doors import OTHER, DoorPage
from layoutdrill.screens.page import bindings_for
from layoutdrill.screens.row import Row
from layoutdrill.value import mutable


class HomeScreen(DoorPage):
    """The first screen."""

    name_of: ClassVar[str] = "home"
    about: ClassVar[str] = (
        "Where everything starts. Take the lessons in order if layouts are new to you, or find your place with the "
        "placement test; take a deck or free practice if you know what you are after."
    )
    BINDINGS = bindings_for("home")

    @mutable
    class ListRead(Message):
        """A worker read decks and records."""

        rows: tuple[Row, ...]
        trouble: Exception | None = None

    _told_trouble = False

    def on_mount(self) -> None:
        self.head("layoutdrill", "reading chip layouts")
        self.fill(OTHER)
        if self.bench.settings_error is not None:
            self.bench.show_error(self.bench.settings_error)

    def on_screen_resume(self) -> None:
        self._read()

    def _read(self) -> None:
        routes = self.bench.routes

        def work() -> None:
            try:
                rows, trouble = routes.home_rows()
            except Exception as error:  # noqa: BLE001 - shown as a panel; the app lives on
                self.post_message(self.OpeningFailed(error))
            else:
                self.post_message(self.ListRead(rows, trouble))

        self.run_worker(work, thread=True, group="read", exit_on_error=False)

    def on_home_screen_list_read(self, message: ListRead) -> None:
        fresh = not any(row.key.startswith("lesson:") for row in self.rows)
        self.fill((*message.rows, *OTHER))
        if message.trouble is not None and not self._told_trouble:
            self._told_trouble = True
            self.bench.show_error(message.trouble)
        if fresh:
            self.options.highlighted = next(at for at, row in enumerate(self.rows) if row.key)
            self.call_after_refresh(self.options.scroll_home, animate=False)

    def possible(self) -> frozenset[str]:
        names = super().possible()
        return names if self.sought else names - {"leave"}  # nothing lies behind home; ^Q ends
