"""
At a glance: for what is mastered, the picture alone for two seconds, then one, then a half, then the answer.

Half a second can be learned (10.1186/s41235-023-00462-5) and is poorly kept after a week (10.1186/s41235-022-00457-8),
so a series is short and comes weekly.
"""

from collections.abc import Sequence
from datetime import datetime, timedelta

from layoutdrill.dice import Dice
from layoutdrill.learning.skills import Skill
from layoutdrill.learning.standing import Standing
from layoutdrill.value import value

SECONDS = (2.0, 1.0, 0.5)
MOST = 10
EVERY = timedelta(days=7)
PASSED = 0.75
"""The share right at one length at which the next shorter one is tried."""


KINDS = ("name", "spot", "polarity", "rails", "turned or not")
"""Kinds of question that can be answered from memory, by one of a few choices."""


@value
class Glance:
    """One picture to be seen for so many seconds."""

    skill: Skill
    seconds: float


def series(stand: Sequence[Standing], seconds: float, dice: Dice) -> tuple[Glance, ...]:
    """Return a series over mastered skills that can be asked from memory, none while there is none."""
    mastered = [each.skill for each in stand if each.mastered and set(each.skill.kinds) & set(KINDS)]
    if not mastered:
        return ()
    turns = [skill for _ in range(-(-MOST // len(mastered))) for skill in dice.shuffled(mastered)]
    return tuple(Glance(skill, seconds) for skill in turns[:MOST])


def next_seconds(seconds: float, right: int, shown: int) -> float:
    """Return how long pictures are shown next time: shorter after a good series, longer after a poor one."""
    at = SECONDS.index(seconds) if seconds in SECONDS else 0
    share = right / shown if shown else 0.0
    step = 1 if share >= PASSED else -1 if share < 0.5 else 0
    return SECONDS[min(len(SECONDS) - 1, max(0, at + step))]


def offered(last: datetime | None, now: datetime) -> bool:
    """Tell whether a series may be offered: a week after the last."""
    return last is None or now - last >= EVERY
