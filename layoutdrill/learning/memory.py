"""
When a skill is due again: the only module that knows the scheduling library (fsrs), its ratings and its states.

The library models one fixed fact, so what it schedules is a skill, and what rates it is the day's first unaided answer
alone: missed (wrong, given up, or helped), slow, or right. Rounding at random is off: the same answers give the same
days on every machine. Import it after the first paint: it is not needed to ask a question.
"""

from collections.abc import Iterable, Mapping, Sequence
from datetime import datetime
from enum import Enum
from functools import cache

from fsrs import Card, Rating, Scheduler

from layoutdrill.learning.attempt import Attempt, in_time
from layoutdrill.value import value

RETENTION = 0.9
LONGEST = 60
"""Days until a skill is looked at again at the latest: an eye is lost sooner than a fact."""


class Grade(Enum):
    """How the first unaided answer of a day went."""

    MISSED = "missed"
    SLOW = "slow"
    RIGHT = "right"


_RATINGS = {Grade.MISSED: Rating.Again, Grade.SLOW: Rating.Hard, Grade.RIGHT: Rating.Good}


@value
class Memory:
    """How well a skill is kept: when it is due, the days until recall falls to the goal, and how often it was rated."""

    due: datetime
    stability: float
    rated: int


def grades(attempts: Iterable[Attempt], limits: Mapping[str, float]) -> tuple[tuple[datetime, Grade], ...]:
    """Return a skill's rating for each day on which it was asked without help from the start, in order of time."""
    rated: dict[object, tuple[datetime, Grade]] = {}
    for each in sorted(attempts, key=lambda a: a.at):
        if each.aided or each.day in rated:
            continue
        right = each.right and not each.hints and not each.skipped
        grade = Grade.MISSED if not right else Grade.RIGHT if in_time(each, limits) else Grade.SLOW
        rated[each.day] = (each.at, grade)
    return tuple(rated.values())


def remembered(rated: Sequence[tuple[datetime, Grade]]) -> Memory | None:
    """Replay ratings into a memory; None where there are none. The same ratings always give the same memory."""
    if not rated:
        return None
    card = _replayed(tuple(rated))
    return Memory(card.due, card.stability or 0.0, len(rated))


@cache
def _scheduler() -> Scheduler:
    """Making one checks all its parameters, which takes as long as some reviews."""
    return Scheduler(
        desired_retention=RETENTION,
        learning_steps=(),
        relearning_steps=(),
        maximum_interval=LONGEST,
        enable_fuzzing=False,
    )


_KEPT: dict[tuple[tuple[datetime, Grade], ...], Card] = {}
_MOST_KEPT = 4096
"""Replays that are kept: after a sitting each skill has one rating more, and the rest need not be replayed."""


def _replayed(rated: tuple[tuple[datetime, Grade], ...]) -> Card:
    """Return the card after these ratings, going on from where it stood before the last of them, if that is kept."""
    known, card = 0, Card(card_id=1)
    for count in (len(rated), len(rated) - 1):
        if (kept := _KEPT.get(rated[:count])) is not None:
            known, card = count, kept
            break
    for at, grade in rated[known:]:
        card, _ = _scheduler().review_card(card, _RATINGS[grade], at)
    if len(_KEPT) >= _MOST_KEPT:
        _KEPT.clear()
    _KEPT[rated] = card
    return card
