"""What home offers, read from decks and records: lessons with their state, decks, what was left in the middle."""

from collections.abc import Sequence
from datetime import UTC, datetime
from pathlib import Path

from layoutdrill.deck import Cover, deck_covers, lesson_covers, load_deck
from layoutdrill.drill.records import AnswerRecord, Left, Records
from layoutdrill.drill.sitting import Sitting
from layoutdrill.drill.summary import LAST, LessonState, lesson_states, median_of
from layoutdrill.errors import LayoutdrillError
from layoutdrill.locations import records_file
from layoutdrill.screens.row import Row
from layoutdrill.screens.wording import unwrapped


def home_rows() -> tuple[tuple[Row, ...], LayoutdrillError | None]:
    """
    Return the rows of home above its last block, and what is wrong with the records, which takes no lesson away.

    Slow: reads the cover of every deck.
    """
    covers, trouble = lesson_covers(), None
    left: tuple[Left, ...] = ()
    states: tuple[LessonState, ...] = ()
    try:
        left, states = left_over(), lesson_states([cover.name for cover in covers])
    except LayoutdrillError as error:
        trouble = error
    rows: list[Row] = []
    if left:
        rows.append(Row("", "Continue"))
        rows += [Row(f"resume:{sitting.id}", sitting.title, left_at(sitting)) for sitting in left]
    return (*rows, *lesson_rows(covers, states, left), *deck_rows()), trouble


def left_over() -> tuple[Left, ...]:
    """Return what can be gone on with; nothing where there are no records yet."""
    path = records_file()
    if not path.exists():
        return ()
    records = Records(path)
    try:
        return records.left()
    finally:
        records.close()


def left_in(left: Sequence[Left], lesson: str) -> Left | None:
    """Return the newest sitting of a lesson that was left in the middle."""
    return next((sitting for sitting in left if sitting.deck == lesson and sitting.sort == "lesson"), None)


def lesson_rows(covers: Sequence[Cover], states: Sequence[LessonState], left: Sequence[Left] = ()) -> tuple[Row, ...]:
    """Return the syllabus, with the state of each lesson where it is known, and where one was left."""
    rows = [Row("", "Syllabus", "lesson · what it teaches" + (" · right among its last answers" if states else ""))]
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
        needs = "open kit" if deck.kit else f"{deck.questions} questions"
        rows.append(Row(f"deck:{deck.name}", deck.title, unwrapped(deck.about), needs))
    return (Row("", "Decks"), *rows) if rows else ()


def standing(state: LessonState) -> str:
    """Say in a few letters how a lesson stands."""
    if not state.answered:
        return "not begun"
    share = f"{state.right} of {state.counted}"
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


def open_sitting(sort: str, name: str, *, kit: Path | None) -> Sitting:
    """Open what a row of home offers."""
    if sort == "resume":
        return Sitting.resume(int(name))
    if sort == "placement":
        return Sitting.open_placement()
    deck = load_deck(name)
    return Sitting.open_deck(deck, kit=kit if deck.kit else None)


def progress_text() -> str:
    """Return the page of progress."""
    path = records_file()
    if not path.exists():
        return "Nothing has been answered yet. Take the first lesson, or any deck."
    records = Records(path)
    try:
        return progress(records.answers())
    finally:
        records.close()


def progress(answers: tuple[AnswerRecord, ...]) -> str:
    """
    Return a table by structure, weakest first: answers, how many of the last on unseen drawings were right, and the
    median time. Only answers on drawings that were new then count (Krasne et al. 2013).
    """
    if not answers:
        return "Nothing has been answered yet. Take the first lesson, or any deck."
    by_name: dict[str, list[AnswerRecord]] = {}
    for answer in answers:
        by_name.setdefault(answer.structure, []).append(answer)
    rows = []
    for name, given in by_name.items():
        last = [a for a in given if a.unseen][-LAST:]
        right = sum(a.credit >= 1 for a in last)
        times = [a.seconds for a in last if not a.skipped]
        share = right / len(last) if last else 0.0
        rows.append(
            (share, name, len(given), f"{right} of the last {len(last)}", f"{median_of(times):.0f} s" if times else "")
        )
    rows.sort()
    wide = max(12, *(len(row[1]) for row in rows))
    lines = [
        f"{len(answers)} answers kept in {records_file()}",
        "",
        f"{'structure':{wide}}  answers  right without help, unseen  usual time",
    ]
    lines += [f"{name:{wide}}  {asked:7}  {right:26}  {time:>10}" for _, name, asked, right, time in rows]
    lines += ["", "Weakest first. Nothing is scheduled from this yet: choose what to practise yourself."]
    return "\n".join(lines)
