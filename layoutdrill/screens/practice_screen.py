"""Free practice: any cell × process × kind of question × difficulty."""

from collections.abc import Callable
from dataclasses import replace
from typing import TYPE_CHECKING, ClassVar

from textual.message import Message

from layoutdrill.cells import cell_names, cells_as_met, load_cell
from layoutdrill.cells.arrays import array_names
from layoutdrill.deck.model import KIT_PROCESS
from layoutdrill.drill.practice import kinds_for, practice_deck
from layoutdrill.drill.sitting import Sitting
from layoutdrill.errors import LayoutdrillError
from layoutdrill.process import load_process, process_names
from layoutdrill.question import kinds
from layoutdrill.screens.choose_page import ChoosePage
from layoutdrill.screens.list_page import ListPage
from layoutdrill.screens.page import bindings_for
from layoutdrill.screens.row import Row
from layoutdrill.screens.settings import Settings, save_settings
from layoutdrill.value import mutable, value

if TYPE_CHECKING:
    from layoutdrill.drill.sitting import Sitting

LEVELS = (("0.1", "tidy"), ("0.3", "plain"), ("0.6", "crowded"), ("0.9", "as crowded as it gets"))
COUNTS = ("5", "10", "20", "40")


@value
class Choice:
    """What was chosen; "" is any."""

    cell: str = ""
    process: str = ""
    kind: str = ""
    difficulty: str = "0.3"
    count: str = "10"


class PracticeScreen(ListPage):
    """Choose, then begin."""

    name_of: ClassVar[str] = "practice"
    about: ClassVar[str] = (
        "Free practice: choose what to be asked about and how, or leave it open. Every question comes with a drawing "
        "made for it."
    )
    BINDINGS = bindings_for("practice")

    @mutable
    class SittingOpened(Message):
        """A worker opened the sitting."""

        sitting: "Sitting"

    @mutable
    class OpeningFailed(Message):
        """A worker could not open it."""

        error: Exception

    def __init__(self) -> None:
        super().__init__()
        self.choice = Choice()

    def on_mount(self) -> None:
        self.choice = remembered(self.bench.settings)
        self.head("Free practice")
        self.intro = "Choose with Enter; whatever stays “any” is drawn by lot."
        self._list()

    def _list(self) -> None:
        level = dict(LEVELS).get(self.choice.difficulty, self.choice.difficulty)
        self.fill(
            (
                Row("begin", "Begin", f"{self.choice.count} questions"),
                Row("cell", "Cell", self.choice.cell or "any"),
                Row("process", "Process", self.choice.process or "any"),
                Row("kind", "Kind of question", self.choice.kind or "any"),
                Row("difficulty", "Drawing", level),
                Row("count", "Questions", self.choice.count),
            )
        )

    def chosen(self, key: str) -> None:
        if key == "begin":
            self._begin()
            return
        offers: dict[str, Callable[[], list[Row]]] = {
            "cell": _cells,
            "process": _processes,
            "kind": lambda: _kinds(self.choice.cell, self.choice.process),
            "difficulty": lambda: [Row(value, word) for value, word in LEVELS],
            "count": lambda: [Row(value, value) for value in COUNTS],
        }
        rows = offers[key]()
        if key in ("cell", "process", "kind"):
            rows.insert(0, Row("any", "any"))
        self.app.push_screen(ChoosePage(_TITLES[key], rows, self._taker(key), getattr(self.choice, key)))

    def _taker(self, key: str) -> Callable[[str], None]:
        def take(value: str) -> None:
            self.choice = replace(self.choice, **{key: "" if value == "any" else value})
            self._remember()
            self._list()

        return take

    def _remember(self) -> None:
        """Keep the choice for the next time; where it cannot be kept, it still holds for now."""
        choice = self.choice
        kept = {f"practice_{name}": getattr(choice, name) for name in ("cell", "process", "kind", "difficulty")}
        self.bench.use(replace(self.bench.settings, count=int(choice.count), **kept))
        try:
            save_settings(self.bench.settings)
        except LayoutdrillError as error:
            self.bench.show_error(error)

    def _begin(self) -> None:
        choice = self.choice

        def work() -> None:
            try:
                sitting = opened(choice)
            except Exception as error:  # noqa: BLE001 - shown as a panel; the app lives on
                self.post_message(self.OpeningFailed(error))
            else:
                self.post_message(self.SittingOpened(sitting))

        self.run_worker(work, thread=True, group="open", exclusive=True, exit_on_error=False)

    def on_practice_screen_sitting_opened(self, message: SittingOpened) -> None:
        self.bench.go_on_to(self.bench.routes.drill(message.sitting))

    def on_practice_screen_opening_failed(self, message: OpeningFailed) -> None:
        self.bench.show_error(message.error)


_TITLES = {
    "cell": "Which cell?",
    "process": "Which process?",
    "kind": "Which kind of question?",
    "difficulty": "How crowded a drawing?",
    "count": "How many questions?",
}


def remembered(settings: Settings) -> Choice:
    """Return what was chosen the last time; what is no more is left open."""
    cell, process, kind = settings.practice_cell, settings.practice_process, settings.practice_kind
    return Choice(
        cell if cell in (*cell_names(), *array_names()) else "",
        process if process in process_names() else "",
        kind if kind in kinds() else "",
        settings.practice_difficulty if settings.practice_difficulty in dict(LEVELS) else "0.3",
        str(settings.count),
    )


def opened(choice: Choice) -> "Sitting":
    """Open the sitting for a choice."""
    deck = practice_deck(
        (choice.cell,) if choice.cell else cell_names(),
        (choice.process,) if choice.process else (),
        (choice.kind,) if choice.kind else (),
        float(choice.difficulty),
    )
    return Sitting.open_deck(deck, count=int(choice.count))


def _cells() -> list[Row]:

    return [Row(name, name, load_cell(name).title) for name in (*cells_as_met(), *array_names())]


def _processes() -> list[Row]:

    return [Row(name, name, load_process(name).title) for name in process_names() if name != KIT_PROCESS]


def _kinds(cell: str, process: str) -> list[Row]:
    """Return the kinds that can be asked of what was chosen."""
    return [Row(name, name, kinds()[name].title) for name in kinds_for(cell, process)]
