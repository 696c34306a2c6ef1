"""What can be done in each phase of a question; pure, so that every case can be tested without a terminal."""

from typing import Literal

from layoutdrill.question.model import HintStep, Question, Verdict
from layoutdrill.screens.outlines import can_stand_beside
from layoutdrill.screens.wording import LETTERS

Phase = Literal["waiting", "asking", "judging", "judged", "failed", "done"]


def possible_now(
    every: frozenset[str],
    phase: Phase,
    question: Question | None,
    hints: int,
    verdict: Verdict | None,
    *,
    typing: bool,
) -> frozenset[str]:
    """Return the actions that make sense; `every` are those of the screen and the picture, `hints` were taken."""
    if phase == "asking" and question is not None:
        return every - _priced(question, hints) | _answering(question, hints, typing=typing)
    if phase == "judged":
        mixed_up = verdict is not None and verdict.confused_with and can_stand_beside(verdict.confused_with)
        beside = {"compare"} if mixed_up else set()
        return every | {"onward", "details", "dispute"} | beside
    if phase == "failed":
        return every | {"onward"}
    if phase == "done":
        return every & {"help", "palette", "theme", "leave", "quit", "scroll_up", "scroll_down"}
    return every


def _answering(question: Question, hints: int, *, typing: bool) -> frozenset[str]:
    names = {"skip"}
    if not question.typed:
        names |= {f"choose_{letter}" for letter in LETTERS[: len(question.choices)]}
    if question.pointed and not typing:
        names.add("place")
    names.add("stop_typing" if typing else "type")
    if hints < len(question.hints):
        names.add("hint")
    return frozenset(names)


def _priced(question: Question, hints: int) -> set[str]:
    """
    Return what would show more than the question means to: another look than the one whose hidden facts were told, and
    lifting layers while that is a hint still to be paid for.
    """
    lifting = any(hint.step is HintStep.LIFT_METAL for hint in question.hints[hints:])
    return {"look", "lift"} if lifting else {"look"}
