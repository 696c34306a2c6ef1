"""
Wrong answers once more, each with its picture as it was and its verdict: a sitting in which nothing is asked.

All of it comes from the records: the drawing's canonical text, the question, its key, what was answered.
"""

from collections.abc import Iterable, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any, Self, cast

from layoutdrill.deck import Deck
from layoutdrill.drill.answered import mistakes
from layoutdrill.drill.record import AnswerRecord
from layoutdrill.drill.records import kept_records
from layoutdrill.drill.summary import Summary
from layoutdrill.drill.visited import Visited
from layoutdrill.errors import LayoutdrillError
from layoutdrill.learning.wording import named
from layoutdrill.process import load_process
from layoutdrill.question import Answer, Hint, HintStep, Question, Verdict, kinds
from layoutdrill.question.model import Mark
from layoutdrill.question.regrade import restored

MOST = 12
REVIEW = Deck("review", "Mistakes", "What was answered wrong, with the pictures.", ())
"""Stands for the deck of a review."""
_SHORT = "nothing is asked here"


class Review:
    """A review that is open: one wrong answer after another, the newest first."""

    id = 0
    sort = "review"
    look = ""
    kit: Path | None = None
    goes_on = "open it again from progress"
    told_later = ""
    hand_in = ""
    tells = True
    left: float | None = None

    def __init__(self, title: str, mistakes: Sequence[AnswerRecord]) -> None:
        """Raises LayoutdrillError where there is no mistake to look at."""
        if not mistakes:
            raise LayoutdrillError("there is no wrong answer to look at here", todo="practise it instead")
        self.title = title
        self.deck = REVIEW
        self.mistakes = tuple(mistakes)
        self.shown_in = ""
        self.worn: float | None = 0.0
        self.sureness = False
        self.visited = Visited()
        self._made: dict[int, tuple[Question, Answer, Verdict]] = {}

    @classmethod
    def of_skill(cls, skill: str, records: Path | None = None) -> "Review":
        """Review the last wrong answers of a skill. Raises LayoutdrillError where there are none."""
        return cls(f"Mistakes: {named(skill)}", _read(records, skill=skill))

    @classmethod
    def of_sureness(cls, step: int, words: str, records: Path | None = None) -> "Review":
        """Review the last answers that were wrong, and of which one had said that one was so sure."""
        return cls(f"Wrong, and {words}", _read(records, confidence=step))

    def close(self) -> None:
        """Nothing is held open."""

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *exc: object) -> None:
        self.close()

    @property
    def total(self) -> int:
        return len(self.mistakes)

    answered = 0
    position: int | None = 0
    missed: tuple[int, ...] = ()

    @property
    def done(self) -> frozenset[int]:
        return frozenset(range(self.total))

    def help(self, number: int) -> tuple[HintStep, ...]:  # noqa: ARG002 - nothing is asked
        return ()

    def hints_given(self, number: int) -> int:  # noqa: ARG002 - the same
        return 0

    def note_hint(self, number: int) -> None:
        """Nothing is asked."""

    def draft(self, number: int) -> str:  # noqa: ARG002 - the same
        return ""

    def note_draft(self, number: int, text: str) -> None:
        """Nothing is asked."""

    def remarks(self) -> tuple[str, ...]:
        return ()

    def seen_for(self, number: int) -> float:  # noqa: ARG002 - as long as one likes
        return 0.0

    def asks_sureness(self, number: int) -> bool:  # noqa: ARG002 - nothing is asked
        return False

    def prepare(self, number: int) -> Question:
        return self.again(number)[0]

    def prepared(self, number: int) -> Question | None:
        return self._made[number][0] if number in self._made else None

    def again(self, number: int) -> tuple[Question, Answer, Verdict]:
        """Return a question, what was answered, and the verdict on it."""
        if number not in self._made:
            record = self.mistakes[number]
            question = question_again(record)
            answer = Answer(record.given, record.point)
            self._made[number] = question, answer, kinds()[record.kind].judge(question, answer, record.look)
        return self._made[number]

    def accept(self, question: Question, text: str) -> Answer:  # noqa: ARG002 - nothing is asked
        raise LayoutdrillError(_SHORT)

    def submit(
        self,
        question: Question,  # noqa: ARG002 - nothing is asked
        answer: Answer,  # noqa: ARG002
        seconds: float,  # noqa: ARG002
        hints: Iterable[Hint] = (),  # noqa: ARG002
        confidence: int | None = None,  # noqa: ARG002
    ) -> Verdict:
        raise LayoutdrillError(_SHORT)

    def skip(self, question: Question, seconds: float, hints: Iterable[Hint] = ()) -> Verdict:  # noqa: ARG002
        raise LayoutdrillError(_SHORT)

    def summary(self) -> Summary | None:
        return None


def question_again(record: AnswerRecord) -> Question:
    """Return a stored question as it was asked. Raises LayoutdrillError for a kind that is no more."""
    known = kinds().get(record.kind)
    if known is None:
        raise LayoutdrillError(f"no kind of question “{record.kind}” is known any more")
    asked = cast("dict[str, Any]", record.question)
    bare = restored(known, asked["key"], record.layout, load_process(record.process))
    specimen = replace(
        bare.specimen,
        cell=record.cell,
        structure=record.structure,
        aliases=tuple(asked.get("aliases", ())),
        boundary=str(asked.get("boundary", "")),
        about=str(asked.get("about", "")),
        seed=record.drawing_seed,
        wear=record.wear,
        stage=str(asked.get("stage", "")),
    )
    return replace(
        bare,
        prompt=asked["prompt"],
        specimen=specimen,
        choices=tuple(asked["choices"]),
        facts=tuple(asked.get("facts", ())),
        marks=tuple(Mark(*mark) for mark in asked.get("marks", ())),
        pointed=bool(asked.get("pointed")),
        typed=bool(asked.get("typed")),
        look=record.look,
    )


def _read(records: Path | None, *, skill: str = "", confidence: int | None = None) -> tuple[AnswerRecord, ...]:
    with kept_records(records) as file:
        return () if file is None else mistakes(file, MOST, skill=skill, confidence=confidence)
