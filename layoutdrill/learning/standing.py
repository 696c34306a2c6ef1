"""
How a learner stands with each skill: begun, how much help is shown, whether mastered, weak or due.

Mastered is what was right, in time and without help in three of the last four answers on unseen pictures, on three
days at least, and right too when it was last asked after a week or more (after Rawson & Dunlosky 2011: relearning on
later days). Four varieties must have been read right by then, those read with help among them
(10.1016/j.tics.2022.03.007). It is lost again by the same rule; not by being asked again too soon.
"""

from collections.abc import Iterable, Mapping, Sequence
from datetime import datetime, timedelta
from itertools import pairwise

from layoutdrill.learning.attempt import Attempt, in_time, slow_limits
from layoutdrill.learning.memory import Grade, Memory, grades, remembered
from layoutdrill.learning.skills import BEYOND, Skill
from layoutdrill.value import value

LAST, RIGHT_OF_LAST = 4, 3
DAYS, LAST_GAP = 3, timedelta(days=7)
VARIETIES = 4
FIRST_DAY = 2
"""Right answers that suffice on the first day: more of them wash out (Vaughn 2016)."""
WEAK = 0.6
"""The share of the last answers right below which a skill is weak."""
AID_STEPS = 2
"""Help goes from all to none by so many steps, one for each right answer."""
LEARNED = 0.9
"""The share of the lessons' skills that are mastered when all is learned: a few are always about to be lost."""
HELD = 2
"""Days in a row, of those on which it was asked, that a skill was right without help when it is held."""
VARIED_FROM = 3
"""The third right answer, with help or without, is the first for which process, look, light, wear and turn vary."""


@value
class Standing:
    """
    How one skill stands. `right` counts answers that were right with no more help than was shown from the start; `aid`
    is that help, from 1 (all) to 0 (none); `share` is how many of the last answers without any were right, with
    `counted` of them; `seconds` their median time; `memory` is None until it was first rated, `last` is when it was
    last asked. `held` tells that it is on the way to mastery: right, without help, on the last days it was asked.
    """

    skill: Skill
    attempts: int
    right: int
    aid: float
    share: float
    counted: int
    seconds: float
    mastered: bool
    enough_today: bool
    memory: Memory | None
    last: datetime | None
    held: bool

    @property
    def begun(self) -> bool:
        return self.attempts > 0

    @property
    def weak(self) -> bool:
        return self.counted > 0 and not self.mastered and self.share < WEAK

    def due(self, now: datetime) -> bool:
        """Whether it is to be asked again: a day's plan counts what falls due before the day is over."""
        return self.begun and (self.memory is None or self.memory.due.date() <= now.date())

    def waited(self, now: datetime) -> float:
        """Return the days since it was last asked, 0 where never; a clock that has gone back counts as no time."""
        return max(0.0, (now - self.last).total_seconds() / 86400) if self.last is not None else 0.0


def all_learned(stand: Iterable[Standing]) -> bool:
    """Tell whether the lessons are done: each of their skills begun, and nine in ten mastered just now."""
    taught = [each for each in stand if each.skill.lesson != BEYOND]
    mastered = sum(each.mastered for each in taught)
    return bool(taught) and all(each.begun for each in taught) and mastered >= LEARNED * len(taught)


def standings(
    skills: Sequence[Skill], attempts: Iterable[Attempt], now: datetime, *, timed: bool = True
) -> tuple[Standing, ...]:
    """Return how each skill stands, in the order of the skills; without `timed` no answer is ever too slow."""
    answers = sorted(attempts, key=lambda a: a.at)
    limits = slow_limits(answers, timed=timed)
    by_skill: dict[str, list[Attempt]] = {}
    for each in answers:
        by_skill.setdefault(each.skill, []).append(each)
    return tuple(_standing(skill, by_skill.get(skill.key, []), limits, now) for skill in skills)


def _standing(skill: Skill, answers: Sequence[Attempt], limits: Mapping[str, float], now: datetime) -> Standing:
    fair = [each for each in answers if each.unseen and not each.aided]
    last = fair[-LAST:]
    times = sorted(each.seconds for each in last if each.right)
    rated = grades(answers, limits)
    today = [each for each in fair if each.day == now.date() and each.earned]
    return Standing(
        skill=skill,
        attempts=len(answers),
        right=sum(unprompted(each) for each in answers),
        aid=aid_of(answers),
        share=sum(each.earned for each in last) / len(last) if last else 0.0,
        counted=len(last),
        seconds=times[len(times) // 2] if times else 0.0,
        mastered=is_mastered(answers, limits),
        enough_today=len(today) >= FIRST_DAY and {each.day for each in fair} == {now.date()},
        memory=remembered(rated),
        last=max((each.at for each in answers), default=None),
        held=len(rated) >= HELD and all(grade is not Grade.MISSED for _, grade in rated[-HELD:]),
    )


def aid_of(answers: Iterable[Attempt]) -> float:
    """
    Return how much help to show next: all at first, half after the first right answer, none after the second; half
    again after two errors in a row. Help that stays longer costs more than it gives: an answer with it teaches less,
    and does not rate (measured on simulated learners, tests/bench/bench_learning.py).
    """
    step, errors = AID_STEPS, 0
    for each in answers:
        if unprompted(each):
            step, errors = max(0, step - 1), 0
        else:
            errors += 1
            if errors == 2:
                step, errors = min(AID_STEPS, step + 1), 0
    return step / AID_STEPS


def unprompted(answer: Attempt) -> bool:
    """Tell whether an answer was right with no more help than was shown from the start."""
    return answer.right and not answer.hints and not answer.skipped


def is_mastered(answers: Sequence[Attempt], limits: Mapping[str, float]) -> bool:
    """Tell whether a skill is mastered by what was answered on unseen pictures without help from the start."""
    fair = [each for each in answers if each.unseen and not each.aided]
    last = fair[-LAST:]
    good = [each for each in last if each.earned and in_time(each, limits)]
    if len(good) < RIGHT_OF_LAST:
        return False
    if len({each.day for each in fair if each.earned}) < DAYS or not _kept_for_a_week(answers):
        return False
    return len({each.variety for each in answers if each.unseen and unprompted(each)}) >= VARIETIES


def _kept_for_a_week(answers: Sequence[Attempt]) -> bool:
    """Tell whether the first answer after the last gap of a week or more was right, unaided, on an unseen picture."""
    kept = False
    for before, each in pairwise(answers):
        if each.day - before.day >= LAST_GAP:
            kept = each.earned and each.unseen
    return kept
