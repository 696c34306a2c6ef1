"""The day that home begins with, and the sittings that rows of home and of progress open."""

from collections.abc import Collection
from datetime import UTC, datetime
from pathlib import Path

from layoutdrill.covers import lesson_covers
from layoutdrill.deck import load_deck
from layoutdrill.drill.checking import deck_again, turns
from layoutdrill.drill.glances import plan_series
from layoutdrill.drill.open_sitting import OpenSitting
from layoutdrill.drill.record import OF_THE_DAY
from layoutdrill.drill.sitting import Sitting
from layoutdrill.drill.today import Wish, plan_today
from layoutdrill.screens.row import NOT_BEGUN, Day, Row
from layoutdrill.screens.shelf import left_at, left_over


def day_planned(seed: int, *, timed: bool = True, left_out: Collection[int] = ()) -> Day:
    """
    Return the day: today's questions, by what has been answered; a series at a glance once a week, but not where time
    limits are off; the decks to check with. Slow: for a worker.
    """
    now = datetime.now(UTC)
    day = plan_today(now, Wish(timed=timed, left_out=left_out), seed=seed)
    words = day.words if any(begun for begun, _ in day.begun.values()) else "for later: lesson 1 below comes first"
    rows = [Row("", "Today", "what helps most just now"), _of_the_day(now) or Row(f"today:{seed}", day.size, words)]
    series = plan_series(now, seed=seed) if timed else None
    if series is not None and series.due:
        rows.append(Row(f"glance:{seed}", "At a glance", f"what you have mastered: {series.words}"))
    due = turns(now, ended=day.ended)
    checks = (Row(f"check:{turn.deck or turn.sitting}", f"Check: {turn.title}", turn.why) for turn in due)
    practised = {
        f"lesson:{cover.name}": f"{NOT_BEGUN}; {done} of {every} practised"
        for cover in lesson_covers()
        for done, every in [day.begun.get(cover.lesson or 0, (0, 0))]
        if done
    }
    surveys = (Row("surveys:", "Survey a chip", day.survey),) if day.survey else ()
    return Day((*rows, *checks, *surveys), practised)


def _of_the_day(now: datetime) -> Row | None:
    """Return the way back into today's questions, where they were left; those of another day give way to a new plan."""
    for sitting in left_over():
        if sitting.sort == OF_THE_DAY and sitting.started[:10] == f"{now:%Y-%m-%d}":
            return Row(f"resume:{sitting.id}", "Go on with today's questions", left_at(sitting, now))
    return None


def open_sitting(
    sort: str, name: str, *, kit: Path | None, timed: bool = True, left_out: Collection[int] = ()
) -> OpenSitting:
    """Open what a row of home or of progress offers."""
    if sort == "resume":
        return Sitting.resume(int(name))
    if sort == "survey":
        chip, _, process = name.partition("|")
        return Sitting.open_survey(chip, process)
    if sort == "today":
        return Sitting.open_today(Wish(timed=timed, left_out=left_out), seed=int(name))
    if sort == "glance":
        return Sitting.open_glances(seed=int(name))
    if sort == "check":
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
