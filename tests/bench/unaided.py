"""
Count by arithmetic on views how a lesson's questions, asked of a photograph, come to be seen without the tracing aid.

An answer given with the aid tells little of what one can read on a die, so it counts for no skill. A question opens
without it; or the key that the screen names, F4, leads to views without it; or only + does; or it is never seen so. Run
as `python -m tests.bench.unaided 12 contact-crossing-transistor inverter`.
"""

import sys
import tempfile
from collections import Counter
from pathlib import Path

from layoutdrill.drill.sitting import Sitting
from layoutdrill.screens.drill_picture import looked_at
from layoutdrill.screens.focus import focus_in
from layoutdrill.screens.sighting import jumped, panes_of, starting
from layoutdrill.screens.subject import aids, photographic
from layoutdrill.screens.viewport import snapped
from tests.screens.test_in_view import SIZES, room

LESSONS = ("contact-crossing-transistor", "rails", "complex-gates", "loads-and-ratio")


def way(subject, focus, size):
    """Tell by which keys a view without the aid is come by: “opens so”, “by F4”, “by +”, or “never”."""
    per = subject.face.process.grid_per_lambda
    view, last = starting(snapped(subject.box, per), per, *room(size), focus), None
    if not aids(subject, view.scale):
        return "opens so"
    for _ in panes_of(view, focus):
        view, last = jumped(view, focus, last)
        if not aids(subject, view.scale):
            return "by F4"
    return "never" if aids(subject, view.scales[-1]) else "by +"


def asked(lesson, count, seed=2):
    """Return the questions of a lesson as they are asked under the microscope, each with what its picture shows."""
    questions = []
    with (
        tempfile.TemporaryDirectory() as folder,
        Sitting.open_deck(
            lesson, seed=seed, count=count, look="reflected-light", records=Path(folder) / "r"
        ) as sitting,
    ):
        for number in range(min(count, sitting.total)):
            question = sitting.prepare(number)
            subject = looked_at(question, question.look or sitting.shown_in)
            if photographic(subject.look):
                questions.append((question, subject))
    return questions


def main(count, lessons):
    """Print for each lesson and size how many of its questions come to be seen without the aid, and how."""
    for lesson in lessons:
        questions = asked(lesson, count)
        for size, name in SIZES.items():
            ways = [(way(subject, focus_in(question, subject.look), size), question) for question, subject in questions]
            tally = Counter(how for how, _ in ways)
            told = ", ".join(f"{tally[how]} {how}" for how in ("opens so", "by F4", "by +", "never"))
            print(f"{lesson} at {name}: {len(ways)} questions: {told}")
            for how, question in ways:
                if how in ("by +", "never"):
                    print(f"  {how}: {question.kind}, {question.specimen.cell}, {question.specimen.process.name}")


if __name__ == "__main__":
    main(int(sys.argv[1]), sys.argv[2:] or LESSONS)
