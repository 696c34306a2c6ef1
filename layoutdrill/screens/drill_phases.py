"""What can be done in each phase of a question; pure, so that every case can be tested without a terminal."""

from typing import Literal

from layoutdrill.question.model import HintStep, Question, Verdict
from layoutdrill.question.registry import kinds
from layoutdrill.screens.actions import EVERYWHERE
from layoutdrill.screens.outlines import can_stand_beside
from layoutdrill.screens.wording import LETTERS
from layoutdrill.value import value

Phase = Literal["waiting", "glancing", "asking", "sure", "judging", "judged", "back", "failed", "done"]
"""
At a glance the picture alone is seen before the question is asked; `sure` asks how sure an answer is; `back` is a
verdict of before that is looked at again, whatever the phase was.
"""


SURE_STEPS = {"sure_1": 1, "sure_2": 2, "sure_3": 3}
"""The actions that say how sure an answer is, and the steps that they mean."""


@value
class Moment:
    """
    Where a drill stands; `hints` were taken. A look that is `fixed` stays while a question is open: everybody is asked
    in the same. There is a verdict `before` to look back at, or `after`; something was `missed`; a section through the
    place asked about can be shown (`cuttable`).
    """

    phase: Phase
    question: Question | None = None
    hints: int = 0
    verdict: Verdict | None = None
    typing: bool = False
    fixed: bool = False
    before: bool = False
    after: bool = False
    missed: bool = False
    cuttable: bool = False


def possible_now(every: frozenset[str], moment: Moment) -> frozenset[str]:
    """Return the actions that make sense; `every` are those of the screen and the picture."""
    phase, question, hints = moment.phase, moment.question, moment.hints
    if phase == "glancing":
        return every & EVERYWHERE
    if phase == "sure":
        return every & EVERYWHERE - {"leave"} | {*SURE_STEPS, "unsaid"}
    back = ({"look_back"} if moment.before else set()) | ({"look_on"} if moment.after else set())
    every = every | (back if phase in ("asking", "judged", "back", "done") else set())
    if phase == "asking" and question is not None:
        looks = {"look", "next_look"} if moment.fixed else set()
        answering = _answering(question, hints, typing=moment.typing)
        return every - {"stage"} - _priced(question, hints) - looks | answering
    if phase in ("judged", "back"):
        verdict = moment.verdict
        mixed_up = verdict is not None and verdict.confused_with and can_stand_beside(verdict.confused_with)
        beside = {"compare"} if mixed_up else set()
        steps = {"step"} if question is not None and kinds()[question.kind].stepping(question) is not None else set()
        cut = {"section"} if moment.cuttable else set()
        return every | {"onward", "details", "dispute"} | beside | steps | cut
    if phase == "failed":
        return every | {"onward"}
    if phase == "done":
        looked = ({"look_again"} | (set() if moment.fixed else {"missed"})) if moment.missed else set()
        return (every & (EVERYWHERE | {"scroll_up", "scroll_down", "look_back"})) | {"onward"} | looked
    return every


def _answering(question: Question, hints: int, *, typing: bool) -> frozenset[str]:
    names = {"skip"}
    if not question.typed:
        names |= {f"choose_{letter}" for letter in LETTERS[: len(question.choices)]}
    if question.pointed and not typing:
        names.add("place")
    names |= {"stop_typing", "hand_in"} if typing else {"type"}
    if hints < len(question.hints):
        names.add("hint")
    return frozenset(names)


def _priced(question: Question, hints: int) -> set[str]:
    """
    Return what would show more than the question means to: layers lifted while that is a hint to be paid for, another
    look where the question is about this very one, and a legend where it would name what is asked.
    """
    kind = kinds()[question.kind]
    lifting = any(hint.step is HintStep.LIFT_METAL for hint in question.hints[hints:])
    fixed = {"look", "next_look"} if kind.own_look else set()
    return ({"lift"} if lifting else set()) | fixed | (set() if kind.names_process else {"legend"})


def why_not_now(name: str, phase: Phase, question: Question | None) -> str:
    """Say why an action of the drill cannot be done now, or "" where there is no more to say than that."""
    if phase == "glancing":
        return "The picture is seen for a moment; the question comes then."
    if phase == "sure":
        return "First say how sure you are, or Esc to say nothing."
    if phase == "asking" and question is not None:
        if name == "lift":
            return "Lifting the metal is one of this question's hints: h takes the next hint."
        if name in ("look", "next_look") and kinds()[question.kind].own_look:
            return "This question is about this very picture; after the verdict y changes it."
        if name == "stage":
            return "What a stage of removal shows would answer questions: it comes with the verdict."
        if name in ("look", "next_look"):
            return "Everybody is asked in the same look; after the verdict y changes it."
        if name == "legend":
            return "The legend names layers, and with them the process; it comes with the verdict."
        if name == "hint":
            return "All hints of this question have been shown."
        if name.startswith("choose_"):
            if question.pointed:
                return "This answer is a place: the arrows move the crosshair, Enter answers there; a click does too."
            if question.typed or not question.choices:
                return "This answer is typed: t goes to the line of text."
            return f"There are only {len(question.choices)} choices."
        if name in ("onward", "place"):
            return "Answer first; g gives the question up."
        if name in ("details", "compare", "dispute", "step", "section"):
            return "That comes with the verdict."
    if phase in ("waiting", "judging"):
        return "The question is still being made." if phase == "waiting" else "The answer is being judged."
    if name in ("look_back", "look_on"):
        return "There is no other verdict there."
    if phase in ("judged", "back"):
        if name == "section":
            return "There is no one place here to cut through."
        if name == "compare":
            return "There is nothing that was taken for something else here."
        if name == "step":
            return "There is nothing to step through: this question is not about what a circuit does."
        if name.startswith("choose_") or name in ("hint", "skip", "type"):
            return "This question is answered; Enter goes on."
    return ""
