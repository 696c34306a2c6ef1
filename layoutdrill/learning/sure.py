"""
How sure one was: asked of one answer in five, after it and before the verdict, in three steps.

Asked together with the decision it would harm it (10.1038/s41598-024-64575-7); feedback on it improves calibration
(PMC6390881). It changes neither credit nor schedule.
"""

from collections.abc import Mapping

from layoutdrill.dice import Dice

STEPS: Mapping[int, str] = {1: "guessed", 2: "fairly sure", 3: "sure"}
QUESTION = "How sure are you of that?"
ONE_IN = 5


def asked_of(seed: int, number: int) -> bool:
    """Tell whether it is asked of question `number` of the sitting of this seed."""
    return Dice.from_text(f"sure {seed} {number}").below(ONE_IN) == 0


def step_said(text: str) -> int | None:
    """Return the step that a line means, by its number or its words; None where it means none."""
    word = " ".join(text.lower().split())
    return next((step for step, name in STEPS.items() if word in (str(step), name)), None)
