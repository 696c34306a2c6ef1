"""
What a sitting asks: skills, not pictures, in a mix of what is due, what is new and what is kept.

Of a sitting's trials six in ten are due or weak, a quarter new (more where little is due), the rest mastered. A new
skill begins with a worked one; where nothing else waits, another with half the help follows it at once (blocks first
for true beginners: 10.1007/s40037-017-0365-x), else on a later day. Look-alikes come near each other
(10.1037/bul0000209), and what was confused comes as a pair when the turn of one of the two has come. Never one skill
twice within two trials, where there is another.

What has waited longest comes first, and nothing twice a day while something else waits: practice spread over days is
kept (Rawson 2018), more of it on one day washes out (Vaughn 2016). Simulated learners agree
(tests/bench/bench_learning.py): with ten questions a day, asking first what had likely been forgotten went on and on
about the few skills missed yesterday, and asking a confused pair every day took a fifth of all questions; both kept
less than chance did. More new skills at once are kept better still, but then almost none is mastered in a month; a
quarter is ahead of chance and leaves a learner something finished.
"""

from collections.abc import Iterable, Sequence
from datetime import datetime, timedelta
from enum import StrEnum
from math import ceil

from layoutdrill.dice import Dice
from layoutdrill.learning.attempt import Attempt
from layoutdrill.learning.skills import Skill, look_alikes, ready
from layoutdrill.learning.standing import VARIED_FROM, Standing
from layoutdrill.value import value

TRIALS = 25
SHARE_NEW, SHARE_KEPT = 0.25, 0.15
MOST_NEW = 0.5
"""So much of a sitting is new where little is due."""
REST = 3.0
"""Days for which a mastered skill is let alone, unless it is due before."""
WORKED, BLOCK = 1, 2
"""Of a new skill: so many with all help, and so many in all before it is mixed with others."""
MOST_PAIRS = 1
"""Pairs of confused things in one sitting."""
CONFUSED_FOR = timedelta(days=14)
"""How long a confusion is worth a contrast."""
LATER = (4, 5)
"""Where a pair comes again that was just confused: so many questions on, in the place of what can best wait."""
PLAIN_SECONDS = 90.0
"""What a question takes at least where its drawing is read as text (a guess: nobody was timed)."""
SECONDS_A_TRIAL = 24.0
"""What a question takes with its verdict, where the learner has no times yet: 25 in ten minutes."""


class Why(StrEnum):
    """Why a trial is in a sitting."""

    CONFUSED = "confused"
    DUE = "due"
    WEAK = "weak"
    NEW = "new"
    KEPT = "kept"


@value
class Trial:
    """
    One question to come: a skill, why, and how it is to be asked. `aid` is the help shown, 1 to 0; `difficulty` and
    `wear` from 0 to 1; `varied` that process and look are to differ from the last; `against` the subject of the
    look-alike that it is to be told from, "" where none.
    """

    skill: Skill
    why: Why
    aid: float
    difficulty: float
    wear: float
    varied: bool
    against: str = ""


def sitting(
    stand: Sequence[Standing],
    attempts: Sequence[Attempt],
    now: datetime,
    dice: Dice,
    count: int = TRIALS,
    pairs: Iterable[tuple[str, str]] = (),
) -> tuple[Trial, ...]:
    """Return a sitting of `count` trials, fewer only where no skill can be asked; the same for the same dice."""
    known = tuple(pairs)
    skills = tuple(each.skill for each in stand)
    contrasts = _contrast_trials(stand, attempts, now, _by_need(stand, now)[0][:count])
    paired = {trial.skill.key for trial in contrasts}
    due, rest, kept = _by_need([each for each in stand if each.skill.key not in paired], now)
    quiet = min(round(count * SHARE_KEPT), sum(_rested(each, now) for each in kept))
    due = sorted([*due, *(each for each in kept[quiet:] if each.due(now))], key=lambda each: -each.waited(now))
    kept = [*kept[:quiet], *(each for each in kept[quiet:] if not each.due(now))]
    spare = count - len(contrasts) - len(due) - quiet
    fresh = _fresh(stand, skills, max(ceil(count * SHARE_NEW), min(spare, round(count * MOST_NEW))))
    block = _block(fresh, max(len(fresh), spare - len(rest)))
    old = [
        *(trial_of(each, _why(each, now)) for each in due),
        *(trial_of(each, Why.DUE) for each in rest),
    ]
    room = max(0, count - len(contrasts) - len(block))
    looked_at = [trial_of(each, Why.KEPT) for each in kept[: min(room, max(quiet, room - len(old)))]]
    wanted = _filled(_with_partners(old, skills, known), looked_at, block, room)
    return _ordered(block, [*contrasts, *wanted], skills, dice, known)[:count]


def _contrast_trials(
    stand: Sequence[Standing], attempts: Sequence[Attempt], now: datetime, due: Sequence[Standing]
) -> list[Trial]:
    """
    Return both sides of a pair that was confused of late, one after the other, once the turn of one of them has come: a
    pair asked day after day takes the time of others and gains little by it.
    """
    by_key = {each.skill.key: each for each in stand}
    pairs = _contrasts(by_key, attempts, now)
    trials: list[Trial] = []
    for each in due:
        for true, said in pairs:
            if each.skill in (true, said) and len(trials) < 2 * MOST_PAIRS:
                trials += contrast(by_key[true.key], by_key[said.key])
                break
    return trials


def contrast(true: Standing, said: Standing) -> tuple[Trial, Trial]:
    """Return a trial of each of two skills that are taken for each other, to be told apart."""
    return (
        trial_of(true, Why.CONFUSED, said.skill.subject),
        trial_of(said, Why.CONFUSED, true.skill.subject),
    )


def _by_need(stand: Iterable[Standing], now: datetime) -> tuple[list[Standing], list[Standing], list[Standing]]:
    """
    Return what is due or weak, what else was begun, and what is mastered, each by how long it has waited; what was
    right twice on this its first day comes last (more on the same day washes out: Vaughn 2016), and so does what is
    mastered and was asked of late.
    """
    begun = sorted((each for each in stand if each.begun), key=lambda each: -each.waited(now))
    kept = sorted((each for each in begun if each.mastered), key=lambda each: not _rested(each, now))
    due = [each for each in begun if not each.mastered and (each.due(now) or each.weak)]
    rest = [each for each in begun if not each.mastered and not (each.due(now) or each.weak)]
    return due, sorted(rest, key=lambda each: each.enough_today), kept


def _why(stand: Standing, now: datetime) -> Why:
    """Return why what is begun is asked."""
    if stand.mastered:
        return Why.KEPT
    return Why.WEAK if stand.weak and not stand.due(now) else Why.DUE


def _rested(stand: Standing, now: datetime) -> bool:
    """Tell whether what is mastered has been let alone for long enough to be looked at again."""
    return stand.due(now) or stand.waited(now) >= REST


def _filled(old: list[Trial], kept: list[Trial], block: Sequence[Trial], room: int) -> list[Trial]:
    """Return `room` trials: old ones and all kept ones; where there are too few, what waited longest once more."""
    filled = old[: room - len(kept)]
    again = old or kept or list(block)
    while len(filled) + len(kept) < room and again:
        filled += again[: room - len(filled) - len(kept)]
    return [*filled, *kept]


def minutes(count: int, attempts: Sequence[Attempt], *, plain: bool = False) -> float:
    """
    Return about how long so many trials take, from the learner's own times; a verdict is read for as long again. Only
    right answers tell: a guess takes no time. In `plain` text a drawing is read line by line.
    """
    times = sorted(each.seconds for each in attempts[-200:] if each.right)
    each = 2 * times[len(times) // 2] if len(times) >= 20 else SECONDS_A_TRIAL
    return count * min(90.0, max(PLAIN_SECONDS if plain else 6.0, each)) / 60


def contrast_after(attempt: Attempt, stand: Sequence[Standing]) -> tuple[Trial, ...]:
    """Return the pair to come again `LATER` questions after an answer that took one thing for another, else nothing."""
    if attempt.earned or not attempt.said:
        return ()
    by_key = {each.skill.key: each for each in stand}
    true, said = by_key.get(attempt.skill), by_key.get(f"{attempt.skill.partition(': ')[0]}: {attempt.said}")
    return contrast(true, said) if true is not None and said is not None and true is not said else ()


def _contrasts(by_key: dict[str, Standing], attempts: Sequence[Attempt], now: datetime) -> list[tuple[Skill, Skill]]:
    """Return the pairs that were confused lately and not told apart since, the most frequent first."""
    counts: dict[tuple[str, str], int] = {}
    for each in attempts:
        if not each.said or each.right or now - each.at > CONFUSED_FOR:
            continue
        group = each.skill.partition(": ")[0]
        pair = (each.skill, f"{group}: {each.said}")
        if pair[1] in by_key and pair[0] in by_key:
            counts[pair] = counts.get(pair, 0) + 1
    last: dict[str, list[Attempt]] = {key: [] for pair in counts for key in pair}
    for each in attempts:
        if each.skill in last and not each.aided:
            last[each.skill] = [*last[each.skill][-1:], each]
    settled = {pair for pair in counts if all(_settled(last[key]) for key in pair)}
    chosen = sorted((pair for pair in counts if pair not in settled), key=lambda pair: (-counts[pair], pair))
    return [(by_key[true].skill, by_key[said].skill) for true, said in chosen]


def _settled(last: Sequence[Attempt]) -> bool:
    """Tell whether a skill's last two unaided answers were right."""
    return len(last) == 2 and all(each.earned for each in last)


def _with_partners(trials: Sequence[Trial], skills: Sequence[Skill], pairs: tuple[tuple[str, str], ...]) -> list[Trial]:
    """Bring the look-alikes of what has waited longest up beside it: told apart together, both are learned better."""
    waiting = {trial.skill.key: trial for trial in trials}
    order: list[Trial] = []
    for trial in trials:
        if trial.skill.key in waiting:
            order.append(waiting.pop(trial.skill.key))
            partners = (skill.key for skill in look_alikes(trial.skill, skills, pairs))
            order += [waiting.pop(key) for key in partners if key in waiting]
    return order


def _fresh(stand: Sequence[Standing], skills: Sequence[Skill], most: int) -> list[Standing]:
    """
    Return the next new skills, `most` of them, of two lessons at most; what comes earlier in the sitting counts as
    begun for what is later.
    """
    begun = frozenset(each.skill.key for each in stand if each.begun)
    chosen: list[Standing] = []
    for each in stand:
        lessons = {fresh.skill.lesson for fresh in chosen} | {each.skill.lesson}
        if len(chosen) < most and len(lessons) <= 2 and not each.begun and ready(each.skill, skills, begun):
            chosen.append(each)
            begun |= {each.skill.key}
    return chosen


def _block(fresh: Sequence[Standing], room: int) -> list[Trial]:
    """Return about `room` trials of new skills: of each one with all help, then, where there is room, one with half."""
    each_has = max(WORKED, min(BLOCK, room // len(fresh))) if fresh else 0
    block: list[Trial] = []
    for each in fresh:
        for number in range(each_has):
            worked = number < WORKED
            aid, difficulty = (1.0, 0.0) if worked else (0.5, 0.15)
            block.append(Trial(each.skill, Why.NEW, aid, difficulty, 0.0, varied=False))
    return block[: max(room, WORKED)]


def trial_of(stand: Standing, why: Why, against: str = "") -> Trial:
    """Return how a skill is asked as it stands: harder, more worn and more varied the better it is known."""
    rights = stand.right
    varied = rights + 1 >= VARIED_FROM
    return Trial(
        skill=stand.skill,
        why=why,
        aid=0.0 if stand.mastered else stand.aid,
        difficulty=min(0.7, 0.1 + 0.06 * rights),
        wear=min(1.0, 0.1 * (rights - VARIED_FROM + 2)) if varied else 0.0,
        varied=varied,
        against=against,
    )


def _ordered(
    block: Sequence[Trial],
    others: Sequence[Trial],
    skills: Sequence[Skill],
    dice: Dice,
    pairs: tuple[tuple[str, str], ...],
) -> tuple[Trial, ...]:
    """
    Put the new skills' blocks first among the others: a block at the start, the next after a few others; contrasts
    stay beside each other; look-alikes follow each other; the same skill not within two trials.
    """
    blocks: list[list[Trial]] = []
    for trial in block:
        if blocks and blocks[-1][0].skill.key == trial.skill.key:
            blocks[-1].append(trial)
        else:
            blocks.append([trial])
    waiting = dice.shuffled([trial for trial in others if trial.why is not Why.CONFUSED])
    contrasts = [trial for trial in others if trial.why is Why.CONFUSED]
    order: list[Trial] = []
    spacing = max(3, len(waiting) // (len(blocks) + 1)) if blocks else len(waiting)
    while waiting or contrasts or blocks:
        if blocks and (not order or len(order) % (spacing + BLOCK) == 0 or not (waiting or contrasts)):
            order += blocks.pop(0)
        elif contrasts and (len(order) % 5 == 4 or not waiting):
            order += [contrasts.pop(0), contrasts.pop(0)] if len(contrasts) > 1 else [contrasts.pop(0)]
        elif waiting:
            order.append(waiting.pop(_next(waiting, order, skills, pairs)))
        else:
            order += blocks.pop(0)
    return tuple(order)


def _next(
    waiting: Sequence[Trial], order: Sequence[Trial], skills: Sequence[Skill], pairs: tuple[tuple[str, str], ...]
) -> int:
    """Return which trial comes next: not of the last two skills, and a look-alike of the last where there is one."""
    recent = {trial.skill.key for trial in order[-2:]}
    apart = [i for i, trial in enumerate(waiting) if trial.skill.key not in recent]
    if not apart:
        return 0
    if order:
        near = {skill.key for skill in look_alikes(order[-1].skill, skills, pairs)}
        for i in apart:
            if waiting[i].skill.key in near:
                return i
    return apart[0]
