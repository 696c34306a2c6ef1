"""What home offers, read from decks and records: lessons with their state, decks, what was left in the middle."""

from collections.abc import Sequence
from datetime import UTC, datetime

from layoutdrill.covers import Cover, deck_covers, lesson_covers
from layoutdrill.drill.lesson_states import DONE, LessonState, lesson_states
from layoutdrill.drill.record import OF_THE_DAY, Left
from layoutdrill.drill.records import kept_records
from layoutdrill.errors import LayoutdrillError
from layoutdrill.screens.lines import unwrapped
from layoutdrill.screens.row import NOT_BEGUN, Row


def home_rows() -> tuple[tuple[Row, ...], LayoutdrillError | None]:
    """
    Return the rows of home above its last block, and what is wrong with the records, which takes no lesson away.

    Slow: reads the cover of every deck.
    """
    covers, trouble = lesson_covers(), None
    left: tuple[Left, ...] = ()
    states: tuple[LessonState, ...] = ()
    try:
        left, states = left_over(), lesson_states({cover.name: cover.questions for cover in covers})
    except LayoutdrillError as error:
        trouble = error
    rows: list[Row] = []
    left = tuple(sitting for sitting in left if sitting.sort != OF_THE_DAY)  # the day has one line, its own
    if left:
        rows.append(Row("", "Continue"))
        rows += [Row(f"resume:{sitting.id}", sitting.title, left_at(sitting)) for sitting in left]
    return (*rows, *lesson_rows(covers, states, left), *deck_rows()), trouble


def left_over() -> tuple[Left, ...]:
    """Return what can be gone on with; nothing where there are no records yet."""
    with kept_records(None) as records:
        return () if records is None else records.left()


def left_in(left: Sequence[Left], lesson: str) -> Left | None:
    """Return the newest sitting of a lesson that was left in the middle."""
    return next((sitting for sitting in left if sitting.deck == lesson and sitting.sort == "lesson"), None)


def lesson_rows(covers: Sequence[Cover], states: Sequence[LessonState], left: Sequence[Left] = ()) -> tuple[Row, ...]:
    """Return the syllabus, with the state of each lesson where it is known, and where one was left."""
    rows = [Row("", "Syllabus", "lesson · what it teaches" + (f" · {DONE}" if states else ""))]
    known = {state.lesson: state for state in states}
    for number, cover in enumerate(covers, 1):
        state = standing(known[cover.name]) if cover.name in known else ""
        at = left_in(left, cover.name)
        state = f"at {at.answered + 1} of {at.total}" if at is not None else state
        rows.append(Row(f"lesson:{cover.name}", f"{number}. {cover.title}", unwrapped(cover.objective), state))
    if len(rows) == 1:
        return ()
    return (*rows, Row("placement:", "Find my place", "a few questions from every lesson; skip what you can do"))


def deck_rows() -> tuple[Row, ...]:
    """Return the decks that are no lessons."""
    rows = []
    for deck in deck_covers():
        needs = "open kit" if deck.kit else "for checking" if deck.kept else f"{deck.questions} questions"
        rows.append(Row(f"deck:{deck.name}", deck.title, unwrapped(deck.about), needs))
    return (Row("", "Decks"), *rows) if rows else ()


def standing(state: LessonState) -> str:
    """Say in a few letters how a lesson stands."""
    if not state.answered:
        return NOT_BEGUN
    share = f"{state.right} of {state.counted} right"
    return f"done, {share}" if state.done else share


def left_at(sitting: Left, now: datetime | None = None) -> str:
    """Say where a sitting was left, and when it was begun."""
    try:
        begun = datetime.fromisoformat(sitting.started)
    except ValueError:
        return f"question {sitting.answered + 1} of {sitting.total}"
    days = ((now or datetime.now(UTC)).date() - begun.date()).days
    when = "today" if days <= 0 else "yesterday" if days == 1 else f"{days} days ago"
    return f"question {sitting.answered + 1} of {sitting.total}, begun {when}"
