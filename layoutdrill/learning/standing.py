"""
How a learner stands with each skill: begun, how much help is shown, whether mastered, weak or due.

Mastered is what was right, in time and without help in three of the last four answers on unseen pictures, on three
days at least, right too when it was last asked after a week or more, and on four varieties (after Rawson & Dunlosky
2011: relearning on later days; variety: 10.1016/j.tics.2022.03.007). It is lost again by the same rule; not by being
asked again too soon.
"""

from collections.abc import Iterable, Mapping, Sequence
from datetime import datetime, timedelta
from itertools import pairwise

from layoutdrill.learning.attempt import Attempt, in_time, slow_limits
from layoutdrill.learning.memory import Memory, grades, recall, remembered
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
VARIED_FROM = 3
"""From so many right answers on, process, look, light, wear and turn vary."""


@value
class Standing:
    """
    How one skill stands. `aid` is the help shown, from 1 (all) to 0 (none); `share` is how many of the last answers
    were right, with `counted` of them; `seconds` their median time; `memory` is None until it was first rated.
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

    @property
    def begun(self) -> bool:
        return self.attempts > 0

    @property
    def weak(self) -> bool:
        return self.counted > 0 and not self.mastered and self.share < WEAK

    def due(self, now: datetime) -> bool:
        """Whether it is to be asked again: a day's plan counts what falls due before the day is over."""
        return self.begun and (self.memory is None or self.memory.due.date() <= now.date())

    def urgency(self, now: datetime) -> float:
        """How much it gains by being asked now: what has likely been forgotten, and what is weak."""
        lost = 1 - recall(self.memory, now) if self.memory is not None else 0.5
        return lost + 0.1 * (1 - self.share if self.counted else 0.0)


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
    today = [each for each in fair if each.day == now.date() and each.earned]
    return Standing(
        skill=skill,
        attempts=len(answers),
        right=sum(each.earned for each in answers),
        aid=aid_of(answers),
        share=sum(each.earned for each in last) / len(last) if last else 0.0,
        counted=len(last),
        seconds=times[len(times) // 2] if times else 0.0,
        mastered=is_mastered(answers, limits),
        enough_today=len(today) >= FIRST_DAY and {each.day for each in fair} == {now.date()},
        memory=remembered(grades(answers, limits)),
    )


def aid_of(answers: Iterable[Attempt]) -> float:
    """
    Return how much help to show next: all at first, half after the first right answer, none after the second; half
    again after two errors in a row. Help that stays longer costs more than it gives: an answer with it teaches less,
    and does not rate (measured on simulated learners, tests/bench/bench_learning.py).
    """
    step, errors = AID_STEPS, 0
    for each in answers:
        if each.right and not each.hints and not each.skipped:
            step, errors = max(0, step - 1), 0
        else:
            errors += 1
            if errors == 2:
                step, errors = min(AID_STEPS, step + 1), 0
    return step / AID_STEPS


def is_mastered(answers: Sequence[Attempt], limits: Mapping[str, float]) -> bool:
    """Tell whether a skill is mastered by what was answered on unseen pictures without help from the start."""
    fair = [each for each in answers if each.unseen and not each.aided]
    last = fair[-LAST:]
    good = [each for each in last if each.earned and in_time(each, limits)]
    if len(good) < RIGHT_OF_LAST:
        return False
    if len({each.day for each in fair if each.earned}) < DAYS or not _kept_for_a_week(answers):
        return False
    return len({each.variety for each in fair if each.earned}) >= VARIETIES


def _kept_for_a_week(answers: Sequence[Attempt]) -> bool:
    """Tell whether the first answer after the last gap of a week or more was right, unaided, on an unseen picture."""
    kept = False
    for before, each in pairwise(answers):
        if each.day - before.day >= LAST_GAP:
            kept = each.earned and each.unseen
    return kept
