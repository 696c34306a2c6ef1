"""
Make a screen by its name: the one file that knows them all. Screens open each other through it.

A screen's module, and the rooms that it draws on, are imported when it is first opened: whoever starts with home need
not wait for the drill.
"""

from pathlib import Path
from typing import TYPE_CHECKING

from textual.content import Content
from textual.screen import Screen

from layoutdrill.errors import LayoutdrillError
from layoutdrill.screens.row import Row

if TYPE_CHECKING:
    from collections.abc import Callable, Collection, Sequence

    from layoutdrill.deck import Deck
    from layoutdrill.drill.open_sitting import OpenSitting
    from layoutdrill.geometry.rect import Rect
    from layoutdrill.photo.session import MarkSession
    from layoutdrill.question import Specimen
    from layoutdrill.question.stepping import Stepping
    from layoutdrill.screens.legend import Sight
    from layoutdrill.screens.row import Day
    from layoutdrill.screens.subject import Subject
    from layoutdrill.workshop.model import WorkshopSet


def home() -> Screen[object]:
    from layoutdrill.screens.home_screen import HomeScreen

    return HomeScreen()


def drill(sitting: "OpenSitting") -> Screen[object]:
    from layoutdrill.screens.drill_screen import DrillScreen

    return DrillScreen(sitting)


def lesson(deck: "Deck", sitting: "OpenSitting | None" = None, page: int = 0) -> Screen[object]:
    from layoutdrill.screens.lesson_screen import LessonScreen

    return LessonScreen(deck, sitting, page)


def entry(sort: str, name: str) -> Screen[object]:
    """Return the pages on a cell or a process of the library."""
    from layoutdrill.deck.entry import cell_entry, process_entry

    return lesson(process_entry(name) if sort == "process" else cell_entry(name))


def show(made: "WorkshopSet", number: int) -> Screen[object]:
    from layoutdrill.screens.show_screen import ShowScreen

    return ShowScreen(made, number)


def mark(session: "MarkSession") -> Screen[object]:
    from layoutdrill.screens.mark_screen import MarkScreen

    return MarkScreen(session)


def preview(deck: Path) -> Screen[object]:
    from layoutdrill.screens.preview_screen import PreviewScreen

    return PreviewScreen(deck)


def legend(subject: "Subject", shunned: "Sequence[Rect]", ring: "Callable[[Sight], None]") -> Screen[object]:
    from layoutdrill.screens.legend_screen import LegendScreen

    return LegendScreen(subject, shunned, ring)


def compare(structure: str, specimen: "Specimen", look: str) -> Screen[object]:
    from layoutdrill.screens.compare_screen import CompareScreen

    return CompareScreen(structure, specimen, look)


def step(specimen: "Specimen", stepping: "Stepping", look: str) -> Screen[object]:
    from layoutdrill.screens.step_screen import StepScreen

    return StepScreen(specimen, stepping, look)


def choose(title: str, rows: "Sequence[Row]", then: "Callable[[str], None]") -> Screen[object]:
    from layoutdrill.screens.choose_page import ChoosePage

    return ChoosePage(title, rows, then)


def find(below: Screen[object]) -> Screen[object]:
    from layoutdrill.screens.finder import FinderScreen
    from layoutdrill.screens.page import Page

    assert isinstance(below, Page)
    return FinderScreen(below)


def practice() -> Screen[object]:
    from layoutdrill.screens.practice_screen import PracticeScreen

    return PracticeScreen()


def explain() -> Screen[object]:
    from layoutdrill.screens.explain_screen import ExplainScreen

    return ExplainScreen()


def glossary() -> Screen[object]:
    from layoutdrill.screens.glossary import GlossaryScreen

    return GlossaryScreen()


def library() -> Screen[object]:
    from layoutdrill.screens.library import LibraryScreen

    return LibraryScreen()


def settings(at: str = "") -> Screen[object]:
    from layoutdrill.screens.settings_screen import SettingsScreen

    return SettingsScreen(at)


def survey() -> Screen[object]:
    from layoutdrill.screens.survey_screen import SurveyScreen

    return SurveyScreen()


def progress() -> Screen[object]:
    from layoutdrill.screens.progress_screen import ProgressScreen

    return ProgressScreen()


def about() -> Screen[object]:
    from layoutdrill.screens.cautions import about_text
    from layoutdrill.screens.text_page import TextPage

    return TextPage("About, cautions", Content(about_text()))


def home_rows() -> tuple[tuple[Row, ...], LayoutdrillError | None]:
    """Return what home lists, see `shelf.py`. Slow: for a worker."""
    from layoutdrill.screens import shelf

    return shelf.home_rows()


def day_planned(seed: int, *, timed: bool = True, left_out: "Collection[int]" = ()) -> "Day":
    """Return what home begins with. Slow: for a worker."""
    from layoutdrill.screens import sittings

    return sittings.day_planned(seed, timed=timed, left_out=left_out)


def open_sitting(
    sort: str, name: str, *, kit: Path | None, timed: bool = True, left_out: "Collection[int]" = ()
) -> "OpenSitting":
    """Open what a row of a list offers. Slow: for a worker."""
    from layoutdrill.screens import sittings

    return sittings.open_sitting(sort, name, kit=kit, timed=timed, left_out=left_out)
