"""What the records hold, a value a row, and how a row becomes one: what is damaged is told from what is whole."""

import json
from collections.abc import Mapping
from datetime import UTC, datetime
from functools import lru_cache
from typing import Any

from layoutdrill.brought import is_brought
from layoutdrill.errors import LayoutdrillError
from layoutdrill.printable import in_one_line
from layoutdrill.units import GridUnits
from layoutdrill.value import value

OF_THE_DAY = "today"
"""The sort of a sitting of one day's questions."""
DAMAGE = (ValueError, TypeError, KeyError, AttributeError, RecursionError)
"""What reading a damaged row can raise."""

AID = "tracing aid"
"""How the step of help is kept that pictures seen small have unasked; said here, as home reads no questions."""


@value
class SittingRecord:
    """A sitting as it was opened; `plan` is JSON, `finished` None while answers are missing."""

    id: int
    sort: str
    deck: str
    title: str
    deck_text: str
    seed: int
    total: int
    look: str
    kit: str
    version: str
    plan: str
    started: str
    finished: str | None
    answered: int


@value
class AnswerRecord:
    """
    One answer, with all that is needed to grade it again: `question` holds prompt, choices, facts, marks, key and
    boundary, `layout` the drawing's canonical text. `earned` is the credit of the answer, `credit` what was left of it
    after the hints; `unseen` tells that no earlier answer was about this very drawing. `aided` tells that hints were
    taken or help was shown; `wear` and `difficulty` lie from 0 to 1; `confidence` is from 1 (guessed) to 3 (sure), None
    where not asked.
    """

    sitting: int
    number: int
    lesson: str
    kind: str
    cell: str
    process: str
    structure: str
    drawing_seed: int | None
    layout: str
    question: Mapping[str, object]
    given: str
    point: tuple[GridUnits, GridUnits] | None
    skipped: bool
    hints: tuple[str, ...]
    seconds: float
    credit: float
    verdict: Mapping[str, object]
    at: str = ""
    unseen: bool = True
    earned: float = 0.0
    skill: str = ""
    aided: bool = False
    look: str = ""
    wear: float = 0.0
    difficulty: float = 0.0
    confidence: int | None = None


@value
class LearningRow:
    """What learning needs of an answer, without its drawing: `at` in UTC, what it was taken for, how many hints."""

    skill: str
    at: datetime
    kind: str
    process: str
    look: str
    wear: float
    earned: float
    seconds: float
    aided: bool
    hints: int
    skipped: bool
    unseen: bool
    said: str
    confidence: int | None


@value
class Left:
    """A sitting that was begun and can be gone on with."""

    id: int
    sort: str
    deck: str
    title: str
    total: int
    started: str
    answered: int


@value
class Standing:
    """What a lesson's state follows from: answers in all, and the credits of the last on unseen drawings."""

    answered: int
    credits: tuple[float, ...]


@value
class Checked:
    """How a deck that is kept for checking went once: when it was begun, how many were right of how many answered."""

    sitting: int
    deck: str
    title: str
    started: str
    right: int
    asked: int


class TakenError(LayoutdrillError):
    """The question has been answered already, most likely in another window."""


class DamagedError(LayoutdrillError):
    """A row of the records is damaged; the others are not."""


def sitting_of(row: tuple[Any, ...]) -> SittingRecord:
    """
    Return a row as a record; what cannot be printed of its title is escaped. A damaged row comes without a plan, so
    that it is listed, and set aside once one tries to go on with it.
    """
    number, sort, deck, title, text, seed, total, look, kit, version, plan, started, finished, answered = row
    words = (sort, deck, title, text, look, kit, version, plan, started)
    whole = all(isinstance(word, str) for word in words) and isinstance(seed, int) and isinstance(total, int)
    sort, deck, title, text, look, kit, version, plan, started = (str(word) for word in words)
    if not whole:
        plan, seed, total = "", 0, max(1, answered)
    deck, title = in_one_line(deck), in_one_line(title)
    return SittingRecord(
        number, sort, deck, title, text, seed, total, look, kit, version, plan, started, finished, answered
    )


def answer_of(row: tuple[Any, ...]) -> AnswerRecord:
    """Return a row as a record. Raises one of DAMAGE for a row that is not as it was written."""
    (sitting, number, lesson, kind, cell, process, structure, seed, layout, question) = row[:10]
    (given, x, y, skipped, hints, seconds, credit, verdict, at, unseen) = row[10:20]
    (earned, skill, aided, look, wear, difficulty, confidence) = row[20:]
    for text in (lesson, kind, cell, process, structure, layout, question, given, hints, verdict, at):
        _must(isinstance(text, str))
    asked, verdict_json, taken = json.loads(question), json.loads(verdict), json.loads(hints)
    _must(isinstance(asked["prompt"], str) and isinstance(asked["choices"], list) and isinstance(asked["key"], dict))
    _must(
        isinstance(verdict_json["right"], str) and isinstance(verdict_json["summary"], str) and isinstance(taken, list)
    )
    from layoutdrill.process import process_names  # noqa: PLC0415 - what was left is listed without reading an answer

    _must((x is None) == (y is None) and (process in process_names() or is_brought(process)))
    return AnswerRecord(
        sitting=int(sitting),
        number=int(number),
        lesson=lesson,
        kind=kind,
        cell=in_one_line(cell),
        process=process,
        structure=in_one_line(structure),
        drawing_seed=seed,
        layout=layout,
        question=asked,
        given=in_one_line(given),
        point=None if x is None else (int(x), int(y)),
        skipped=bool(skipped),
        hints=tuple(str(step) for step in taken),
        seconds=float(seconds),
        credit=float(credit),
        verdict=verdict_json,
        at=at,
        unseen=bool(unseen),
        earned=float(earned),
        skill=in_one_line(str(skill)),
        aided=bool(aided),
        look=in_one_line(str(look)),
        wear=float(wear),
        difficulty=float(difficulty),
        confidence=None if confidence is None else int(confidence),
    )


_line = lru_cache(maxsize=512)(in_one_line)


def learning_of(row: tuple[Any, ...]) -> LearningRow:
    skill, at, kind, process, look, wear, earned, seconds, aided, hints, skipped, unseen, verdict, confidence = row
    when = datetime.fromisoformat(at)
    said = json.loads(verdict).get("confused_with", "") if earned < 1 else ""
    steps = [] if hints == "[]" else json.loads(hints)
    taken = [step for step in steps if step != AID]  # seen small, pictures have the aid though nobody asks
    return LearningRow(
        skill=_line(str(skill)),
        at=when.astimezone(UTC) if when.tzinfo else when.replace(tzinfo=UTC),
        kind=str(kind),
        process=str(process),
        look=str(look),
        wear=float(wear),
        earned=float(earned),
        seconds=float(seconds),
        aided=bool(aided) or len(taken) < len(steps),
        hints=len(taken),
        skipped=bool(skipped),
        unseen=bool(unseen),
        said=_line(str(said)),
        confidence=None if confidence is None else int(confidence),
    )


def _must(holds: bool) -> None:
    if not holds:
        raise ValueError
