"""Ask, accept, grade, explain: one module a kind of question."""

from layoutdrill.question.evidence_rule import HiddenFactError, ask_in_look, tell_hidden_facts
from layoutdrill.question.hints import author_hint, credit_after
from layoutdrill.question.keys import Key
from layoutdrill.question.kind import QuestionKind
from layoutdrill.question.lookalikes import cell_of
from layoutdrill.question.model import (
    Answer,
    Hint,
    HintStep,
    Mark,
    Question,
    Specimen,
    Verdict,
)
from layoutdrill.question.registry import fitting_kinds, kinds
from layoutdrill.question.regrade import regrade

__all__ = [
    "Answer",
    "HiddenFactError",
    "Hint",
    "HintStep",
    "Key",
    "Mark",
    "Question",
    "QuestionKind",
    "Specimen",
    "Verdict",
    "ask_in_look",
    "author_hint",
    "cell_of",
    "credit_after",
    "fitting_kinds",
    "kinds",
    "regrade",
    "tell_hidden_facts",
]
