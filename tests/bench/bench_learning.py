"""
Compare ways to choose what to practise on simulated learners: ours, random, a fixed order, the scheduler alone.

`python tests/bench/bench_learning.py [LEARNERS [DAYS]]`; 30 learners of each model over 30 days by default, a sitting
of 25 questions a day, 60 skills in pairs of look-alikes, lessons of six. A skill is *had* when the learner's own model
says 0.8 a day later. Printed for each model and way: questions until 80 % of the skills are had (mean and 95 % interval
over learners; half as many again as were asked where they never were), the share kept on the last day, and a month
after the last sitting. The learners were fixed first; our rules were then changed until they did better on them.
"""

import statistics
import sys
from collections.abc import Callable, Sequence
from datetime import UTC, datetime, timedelta
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from layoutdrill.dice import Dice
from layoutdrill.learning.attempt import Attempt
from layoutdrill.learning.memory import remembered
from layoutdrill.learning.mix import sitting
from layoutdrill.learning.skills import Skill
from layoutdrill.learning.standing import standings
from tests.bench.learners import MODELS, Learner

START = datetime(2026, 1, 5, 8, 0, tzinfo=UTC)
SKILLS = tuple(Skill("name", f"s{n:02}", 1 + n // 6, ("x",), ("name",)) for n in range(60))
PAIRS = tuple((f"s{n:02}", f"s{n + 1:02}") for n in range(0, 60, 2))
TRIALS = 25
HAD, GOAL = 0.8, 0.8
LATER = 30.0

Chosen = Sequence[tuple[int, float]]
"""Skills by number, each with the help to show."""
Way = Callable[[list[Attempt], float, Dice], Chosen]


def ours(told: list[Attempt], day: float, dice: Dice) -> Chosen:
    now = START + timedelta(days=day)
    stand = standings(SKILLS, told, now)
    trials = sitting(stand, told, now, dice, TRIALS, PAIRS)
    number = {skill.key: i for i, skill in enumerate(SKILLS)}
    return [(number[trial.skill.key], trial.aid) for trial in trials]


def at_random(told: list[Attempt], day: float, dice: Dice) -> Chosen:
    return [(dice.below(len(SKILLS)), 0.0) for _ in range(TRIALS)]


def in_order(told: list[Attempt], day: float, dice: Dice) -> Chosen:
    """Go through the syllabus again and again, four questions a skill."""
    first = len(told)
    return [((first + i) // 4 % len(SKILLS), 0.0) for i in range(TRIALS)]


def scheduler_alone(told: list[Attempt], day: float, dice: Dice) -> Chosen:
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
    chosen = [i for _, i in due][:TRIALS]
    chosen += [i for i, kept in memory.items() if kept is None][: TRIALS - len(chosen)]
    rest = sorted((kept.due, i) for i, kept in memory.items() if kept is not None and i not in chosen)
    chosen += [i for _, i in rest][: TRIALS - len(chosen)]
    return [(i, 0.0) for i in chosen]


WAYS: dict[str, Way] = {"ours": ours, "random": at_random, "fixed order": in_order, "scheduler alone": scheduler_alone}


def live(model: type[Learner], way: Way, number: int, days: int) -> tuple[float, float, float]:
    """Return questions until the goal (half as many again as were asked, where never), and what is kept."""
    dice = Dice.from_text(f"{model.__name__} {number}")  # the same learner for every way
    learner, choices = model(len(SKILLS), dice), Dice.from_text(f"choices {number}")
    told: list[Attempt] = []
    reached = 0
    for day in range(days):
        recent: list[int] = []
        for turn, (skill, aid) in enumerate(way(told, float(day), choices)):
            when = day + turn / 5000
            contrast = any(skill ^ 1 == other for other in recent[-2:])
            right = learner.answer(skill, when, aid, contrast=contrast)
            recent.append(skill)
            at = START + timedelta(days=when)
            said = "" if right or dice.fraction() > 0.5 else f"s{skill ^ 1:02}"
            variety = f"{dice.below(8)}"
            told.append(Attempt(SKILLS[skill].key, at, right, 4.0, "name", aided=aid > 0, said=said, variety=variety))
        had = sum(learner.known(i, day + 1.0) >= HAD for i in range(len(SKILLS)))
        if not reached and had >= GOAL * len(SKILLS):
            reached = len(told)
    end, month = (statistics.mean(learner.known(i, d) for i in range(len(SKILLS))) for d in (days, days - 1 + LATER))
    return float(reached or 1.5 * len(told)), end, month


def main() -> None:
    """Print a row a model and way."""
    learners = int(sys.argv[1]) if len(sys.argv) > 1 else 30
    days = int(sys.argv[2]) if len(sys.argv) > 2 else 30
    print(f"{learners} learners a model, {days} days of {TRIALS} questions, {len(SKILLS)} skills")
    print(f"{'model':11} {'way':16} {'questions to the goal':>24} {'kept, last day':>20} {'a month later':>20}")
    for model in MODELS:
        for name, way in WAYS.items():
            rows = [live(model, way, n, days) for n in range(learners)]
            figures = [_interval([row[i] for row in rows], digits) for i, digits in ((0, 0), (1, 3), (2, 3))]
            print(f"{model.name:11} {name:16} {figures[0]:>24} {figures[1]:>20} {figures[2]:>20}", flush=True)


def _interval(values: list[float], digits: int) -> str:
    middle = statistics.mean(values)
    half = 1.96 * statistics.stdev(values) / len(values) ** 0.5 if len(values) > 1 else 0.0
    return f"{middle:.{digits}f} ± {half:.{digits}f}"


if __name__ == "__main__":
    main()
