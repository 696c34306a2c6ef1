"""What home offers, read from decks and records: lessons with their state, decks, what was left in the middle."""

from collections.abc import Collection, Sequence
from datetime import UTC, datetime
from pathlib import Path

from layoutdrill.deck import Cover, deck_covers, lesson_covers, load_deck
from layoutdrill.drill.again import TODAY
from layoutdrill.drill.open_sitting import OpenSitting
from layoutdrill.drill.record import Left
from layoutdrill.drill.records import Records
from layoutdrill.drill.sitting import Sitting
from layoutdrill.drill.summary import LessonState, lesson_states
from layoutdrill.errors import LayoutdrillError
from layoutdrill.locations import records_file
from layoutdrill.screens.row import NOT_BEGUN, Day, Row
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
    left = tuple(sitting for sitting in left if sitting.sort != TODAY.name)  # the day has one line, its own
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
        needs = "open kit" if deck.kit else "for checking" if deck.kept else f"{deck.questions} questions"
        rows.append(Row(f"deck:{deck.name}", deck.title, unwrapped(deck.about), needs))
    return (Row("", "Decks"), *rows) if rows else ()


def standing(state: LessonState) -> str:
    """Say in a few letters how a lesson stands."""
    if not state.answered:
        return NOT_BEGUN
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


def day_planned(seed: int, *, timed: bool = True, left_out: Collection[int] = ()) -> Day:
    """
    Return the day: today's questions, by what has been answered; a series at a glance once a week, but not where time
    limits are off; the decks to check with. Slow: for a worker.
    """
    from layoutdrill.drill.checking import turns  # noqa: PLC0415 - home stands before today is planned
    from layoutdrill.drill.glances import plan_series  # noqa: PLC0415 - the same
    from layoutdrill.drill.today import plan_today  # noqa: PLC0415 - the same

    now = datetime.now(UTC)
    day = plan_today(now, seed=seed, timed=timed, left_out=left_out)
    rows = [Row("", "Today", "what helps most just now"), _of_the_day(now) or Row(f"today:{seed}", day.size, day.words)]
    series = plan_series(now, seed=seed) if timed else None
    if series is not None and series.due:
        rows.append(Row(f"glance:{seed}", "At a glance", f"what you have mastered: {series.words}"))
    due = turns(now, ended=day.ended)
    checks = (Row(f"check:{turn.deck or turn.sitting}", f"Check: {turn.title}", turn.why) for turn in due)
    practised = {
        f"lesson:{cover.name}": f"{done} of {every} tried"
        for cover in lesson_covers()
        for done, every in [day.begun.get(cover.lesson or 0, (0, 0))]
        if done
    }
    return Day((*rows, *checks), practised)


def _of_the_day(now: datetime) -> Row | None:
    """Return the way back into today's questions, where they were left; those of another day give way to a new plan."""
    for sitting in left_over():
        if sitting.sort == TODAY.name and sitting.started[:10] == f"{now:%Y-%m-%d}":
            return Row(f"resume:{sitting.id}", "Go on with today's questions", left_at(sitting, now))
    return None


def open_sitting(
    sort: str, name: str, *, kit: Path | None, timed: bool = True, left_out: Collection[int] = ()
) -> OpenSitting:
    """Open what a row of home or of progress offers."""
    if sort == "resume":
        return Sitting.resume(int(name))
    if sort == "today":
        return Sitting.open_today(seed=int(name), timed=timed, left_out=left_out)
    if sort == "glance":
        return Sitting.open_glances(seed=int(name))
    if sort == "check":
        from layoutdrill.drill.checking import deck_again  # noqa: PLC0415 - few are kept for checking

        again = deck_again(int(name)) if name.isdecimal() else load_deck(name)
        return Sitting.open_deck(again, kit=kit if again.kit else None)
    if sort in ("mistakes", "wrong"):
        from layoutdrill.drill.review import Review  # noqa: PLC0415 - when it is asked for
        from layoutdrill.learning.sure import STEPS  # noqa: PLC0415 - the same

        return Review.of_skill(name) if sort == "mistakes" else Review.of_sureness(int(name), STEPS[int(name)])
    if sort in ("skill", "pair"):
        return Sitting.open_skills(name.split("|"))
    if sort == "placement":
        return Sitting.open_placement()
    deck = load_deck(name)
    return Sitting.open_deck(deck, kit=kit if deck.kit else None)
