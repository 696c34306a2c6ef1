"""Home: go on where one left, the syllabus as an outline, decks, and the rest."""

from typing import TYPE_CHECKING, ClassVar

from textual.content import Content
from textual.message import Message

from layoutdrill.screens.list_page import ListPage, Row
from layoutdrill.screens.page import bindings_for
from layoutdrill.value import mutable

if TYPE_CHECKING:
    from layoutdrill.drill.sitting import Sitting

OTHER = (
    Row("", "More"),
    Row("practice:", "Free practice", "any cell, process and kind of question, as hard as you like"),
    Row("library:", "Library", "every cell, array and process: what to look for, and what it is mistaken for"),
    Row("explain:", "Explain a file", "your own netlist or layout: what it is, and where it looks wrong"),
    Row("progress:", "Progress", "what you have answered, by structure"),
    Row("settings:", "Settings", "theme, look, where the open cell kit is"),
    Row("about:", "About, cautions", "what this is, and what to mind around real chips"),
)


class HomeScreen(ListPage):
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

    @mutable
    class SittingOpened(Message):
        """A worker opened a sitting."""

        sitting: "Sitting"

    @mutable
    class OpeningFailed(Message):
        """A worker could not open what was chosen, or read the decks."""

        error: Exception

    def on_mount(self) -> None:
        self.head("layoutdrill", "reading chip layouts")
        self.fill(OTHER)
        if self.bench.settings_error is not None:
            self.bench.show_error(self.bench.settings_error)

    def on_screen_resume(self) -> None:
        self._read()

    def _read(self) -> None:
        def work() -> None:
            from layoutdrill.screens.shelf import home_rows  # noqa: PLC0415 - decks are read off the event loop

            try:
                rows = home_rows()
            except Exception as error:  # noqa: BLE001 - shown as a panel; the app lives on
                self.post_message(self.OpeningFailed(error))
            else:
                self.post_message(self.ListRead(rows))

        self.run_worker(work, thread=True, group="read", exit_on_error=False)

    def on_home_screen_list_read(self, message: ListRead) -> None:
        fresh = not any(row.key.startswith("lesson:") for row in self.rows)
        self.fill((*message.rows, *OTHER))
        if fresh:
            self.options.highlighted = next(at for at, row in enumerate(self.rows) if row.key)
            self.call_after_refresh(self.options.scroll_home, animate=False)

    def on_home_screen_opening_failed(self, message: OpeningFailed) -> None:
        self.bench.show_error(message.error)

    def on_home_screen_sitting_opened(self, message: SittingOpened) -> None:
        from layoutdrill.screens.drill_screen import DrillScreen  # noqa: PLC0415

        self.app.push_screen(DrillScreen(message.sitting))

    def possible(self) -> frozenset[str]:
        return super().possible() - {"leave"}  # nothing lies behind home; ^Q ends

    def chosen(self, key: str) -> None:
        sort, _, name = key.partition(":")
        match sort:
            case "lesson" | "deck":
                from layoutdrill.deck import load_deck  # noqa: PLC0415

                deck = load_deck(name)
                if deck.pages:
                    from layoutdrill.screens.lesson_screen import LessonScreen  # noqa: PLC0415

                    self.app.push_screen(LessonScreen(deck))
                else:
                    self.open_sitting(sort, name)
            case "practice":
                from layoutdrill.screens.practice_screen import PracticeScreen  # noqa: PLC0415

                self.app.push_screen(PracticeScreen())
            case "explain":
                from layoutdrill.screens.explain_screen import ExplainScreen  # noqa: PLC0415

                self.app.push_screen(ExplainScreen())
            case "library":
                from layoutdrill.screens.library import LibraryScreen  # noqa: PLC0415

                self.app.push_screen(LibraryScreen())
            case "settings":
                from layoutdrill.screens.settings_screen import SettingsScreen  # noqa: PLC0415

                self.app.push_screen(SettingsScreen())
            case "progress":
                from layoutdrill.screens.shelf import progress_text  # noqa: PLC0415
                from layoutdrill.screens.text_page import TextPage  # noqa: PLC0415

                self.app.push_screen(TextPage("Progress", Content(progress_text())))
            case "about":
                from layoutdrill.screens.cautions import about_text  # noqa: PLC0415
                from layoutdrill.screens.text_page import TextPage  # noqa: PLC0415

                self.app.push_screen(TextPage("About, cautions", Content(about_text())))
            case _:
                self.open_sitting(sort, name)

    def open_sitting(self, sort: str, name: str) -> None:
        """Open a deck, a placement test, or a sitting left in the middle, in a worker."""
        kit = self.bench.kit

        def work() -> None:
            from layoutdrill.screens.shelf import open_sitting  # noqa: PLC0415

            try:
                sitting = open_sitting(sort, name, kit=kit)
            except Exception as error:  # noqa: BLE001
                self.post_message(self.OpeningFailed(error))
            else:
                self.post_message(self.SittingOpened(sitting))

        self.run_worker(work, thread=True, group="open", exclusive=True, exit_on_error=False)
