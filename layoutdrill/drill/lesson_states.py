"""Say how each lesson stands, from the records."""

from collections.abc import Mapping
from pathlib import Path

from layoutdrill.drill.record import Standing
from layoutdrill.drill.records import kept_records
from layoutdrill.value import value

LAST = 10
"""A lesson's state looks at this many last answers on drawings not seen before."""
PASSED = 0.8
"""The accuracy over those at which a lesson counts as done."""
DONE = "done: 8 of its last 10 right"
"""When a lesson counts as done, in words; one of fewer than ten questions by as many answers as it asks."""


@value
class LessonState:
    """
    How a lesson stands: `right` of the last `counted` answers on unseen drawings, of `answered` in all; so many as are
    `wanted` tell whether it is done.
    """

    lesson: str
    answered: int
    counted: int
    right: int
    wanted: int = LAST

    @property
    def accuracy(self) -> float:
        return self.right / self.counted if self.counted else 0.0

    @property
    def done(self) -> bool:
        return self.counted >= self.wanted and self.accuracy >= PASSED

    @property
    def words(self) -> str:
        """The state in words, for the syllabus."""
        if not self.answered:
            return "not begun"
        share = f"{self.right} of the last {self.counted} right"
        return f"done, {share}" if self.done else share


def lesson_states(lessons: Mapping[str, int], records: Path | None = None) -> tuple[LessonState, ...]:
    """
    Return how each lesson, given with how many questions it asks, stands: plain accuracy over the last answers on
    drawings that were new then.

    A drawing that an earlier answer was about does not count: skill is judged on unseen drawings (Krasne et al. 2013).
    """
    with kept_records(records) as file:
        if file is None:
            return tuple(LessonState(name, 0, 0, 0, min(LAST, asks)) for name, asks in lessons.items())
        return tuple(_state(name, file.standing(name, LAST), asks) for name, asks in lessons.items())


def _state(lesson: str, standing: Standing, asks: int) -> LessonState:
    right = sum(credit >= 1 for credit in standing.credits)
    return LessonState(lesson, standing.answered, len(standing.credits), right, min(LAST, asks))
