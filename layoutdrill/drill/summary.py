"""Say how a sitting went, from its answers."""

from collections.abc import Iterable, Sequence

from layoutdrill.drill.record import AnswerRecord
from layoutdrill.errors import plural
from layoutdrill.face.unit import Unit
from layoutdrill.learning.wording import named
from layoutdrill.process import load_process
from layoutdrill.question.recap import Given, Recap, recapped
from layoutdrill.question.registry import kinds
from layoutdrill.value import value


@value
class Tally:
    """How often one skill or kind was asked, and how many were fully right."""

    name: str
    asked: int
    right: int


@value
class Slip:
    """
    A question that did not earn all; `number` counts from 1. `given` is "" where it was skipped; `right` and `given`
    say nothing that only the picture explains. `hints` is how many a right answer took, 0 for a wrong one.
    """

    number: int
    right: str
    given: str
    credit: float
    hints: int = 0

    @property
    def words(self) -> str:
        """The slip in one line."""
        if self.hints:
            return f"{self.right}: right, with {plural(self.hints, 'hint')}"
        return f"{self.right}; you said: {self.given}" if self.given else f"{self.right}: skipped"


@value
class Summary:
    """How a sitting went. `credit` is the sum of the credits; `seconds` the median time of an answer."""

    total: int
    answered: int
    right: int
    skipped: int
    credit: float
    seconds: float
    by_skill: tuple[Tally, ...]
    by_kind: tuple[Tally, ...]
    slips: tuple[Slip, ...]

    @property
    def accuracy(self) -> float:
        return self.right / self.answered if self.answered else 0.0


def summarise(total: int, answers: Sequence[AnswerRecord]) -> Summary:
    given = [answer for answer in answers if not answer.skipped]
    return Summary(
        total=total,
        answered=len(given),
        right=sum(answer.credit >= 1 for answer in given),
        skipped=len(answers) - len(given),
        credit=round(sum(answer.credit for answer in given), 3),
        seconds=round(median_of([answer.seconds for answer in given]), 1),
        by_skill=_tallies((_asked_for(answer), answer.credit >= 1) for answer in answers),
        by_kind=_tallies((answer.kind, answer.credit >= 1) for answer in answers),
        slips=tuple(_slip(answer) for answer in answers if answer.credit < 1),
    )


def _asked_for(answer: AnswerRecord) -> str:
    """Return what an answer was to show that one can: the skill, or the structure of an answer older than skills."""
    return named(answer.skill) if answer.skill else answer.structure


def median_of(values: list[float]) -> float:
    """Return the middle value, 0 where there is none; the library's own module costs 10 ms to import."""
    ordered, middle = sorted(values), len(values) // 2
    if not ordered:
        return 0.0
    return ordered[middle] if len(ordered) % 2 else (ordered[middle - 1] + ordered[middle]) / 2


def _slip(answer: AnswerRecord) -> Slip:
    recap = recap_of(answer)
    right = not answer.skipped and answer.earned >= 1
    said = "" if answer.skipped else recap.said
    return Slip(answer.number + 1, recap.right, said, answer.credit, len(answer.hints) if right else 0)


def recap_of(answer: AnswerRecord) -> Recap:
    """Return the right answer and the one given, in words that say something without the picture."""
    choices = answer.question["choices"]
    place = answer.question.get("place")
    if answer.point is not None and not isinstance(place, str):  # of a record from before places were kept in words
        place = Unit(load_process(answer.process).grid_per_lambda).at(*answer.point)
    given = Given(
        structure=answer.structure,
        choices=tuple(map(str, choices)) if isinstance(choices, list) else (),
        right=str(answer.verdict["right"]),
        text=answer.given,
        place=str(place or ""),
        credit=answer.credit,
    )
    kind = kinds().get(answer.kind)
    return kind.recap(given) if kind is not None else recapped(given)


def _tallies(answers: Iterable[tuple[str, bool]]) -> tuple[Tally, ...]:
    asked: dict[str, list[bool]] = {}
    for name, right in answers:
        asked.setdefault(name, []).append(right)
    return tuple(Tally(name, len(rights), sum(rights)) for name, rights in sorted(asked.items()))
