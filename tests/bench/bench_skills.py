"""
Ask every skill of the syllabus as today's plan would, and count how often the question is one of that skill.

`python -m tests.bench.bench_skills [GROUP [TIMES]]`: `see`, `name`, `work out`, `write`, all of them if none is said;
each TIMES times (2). Prints a line for each skill that was not asked, and how many were.
"""

import sys

from layoutdrill.deck.specimen import SpecimenMaker
from layoutdrill.dice import Dice
from layoutdrill.drill.again import TODAY
from layoutdrill.drill.asking import asked_of_some
from layoutdrill.drill.history import skill_key, syllabus
from layoutdrill.drill.opening import maker_of
from layoutdrill.drill.today import draws_of
from layoutdrill.errors import LayoutdrillError
from layoutdrill.learning.mix import Trial, Why


def question_of(draw, number, look="reflected-light"):
    """Ask what a draw foresees, as a sitting does."""
    maker = maker_of({"": SpecimenMaker(TODAY)})
    return asked_of_some(draw, maker, Dice.from_text(f"ask {number}"), look, look)


def main(group, times):
    skills = [skill for skill in syllabus() if group in ("", skill.group)]
    trials = [Trial(skill, Why.DUE, 0.0, 0.2, 0.2, varied=bool(n % 2)) for n in range(times) for skill in skills]
    right = 0
    for number, (trial, draw) in enumerate(zip(trials, draws_of(trials, Dice(5)), strict=True)):
        try:
            question = question_of(draw, number)
        except LayoutdrillError as error:
            print(f"{trial.skill.key}: {error}")
            continue
        right += skill_key(question) == trial.skill.key
        if skill_key(question) != trial.skill.key:
            print(f"{trial.skill.key}: {draw.cell} in {draw.process} asked {skill_key(question)} by {question.kind}")
    print(f"{right} of {len(trials)} questions train the skill that was planned")


if __name__ == "__main__":
    main(sys.argv[1] if len(sys.argv) > 1 else "", int(sys.argv[2]) if len(sys.argv) > 2 else 2)
