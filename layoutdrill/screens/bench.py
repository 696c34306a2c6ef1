"""What a screen needs of the app: settings, telling errors, and the way to other screens, none of which it imports."""

from pathlib import Path
from typing import TYPE_CHECKING, Protocol, runtime_checkable

from textual.screen import Screen

from layoutdrill.errors import LayoutdrillError
from layoutdrill.screens.graphics import Graphics
from layoutdrill.screens.row import Row
from layoutdrill.screens.settings import Settings
from layoutdrill.screens.start import StartRequest

if TYPE_CHECKING:
    from collections.abc import Callable, Collection, Sequence

    from layoutdrill.deck import Deck
    from layoutdrill.drill.open_sitting import OpenSitting
    from layoutdrill.geometry.rect import Rect
    from layoutdrill.question import Specimen
    from layoutdrill.question.stepping import Stepping
    from layoutdrill.screens.legend import Sight
    from layoutdrill.screens.row import Day
    from layoutdrill.screens.subject import Subject


class Routes(Protocol):
    """Makes screens by name; see `routes.py`, which fulfils it."""

    def drill(self, sitting: "OpenSitting") -> Screen[object]: ...

    def lesson(self, deck: "Deck", sitting: "OpenSitting | None" = None, page: int = 0) -> Screen[object]: ...

    def entry(self, sort: str, name: str) -> Screen[object]: ...

    def compare(self, structure: str, specimen: "Specimen", look: str) -> Screen[object]: ...

    def step(self, specimen: "Specimen", stepping: "Stepping", look: str) -> Screen[object]: ...

    def legend(
        self, subject: "Subject", shunned: "Sequence[Rect]", ring: "Callable[[Sight], None]"
    ) -> Screen[object]: ...

    def choose(self, title: str, rows: "Sequence[Row]", then: "Callable[[str], None]") -> Screen[object]: ...

    def find(self, below: Screen[object]) -> Screen[object]: ...

    def practice(self) -> Screen[object]: ...

    def explain(self) -> Screen[object]: ...

    def glossary(self) -> Screen[object]: ...

    def library(self) -> Screen[object]: ...

    def settings(self, at: str = "") -> Screen[object]: ...

    def survey(self) -> Screen[object]: ...

    def progress(self) -> Screen[object]: ...

    def about(self) -> Screen[object]: ...

    def home_rows(self) -> tuple[tuple[Row, ...], LayoutdrillError | None]: ...

    def day_planned(self, seed: int, *, timed: bool = True, left_out: "Collection[int]" = ()) -> "Day": ...

    def open_sitting(
        self, sort: str, name: str, *, kit: Path | None, timed: bool = True, left_out: "Collection[int]" = ()
    ) -> "OpenSitting": ...


@runtime_checkable
class HasImage(Protocol):
    """A widget that may have an image out in the terminal."""

    def take_image_away(self) -> None: ...


class Bench(Protocol):
    """The app as its screens see it."""

    pressed_at: float
    """When the key or the button that is being dealt with was pressed, by the clock of messages."""

    settings: Settings
    settings_error: LayoutdrillError | None
    routes: Routes
    request: StartRequest

    @property
    def graphics(self) -> Graphics | None: ...

    @property
    def kit(self) -> Path | None: ...

    def look_for(self, wanted: str | None) -> str: ...

    def show_error(self, error: Exception) -> None: ...

    def tell_fault(self, error: Exception) -> None: ...

    def open_help(self, name: str, about: str, possible: frozenset[str]) -> None: ...

    def change_theme(self) -> None: ...

    def use(self, settings: Settings) -> None: ...

    def go_on_to(self, page: Screen[object]) -> None: ...

    def leave(self, page: Screen[object]) -> None: ...
