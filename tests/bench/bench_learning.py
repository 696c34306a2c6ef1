"""
Compare ways to choose what to practise on simulated learners: ours, random, a fixed order, the scheduler alone.

`python tests/bench/bench_learning.py [LEARNERS [QUESTIONS [FIRST]]]`; 40 learners of each model by default, ten
questions a day (as the app offers unless told otherwise), 60 skills in pairs of look-alikes, lessons of six. A skill is
*had* when the learner's own model says 0.8 a day later. Printed for each model and way: the answers until 80 % of the
skills are had, 3,000 at most (which stand for those who never came there, in favour of the way that failed; how many
came stands beside it); the share kept at the end of 30 days; and the share kept a month after those.

Then what ours gains on each other way, by pairs: the very same learner, with the same chance for the n-th answer to
each skill whichever way chose it; the mean of the differences with its 95 % interval (Student's t). Only an interval
that leaves out nought shows a difference. At last what ours spent the questions of the 30 days on, and how many skills
were begun and mastered by its own rule after them.

The learners were fixed first; our rules were then changed until they did better on them: at ten questions a day on the
learners 1000 to 1007 of each model. Those from FIRST on, 5000 unless told otherwise, were not looked at meanwhile.
"""

import statistics
import sys
import time
from collections import Counter
from collections.abc import Callable, Sequence
from datetime import UTC, datetime, timedelta
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from layoutdrill.dice import Dice
from layoutdrill.learning.attempt import Attempt
from layoutdrill.learning.memory import remembered
from layoutdrill.learning.mix import Trial, sitting
from layoutdrill.learning.skills import Skill
from layoutdrill.learning.standing import Standing, standings
from layoutdrill.value import value
from tests.bench.learners import MODELS, Learner

START = datetime(2026, 1, 5, 8, 0, tzinfo=UTC)
SKILLS = tuple(Skill("name", f"s{n:02}", 1 + n // 6, ("x",), ("name",)) for n in range(60))
NUMBERS = {skill.key: number for number, skill in enumerate(SKILLS)}
PAIRS = tuple((f"s{n:02}", f"s{n + 1:02}") for n in range(0, 60, 2))
TRIALS, HELD_OUT = 10, 5000
HAD, GOAL = 0.8, 0.8
DAYS, MOST = 30, 3000
LATER = 30.0
DIGITS = (0, 3, 3)

Chosen = Sequence[tuple[int, float]]
"""Skills by number, each with the help to show."""
Way = Callable[[list[Attempt], float, Dice, int], Chosen]


def planned(told: list[Attempt], day: float, dice: Dice, count: int) -> tuple[Sequence[Standing], Sequence[Trial]]:
    now = START + timedelta(days=day)
    stand = standings(SKILLS, told, now)
    return stand, sitting(stand, told, now, dice, count, PAIRS)


def ours(told: list[Attempt], day: float, dice: Dice, count: int) -> Chosen:
    return _numbered(planned(told, day, dice, count)[1])


def _numbered(trials: Sequence[Trial]) -> Chosen:
    return [(NUMBERS[trial.skill.key], trial.aid) for trial in trials]


def at_random(told: list[Attempt], day: float, dice: Dice, count: int) -> Chosen:
    return [(dice.below(len(SKILLS)), 0.0) for _ in range(count)]


def in_order(told: list[Attempt], day: float, dice: Dice, count: int) -> Chosen:
    """Go through the syllabus again and again, four questions a skill."""
    first = len(told)
    return [((first + i) // 4 % len(SKILLS), 0.0) for i in range(count)]


def scheduler_alone(told: list[Attempt], day: float, dice: Dice, count: int) -> Chosen:
    """Ask what the scheduling library says is due, then new skills in order; every answer counts, once a day."""
    from layoutdrill.learning.memory import grades

    now = START + timedelta(days=day)
    by_skill: dict[str, list[Attempt]] = {}
    for each in told:
        by_skill.setdefault(each.skill, []).append(each)
    memory = {i: remembered(grades(by_skill.get(skill.key, ()), {})) for i, skill in enumerate(SKILLS)}
    due = sorted(
        (kept.due, i) for i, kept in memory.items() if kept is not None and kept.due <= now + timedelta(hours=12)
    )
    chosen = [i for _, i in due][:count]
    chosen += [i for i, kept in memory.items() if kept is None][: count - len(chosen)]
    rest = sorted((kept.due, i) for i, kept in memory.items() if kept is not None and i not in chosen)
    chosen += [i for _, i in rest][: count - len(chosen)]
    return [(i, 0.0) for i in chosen]


WAYS: dict[str, Way] = {"ours": ours, "random": at_random, "fixed order": in_order, "scheduler alone": scheduler_alone}


@value
class Life:
    """How one learner fared: answers until the goal (None where never), and the shares kept on two days."""

    reached: int | None
    asked: int
    end: float
    month: float

    @property
    def figures(self) -> tuple[float, float, float]:
        return float(self.asked if self.reached is None else self.reached), self.end, self.month


def live(model: type[Learner], way: Way, number: int, count: int = TRIALS) -> Life:
    """
    Let a learner practise `count` questions a day until the goal, a month at least; all ways meet the same learner and
    the same chances.
    """
    who = f"{model.__name__} {number}"
    learner, choices = model(len(SKILLS), Dice.from_text(who)), Dice.from_text(f"choices {number}")
    chances = [Dice.from_text(f"{who} {skill}") for skill in range(len(SKILLS))]
    told: list[Attempt] = []
    reached, end, month = None, 0.0, 0.0
    for day in range(MOST // count):
        if reached is not None and day >= DAYS:
            break
        recent: list[int] = []
        for turn, (skill, aid) in enumerate(way(told, float(day), choices, count)):
            when = day + turn / 5000
            contrast = any(skill ^ 1 == other for other in recent[-2:])
            learner.dice = chance = chances[skill]
            right = learner.answer(skill, when, aid, contrast=contrast)
            recent.append(skill)
            at = START + timedelta(days=when)
            taken, variety = chance.fraction() > 0.5, f"{chance.below(8)}"
            said = "" if right or taken else f"s{skill ^ 1:02}"
            told.append(Attempt(SKILLS[skill].key, at, right, 4.0, "name", aided=aid > 0, said=said, variety=variety))
        had = sum(learner.known(i, day + 1.0) >= HAD for i in range(len(SKILLS)))
        if reached is None and had >= GOAL * len(SKILLS):
            reached = len(told)
        if day == DAYS - 1:
            end, month = (statistics.mean(learner.known(i, d) for i in range(len(SKILLS))) for d in (DAYS, day + LATER))
    return Life(reached, len(told), end, month)


def spending(lives: dict[int, Counter[str]]) -> Way:
    """Return our way, which notes what each day's questions were for, and what is begun and mastered, by the day."""

    def way(told: list[Attempt], day: float, dice: Dice, count: int) -> Chosen:
        stand, trials = planned(told, day, dice, count)
        noted = Counter(trial.why.value for trial in trials)
        noted["once more"] = len(trials) - len({trial.skill.key for trial in trials})
        noted["begun"], noted["mastered"] = sum(each.begun for each in stand), sum(each.mastered for each in stand)
        lives.setdefault(int(day), Counter()).update(noted)
        return _numbered(trials)

    return way


def main() -> None:
    """Print a row a model and way, then what ours gains on each, then what ours was spent on."""
    learners, count, first = (*map(int, sys.argv[1:]), *(40, TRIALS, HELD_OUT)[len(sys.argv) - 1 :])
    begun = time.process_time()
    print(f"{learners} learners a model from {first} on, {count} questions a day, {len(SKILLS)} skills")
    heads = ("answers to the goal", "kept after 30 days", "a month later")
    for model in MODELS:
        days: dict[int, Counter[str]] = {}
        ways = WAYS | {"ours": spending(days)}
        lives = {name: [live(model, way, first + n, count) for n in range(learners)] for name, way in ways.items()}
        print(f"\n{model.name:18} {heads[0]:>20} {'came there':>12} {heads[1]:>18} {heads[2]:>18}")
        for name, rows in lives.items():
            cells = [_interval([row.figures[i] for row in rows], digits) for i, digits in enumerate(DIGITS)]
            came = f"{sum(row.reached is not None for row in rows)} of {learners}"
            print(f"  {name:16} {cells[0]:>20} {came:>12} {cells[1]:>18} {cells[2]:>18}")
        for name, rows in lives.items():
            if name == "ours":
                continue
            gains = [
                [(mine.figures[i] - theirs.figures[i]) * (-1 if i == 0 else 1) for mine, theirs in pairs]
                for i, pairs in enumerate([list(zip(lives["ours"], rows, strict=True))] * 3)
            ]
            cells = [_interval(each, digits, signed=True) for each, digits in zip(gains, DIGITS, strict=True)]
            print(f"  gain on {name:15} {cells[0]:>13} {'':12} {cells[1]:>18} {cells[2]:>18}")
        print(f"  {_spent(days, learners, count)}", flush=True)
    print(f"\n{time.process_time() - begun:.0f} s CPU")


def _spent(days: dict[int, Counter[str]], learners: int, count: int) -> str:
    """Say what a month's questions were for, in parts of a hundred, and what was begun and mastered at its end."""
    month = sum((days[day] for day in range(DAYS)), Counter())
    asked = DAYS * count * learners
    parts = (f"{why} {100 * month[why] / asked:.0f}" for why in ("due", "weak", "new", "confused", "kept", "once more"))
    last = (f"{name} {days[DAYS - 1][name] / learners:.1f}" for name in ("begun", "mastered"))
    return f"ours, per cent: {', '.join(parts)}; on day {DAYS}: {', '.join(last)}"


def _interval(values: list[float], digits: int, *, signed: bool = False) -> str:
    """Write the mean with the half width of its 95 % interval."""
    middle = statistics.mean(values)
    half = _student(len(values) - 1) * statistics.stdev(values) / len(values) ** 0.5 if len(values) > 1 else 0.0
    return f"{middle:{'+' if signed else ''}.{digits}f} ± {half:.{digits}f}"


def _student(freedom: int) -> float:
    """Return Student's t for 95 % (Abramowitz & Stegun 26.7.5): 2.045 at 29 degrees, 2.023 at 39."""
    z = 1.959964
    first, second = (z**3 + z) / 4, (5 * z**5 + 16 * z**3 + 3 * z) / 96
    third = (3 * z**7 + 19 * z**5 + 17 * z**3 - 15 * z) / 384
    return z + first / freedom + second / freedom**2 + third / freedom**3


if __name__ == "__main__":
    main()
