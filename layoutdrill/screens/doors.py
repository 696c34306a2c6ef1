"""What home and the finder lead to: lessons, decks, sittings, cells, processes, words, and the other screens."""

from typing import TYPE_CHECKING

from textual.content import Content
from textual.message import Message

from layoutdrill.screens.list_page import ListPage, Row
from layoutdrill.screens.page import Page
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


class DoorPage(ListPage):
    """A list whose rows open something: a key is a sort, a colon, and a name."""

    @mutable
    class SittingOpened(Message):
        """A worker opened a sitting."""

        sitting: "Sitting"

    @mutable
    class OpeningFailed(Message):
        """A worker could not open what was chosen, or read what there is."""

        error: Exception

    def go_to(self, page: Page) -> None:
        """Open a page over this one."""
        self.app.push_screen(page)

    def on_door_page_opening_failed(self, message: OpeningFailed) -> None:
        self.bench.show_error(message.error)

    def on_door_page_sitting_opened(self, message: SittingOpened) -> None:
        from layoutdrill.screens.drill_screen import DrillScreen  # noqa: PLC0415

        self.go_to(DrillScreen(message.sitting))

    def chosen(self, key: str) -> None:
        if self.bench.request.confined:
            return
        sort, _, name = key.partition(":")
        match sort:
            case "lesson" | "deck":
                from layoutdrill.deck import load_deck  # noqa: PLC0415

                deck = load_deck(name)
                if deck.pages:
                    from layoutdrill.screens.lesson_screen import LessonScreen  # noqa: PLC0415

                    self.go_to(LessonScreen(deck))
                else:
                    self.open_sitting(sort, name)
            case "cell" | "process":
                from layoutdrill.deck.entry import cell_entry, process_entry  # noqa: PLC0415
                from layoutdrill.screens.lesson_screen import LessonScreen  # noqa: PLC0415

                self.go_to(LessonScreen(process_entry(name) if sort == "process" else cell_entry(name)))
            case "practice":
                from layoutdrill.screens.practice_screen import PracticeScreen  # noqa: PLC0415

                self.go_to(PracticeScreen())
            case "explain":
                from layoutdrill.screens.explain_screen import ExplainScreen  # noqa: PLC0415

                self.go_to(ExplainScreen())
            case "library":
                from layoutdrill.screens.library import LibraryScreen  # noqa: PLC0415

                self.go_to(LibraryScreen())
            case "settings":
                from layoutdrill.screens.settings_screen import SettingsScreen  # noqa: PLC0415

                self.go_to(SettingsScreen())
            case "progress":
                from layoutdrill.screens.shelf import progress_text  # noqa: PLC0415
                from layoutdrill.screens.text_page import TextPage  # noqa: PLC0415

                self.go_to(TextPage("Progress", Content(progress_text())))
            case "about":
                from layoutdrill.screens.cautions import about_text  # noqa: PLC0415
                from layoutdrill.screens.text_page import TextPage  # noqa: PLC0415

                self.go_to(TextPage("About, cautions", Content(about_text())))
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
