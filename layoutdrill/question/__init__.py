"""Ask, accept, grade, explain: one module a kind of question."""

from layoutdrill.question.hints import author_hint, credit_after
from layoutdrill.question.model import (
    Answer,
    Hint,
    HintStep,
    Mark,
    Question,
    QuestionKind,
    Specimen,
    Verdict,
)
from layoutdrill.question.registry import fitting_kinds, kinds

__all__ = [
    "Answer",
    "Hint",
    "HintStep",
    "Mark",
    "Question",
    "QuestionKind",
    "Specimen",
    "Verdict",
    "author_hint",
    "credit_after",
    "fitting_kinds",
    "kinds",
]
