"""What a survey found, from one's own answers: what was found by oneself, with help or not, and what is doubtful."""

import json
from collections.abc import Sequence
from enum import StrEnum
from pathlib import Path

from layoutdrill.drill.plan import Draw, draw_of
from layoutdrill.drill.record import DAMAGE, AnswerRecord, DamagedError, SittingRecord
from layoutdrill.drill.records import Records, kept_records
from layoutdrill.drill.summary import recap_of
from layoutdrill.drill.survey import SORT, STEPS
from layoutdrill.errors import LayoutdrillError, Where
from layoutdrill.face import unit_again
from layoutdrill.learning.sure import STEPS as SURE_STEPS
from layoutdrill.locations import records_file
from layoutdrill.process import load_process
from layoutdrill.question import HintStep
from layoutdrill.value import value

_DIE = ("block", "board log")
"""Kinds whose marks stand on the whole die."""
_LETTERS = 12
"""Characters up to which an answer is taken for letters alone."""
GUESSED = 1
"""The step of sureness at which an answer is a doubt, right or not."""


class How(StrEnum):
    """How a finding came about."""

    ALONE = "found alone"
    HELPED = "found with help"
    PARTLY = "partly right"
    WRONG = "not right"
    OPEN = "left open"


@value
class Finding:
    """
    One thing asked in a survey: what was answered, in words, and what is right; what decides; `why_not` where the
    answer is wrong; how it came about, the hints taken, how sure one was ("" where not asked), and the answer itself.
    """

    number: int
    step: str
    asked: str
    said: str
    right: str
    decides: str
    why_not: str
    how: How
    hints: tuple[str, ...]
    sure: str
    answer: AnswerRecord

    @property
    def holds(self) -> bool:
        """Whether what was answered is so."""
        return self.how in (How.ALONE, How.HELPED)

    @property
    def doubt(self) -> str:
        """Say why this is to be looked at again, "" where it is not."""
        guessed = self.sure == SURE_STEPS[GUESSED]
        if self.how is How.OPEN:
            return "left open"
        if not self.holds:
            return "taken for sure, and not so" if self.sure == SURE_STEPS[max(SURE_STEPS)] else "not so, as answered"
        if guessed:
            return "right, but guessed"
        return "right only with help" if self.how is How.HELPED else ""


@value
class Survey:
    """A survey as it stands: which of one's own it is, its sitting, what it asks, and what was found, in its order."""

    number: int
    sitting: SittingRecord
    draws: tuple[Draw, ...]
    findings: tuple[Finding, ...]

    @property
    def cell(self) -> str:
        return self.draws[0].cell

    @property
    def process(self) -> str:
        return self.draws[0].process

    @property
    def open_steps(self) -> tuple[str, ...]:
        """Return the steps in which something has not been asked yet."""
        answered = {finding.number for finding in self.findings}
        left = {draw.step for number, draw in enumerate(self.draws, 1) if number not in answered}
        return tuple(step for step in STEPS if step in left)

    def of_step(self, step: str) -> tuple[Finding, ...]:
        return tuple(finding for finding in self.findings if finding.step == step)

    @property
    def done(self) -> bool:
        return not self.open_steps


def surveys(records: Path | None = None) -> tuple[SittingRecord, ...]:
    """Return all surveys that were begun, the newest first; none where there are no records yet."""
    with kept_records(records) as file:
        return () if file is None else file.sittings_where("WHERE sort = ?", SORT)


def numbered_surveys(records: Path | None = None) -> dict[int, SittingRecord]:
    """Return all surveys by their numbers, the newest first: 1 is the first that was begun."""
    begun = surveys(records)
    return dict(zip(range(len(begun), 0, -1), begun, strict=True))


def survey_to_go_on(number: int | None = None, records: Path | None = None) -> int:
    """Return the sitting of a survey that was left, the newest if no number is asked for; raises LayoutdrillError."""
    left = {number: each.id for number, each in numbered_surveys(records).items() if each.finished is None}
    if not left:
        raise LayoutdrillError("no survey was left", todo="layoutdrill survey begin message_buffer")
    if number not in (None, *left):
        raise LayoutdrillError(f"{number} is no survey that was left", todo=f"left: {', '.join(map(str, left))}")
    return left[max(left) if number is None else number]


def survey_read(number: int | None = None, records: Path | None = None) -> Survey:
    """
    Return a survey by its number, or the one that was begun last. Raises LayoutdrillError where there is none, and
    DamagedError where it cannot be read.
    """
    begun = numbered_surveys(records)
    if not begun:
        raise LayoutdrillError("no survey has been begun", todo="layoutdrill survey begin message_buffer")
    number = max(begun) if number is None else number
    if number not in begun:
        raise LayoutdrillError(f"{number} is no survey", todo=f"surveys: {', '.join(map(str, [*begun][:8]))}")
    chosen = begun[number]
    file = Records(records or records_file())
    try:
        answers = file.answers(sitting=chosen.id)
    finally:
        file.close()
    try:
        draws = tuple(draw_of(given) for given in json.loads(chosen.plan))
    except DAMAGE:
        raise DamagedError(f"the plan of survey {number} is damaged", where=Where(str(file.path))) from None
    return Survey(number, chosen, draws, _findings(draws, answers))


def _findings(draws: Sequence[Draw], answers: Sequence[AnswerRecord]) -> tuple[Finding, ...]:
    known = sorted((answer for answer in answers if answer.number < len(draws)), key=lambda answer: answer.number)
    return tuple(_finding(draws[answer.number], answer) for answer in known)


def _finding(draw: Draw, answer: AnswerRecord) -> Finding:
    recap = recap_of(answer)
    prompt = str(answer.question["prompt"]).removeprefix(draw.words).strip()
    return Finding(
        number=answer.number + 1,
        step=draw.step,
        asked=prompt,
        said="" if answer.skipped else _placed(recap.said, answer),
        right=_placed(recap.right, answer),
        decides=str(answer.verdict.get("decides", "")),
        why_not=str(answer.verdict.get("instead", "")),
        how=_how(answer),
        hints=_helps(answer),
        sure=SURE_STEPS.get(answer.confidence or 0, ""),
        answer=answer,
    )


def _placed(text: str, answer: AnswerRecord) -> str:
    """Add to letters of marks where these stand: a report has not the question's own picture beside it."""
    marks = answer.question.get("marks")
    if answer.kind not in _DIE or not isinstance(marks, list):
        return text
    unit = unit_again(answer.layout, load_process(answer.process))
    lettered = {str(mark[0]): unit.at(int(mark[1]), int(mark[2])) for mark in marks}
    words = text.replace(",", " ").upper().split() if len(text) <= _LETTERS else text.split()[:1]
    places = [f"{letter} at {lettered[letter]}" for letter in words if letter in lettered]
    return f"{text} ({'; '.join(places)})" if places else text


def _helps(answer: AnswerRecord) -> tuple[str, ...]:
    """Return the help that was asked for: metal darker where it lies deep is a way of looking, and is on unasked."""
    return tuple(hint for hint in answer.hints if hint != HintStep.AID)


def _how(answer: AnswerRecord) -> How:
    if answer.skipped:
        return How.OPEN
    if answer.earned >= 1:
        return How.HELPED if _helps(answer) else How.ALONE
    return How.PARTLY if answer.earned > 0 else How.WRONG
