"""What the screens and the plain mode need of a sitting, whether its questions come from a deck or from a fixed set."""

from collections.abc import Iterable
from pathlib import Path
from typing import Protocol, Self

from layoutdrill.deck import Deck
from layoutdrill.drill.summary import Summary
from layoutdrill.drill.visited import Visited
from layoutdrill.question import Answer, Hint, HintStep, Question, Verdict

PAGE_COME_TO = -2
"""Stands among the drafts, in place of a question's number, for the page (from 0) that one has come to in a lesson."""


class OpenSitting(Protocol):
    """A sitting that is open. Questions are numbered from 0."""

    shown_in: str
    worn: float | None
    sureness: bool
    """Whether a learner may be asked how sure an answer is."""
    visited: Visited
    """Where one has been on a die, as long as the sitting goes over one."""

    @property
    def sort(self) -> str: ...

    @property
    def title(self) -> str: ...

    @property
    def deck(self) -> Deck: ...

    @property
    def look(self) -> str: ...

    @property
    def kit(self) -> Path | None: ...

    @property
    def total(self) -> int: ...

    @property
    def answered(self) -> int: ...

    @property
    def done(self) -> frozenset[int]: ...

    @property
    def position(self) -> int | None: ...

    @property
    def tells(self) -> bool:
        """Whether a learner is told after each answer what was right."""
        ...

    @property
    def hand_in(self) -> str:
        """What is to be done with the answers at the end; "" where nothing is."""
        ...

    @property
    def told_later(self) -> str:
        """Where nothing is told after an answer: who or what tells it, as a sentence."""
        ...

    @property
    def left(self) -> float | None:
        """Seconds left, 0 when the time is up, None where no time is set."""
        ...

    @property
    def goes_on(self) -> str:
        """How one goes on with what is left, as the end of a sentence."""
        ...

    def help(self, number: int) -> tuple[HintStep, ...]: ...

    def prepare(self, number: int) -> Question: ...

    def prepared(self, number: int) -> Question | None: ...

    def accept(self, question: Question, text: str) -> Answer: ...

    def seen_for(self, number: int) -> float:
        """Return the seconds for which a question's picture is seen, 0 for as long as one likes."""
        ...

    def asks_sureness(self, number: int) -> bool:
        """Tell whether to ask how sure one is of the answer to a question: after it, before the verdict."""
        ...

    def submit(
        self,
        question: Question,
        answer: Answer,
        seconds: float,
        hints: Iterable[Hint] = (),
        confidence: int | None = None,
    ) -> Verdict: ...

    def skip(self, question: Question, seconds: float, hints: Iterable[Hint] = ()) -> Verdict: ...

    def again(self, number: int) -> tuple[Question, Answer, Verdict]:
        """Return a question that has its answer, with that and what was told of it; only where the sitting `tells`."""
        ...

    @property
    def missed(self) -> tuple[int, ...]:
        """The numbers of the questions that were answered, but not all right and without help."""
        ...

    def hints_given(self, number: int) -> int:
        """Return how many hints of a question have been shown, also before the sitting was left."""
        ...

    def note_hint(self, number: int) -> None:
        """Keep that one more hint of a question has been shown."""
        ...

    def draft(self, number: int) -> str:
        """Return what was written of an answer to a question when it was left, "" where nothing was."""
        ...

    def note_draft(self, number: int, text: str) -> None:
        """Keep what is written of an answer so far, for whoever leaves in between."""
        ...

    def remarks(self) -> tuple[str, ...]:
        """Return what is to be told besides verdicts, each remark once."""
        ...

    def summary(self) -> Summary | None:
        """Return how it went so far, None where nothing may be told of it yet."""
        ...

    def close(self) -> None: ...

    def __enter__(self) -> Self: ...

    def __exit__(self, *exc: object) -> None: ...


def page_to_read(sitting: OpenSitting) -> int | None:
    """Return the page (from 0) of a deck that is read next, the one that was come to; None where questions are next."""
    come_to = sitting.draft(PAGE_COME_TO)
    page = int(come_to) if come_to.isdecimal() else 0
    return page if page < len(sitting.deck.pages) and not sitting.answered else None
