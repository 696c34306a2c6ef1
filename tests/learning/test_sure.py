"""How sure an answer was: asked of one in five, in three steps, and nothing else follows from it."""

from dataclasses import replace

from layoutdrill.learning.standing import standings
from layoutdrill.learning.sure import ONE_IN, STEPS, asked_of, step_said
from tests.learning.make import NAND, SKILLS, at, attempt


def test_one_answer_in_five_is_asked_about():
    """The same ones for the same seed; within four standard deviations of a fifth (binomial)."""
    asked = [asked_of(7, number) for number in range(5000)]
    assert asked == [asked_of(7, number) for number in range(5000)]
    assert abs(sum(asked) - 5000 / ONE_IN) < 4 * (5000 * 0.2 * 0.8) ** 0.5


def test_a_step_is_said_by_number_or_words():
    """Anything else is no reply."""
    assert [step_said(text) for text in ("1", " Fairly  SURE\n", "sure", "a", "", "4")] == [1, 2, 3, None, None, None]
    assert list(STEPS) == [1, 2, 3]


def test_it_changes_nothing_of_how_a_skill_stands():
    """The same answers with and without it."""
    told = [attempt(NAND, day=day, right=day != 1) for day in (0, 1, 3, 12)]
    sure = [replace(each, confidence=1 + number % 3) for number, each in enumerate(told)]
    assert standings(SKILLS, told, at(13)) == standings(SKILLS, sure, at(13))
