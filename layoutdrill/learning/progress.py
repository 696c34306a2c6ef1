"""What has been learned, as the answers show it: along the syllabus, by skill, what is taken for what, how sure."""

from collections import Counter
from collections.abc import Collection, Sequence
from datetime import datetime

from layoutdrill.learning.attempt import Attempt
from layoutdrill.learning.shares import Share, wilson
from layoutdrill.learning.skills import BEYOND, Skill
from layoutdrill.learning.standing import Standing, standings
from layoutdrill.learning.sure import STEPS
from layoutdrill.learning.wording import confusion_name
from layoutdrill.value import value

WEAKEST = 3
CALIBRATED_FROM = 50
"""Answers with confidence from which calibration says something."""


@value
class SkillRow:
    """How one skill stands: `share` over unaided answers on unseen pictures, the state in a word, when it is due."""

    key: str
    lesson: int
    share: Share
    seconds: float
    state: str
    due: datetime | None


@value
class LessonRow:
    """How far a lesson's skills have come; those that are held are not mastered yet."""

    lesson: int
    skills: int
    begun: int
    held: int
    mastered: int


@value
class Confusion:
    """What was taken for what in a group of kinds, and how often."""

    group: str
    true: str
    said: str
    count: int


@value
class Advice:
    """One of the weakest skills, and what to do about it; `against` is the key of what it is taken for, else ""."""

    key: str
    words: str
    against: str = ""


@value
class Carried:
    """How a deck that is kept for checking went once, and how practice went in the two weeks before."""

    title: str
    at: datetime
    share: Share
    practice: Share
    sitting: int


@value
class Progress:
    """The whole. `calibration` is empty while too few answers came with a confidence."""

    answers: int
    days: int
    lessons: tuple[LessonRow, ...]
    skills: tuple[SkillRow, ...]
    confusions: tuple[Confusion, ...]
    calibration: tuple[Share, ...]
    weakest: tuple[Advice, ...]
    carried: tuple[Carried, ...] = ()


def progress_of(
    skills: Sequence[Skill],
    attempts: Sequence[Attempt],
    now: datetime,
    *,
    totals: tuple[int, int] | None = None,
    carried: tuple[Carried, ...] = (),
    timed: bool = True,
) -> Progress:
    """
    Return what the answers show; the same answers always show the same. `totals` are the answers and days in all, where
    `attempts` are only the last of them; `carried` is told as it is given.
    """
    answers, days = totals or (len(attempts), len({each.day for each in attempts}))
    stand = standings(skills, attempts, now, timed=timed)
    fair: dict[str, list[Attempt]] = {}
    for each in attempts:
        if each.unseen and not each.aided:
            fair.setdefault(each.skill, []).append(each)
    rows = tuple(_row(standing, fair.get(standing.skill.key, []), now) for standing in stand)
    return Progress(
        answers=answers,
        days=days,
        lessons=_lessons(stand),
        skills=rows,
        confusions=_confusions(attempts),
        calibration=_calibration(attempts),
        weakest=_weakest(stand, attempts),
        carried=carried,
    )


def _row(standing: Standing, fair: Sequence[Attempt], now: datetime) -> SkillRow:
    share = Share(standing.skill.key, sum(each.earned for each in fair), len(fair))
    return SkillRow(
        standing.skill.key,
        standing.skill.lesson,
        share,
        standing.seconds,
        _state(standing, now),
        standing.memory.due if standing.memory is not None else None,
    )


def _state(standing: Standing, now: datetime) -> str:
    if not standing.begun:
        return "not begun"
    if standing.mastered:
        return "mastered"
    if standing.weak:
        return "weak"
    if standing.held:
        return "held"
    return "due" if standing.due(now) else "coming on"


def _lessons(stand: Sequence[Standing]) -> tuple[LessonRow, ...]:
    numbers = sorted({standing.skill.lesson for standing in stand})
    by = {number: [standing for standing in stand if standing.skill.lesson == number] for number in numbers}
    return tuple(
        LessonRow(
            number,
            len(them),
            sum(standing.begun for standing in them),
            sum(standing.held and not standing.weak and not standing.mastered for standing in them),
            sum(standing.mastered for standing in them),
        )
        for number, them in by.items()
    )


def _confusions(attempts: Sequence[Attempt]) -> tuple[Confusion, ...]:
    counts: Counter[tuple[str, str, str]] = Counter()
    for each in attempts:
        if each.said and not each.right:
            group, _, subject = each.skill.partition(": ")
            counts[group, subject, each.said] += 1
    ordered = sorted(counts.items(), key=lambda item: (-item[1], item[0]))
    return tuple(Confusion(group, true, said, count) for (group, true, said), count in ordered)


def _calibration(attempts: Sequence[Attempt]) -> tuple[Share, ...]:
    rated = [each for each in attempts if each.confidence is not None]
    if len(rated) < CALIBRATED_FROM:
        return ()
    return tuple(
        Share(words, sum(each.right for each in rated if each.confidence == step), asked)
        for step, words in STEPS.items()
        if (asked := sum(each.confidence == step for each in rated))
    )


def _weakest(stand: Sequence[Standing], attempts: Sequence[Attempt]) -> tuple[Advice, ...]:
    """
    Return the skills that are weak beyond chance, and what helps most with each.

    One miss says little: the upper end of the share's interval decides, and of those alike the earlier lesson's.
    """
    begun = sorted(
        (standing for standing in stand if standing.counted and not standing.mastered),
        key=lambda standing: (
            wilson(round(standing.share * standing.counted), standing.counted)[1],
            standing.skill.lesson,
            -standing.attempts,
        ),
    )
    known = {standing.skill.key for standing in stand}
    return tuple(_advice(standing, attempts, known) for standing in begun[:WEAKEST] if standing.share < 1)


def _advice(standing: Standing, attempts: Sequence[Attempt], known: Collection[str]) -> Advice:
    skill = standing.skill
    said = Counter(each.said for each in attempts if each.skill == skill.key and each.said and not each.right)
    if said:
        other, count = min(said.items(), key=lambda item: (-item[1], item[0]))
        if count > 1:
            words = f"{confusion_name(skill.group, skill.subject, other)} {count} times: practise the two together"
            against = f"{skill.group}: {other}"
            return Advice(skill.key, words, against if against in known else "")
    if standing.share >= 0.5:
        return Advice(skill.key, "right more often than not: a few more on other processes")
    if skill.lesson == BEYOND:
        return Advice(skill.key, "look it up in the library, then practise it with help")
    return Advice(skill.key, f"go back to lesson {skill.lesson}, then practise it with help")
