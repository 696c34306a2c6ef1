"""
Take records out, bring them in, and prove them: every stored answer is graded anew from its own layout and key.

An export is one JSON file with everything, or a CSV file with a row an answer for a spreadsheet. An import adds what is
not there yet: a sitting is known by when it was begun, its deck and its seed; what is there is never changed.
"""

import csv
import io
import json
from collections.abc import Callable, Mapping
from dataclasses import asdict, replace
from pathlib import Path
from typing import Any

from layoutdrill import __version__
from layoutdrill.drill.again import regraded
from layoutdrill.drill.record import DAMAGE, AnswerRecord, SittingRecord, TakenError
from layoutdrill.drill.records import Records
from layoutdrill.errors import LayoutdrillError, Where
from layoutdrill.intake import read_bytes
from layoutdrill.value import value

FORM, VERSION = "layoutdrill records", 1
MOST_BYTES = 512 * 1024 * 1024
_CELLS = (
    "sitting", "number", "at", "lesson", "kind", "structure", "cell", "process", "given", "credit", "earned",
    "skipped", "hints", "seconds", "unseen",
)  # fmt: skip
_NEAR = 1e-6


@value
class Brought:
    """What an import did: sittings and answers added, and those that were there already."""

    sittings: int
    answers: int
    known: int


@value
class Proof:
    """What a proof found: answers graded as before, and a line for each that was not, or could not be graded."""

    answers: int
    same: int
    faults: tuple[str, ...]


def export_json(records: Records) -> str:
    """Return everything as JSON."""
    sittings = sorted(records.sittings(), key=lambda sitting: sitting.id)
    whole = {
        "form": FORM,
        "version": VERSION,
        "made with": __version__,
        "sittings": [asdict(sitting) for sitting in sittings],
        "answers": [asdict(answer) for answer in records.answers()],
    }
    return json.dumps(whole, ensure_ascii=False, indent=1) + "\n"


def export_csv(records: Records) -> str:
    """Return a row an answer; text that a spreadsheet would take for a formula is quoted (OWASP, CSV injection)."""
    text = io.StringIO()
    rows = csv.writer(text, lineterminator="\n")
    rows.writerow(_CELLS)
    for answer in records.answers():
        fields = asdict(answer) | {"hints": " ".join(answer.hints)}
        rows.writerow([_cell(fields[name]) for name in _CELLS])
    return text.getvalue()


def _cell(field: object) -> object:
    if isinstance(field, bool):
        return int(field)
    if isinstance(field, str) and field[:1] in ("=", "+", "-", "@", "\t", "\r"):
        return f"'{field}"
    return field


def bring_in(records: Records, path: Path) -> Brought:
    """
    Add what an export holds and the records do not. Raises LayoutdrillError for a file that is no export, or damaged;
    then nothing has been added.
    """
    given = _read(path)
    try:
        sittings = [SittingRecord(**row) for row in given["sittings"]]
        answers = [_answer(row) for row in given["answers"]]
    except DAMAGE as error:
        raise LayoutdrillError(
            f"damaged: {error}", where=Where(str(path)), todo="export the records once more"
        ) from None
    known = {_mark(sitting): sitting.id for sitting in records.sittings()}
    number_of: dict[int, int] = {}
    added = answered = present = 0
    for sitting in sorted(sittings, key=lambda each: each.id):
        mine = known.get(_mark(sitting))
        if mine is None:
            mine = records.add_sitting(**_columns(sitting))
            added += 1
        number_of[sitting.id] = mine
    for answer in answers:
        if answer.sitting not in number_of:
            continue
        try:
            records.add_answer(replace(answer, sitting=number_of[answer.sitting]))
            answered += 1
        except TakenError:
            present += 1
    return Brought(added, answered, present)


def prove(records: Records, progress: Callable[[int, int], None] | None = None) -> Proof:
    """Grade every stored answer anew, before the cost of help; nothing is written."""
    answers = records.answers()
    faults: list[str] = []
    for done, answer in enumerate(answers, 1):
        fault = _fault(answer)
        if fault:
            faults.append(f"sitting {answer.sitting}, question {answer.number + 1} ({answer.kind}): {fault}")
        if progress and (done % 50 == 0 or done == len(answers)):
            progress(done, len(answers))
    return Proof(len(answers), len(answers) - len(faults), tuple(faults))


def _fault(answer: AnswerRecord) -> str:
    if answer.skipped:
        return "" if answer.credit == 0 else f"given up, and yet {answer.credit:g} of the credit"
    try:
        verdict = regraded(answer)
    except LayoutdrillError as error:
        return str(error)
    if abs(verdict.credit - answer.earned) > _NEAR:
        return f"earned {answer.earned:g} then, {verdict.credit:g} now"
    return ""


def _read(path: Path) -> Mapping[str, Any]:
    try:
        given = json.loads(read_bytes(path, MOST_BYTES))
    except (ValueError, RecursionError):
        raise LayoutdrillError("this is no JSON", where=Where(str(path)), todo="name an export of records") from None
    if not isinstance(given, dict) or given.get("form") != FORM:
        raise LayoutdrillError("this is no export of records", where=Where(str(path)), todo="name another file")
    if given.get("version") != VERSION:
        raise LayoutdrillError(
            f"an export of version {given.get('version')}, this program reads {VERSION}", where=Where(str(path))
        )
    return given


def _answer(row: Mapping[str, Any]) -> AnswerRecord:
    point = row["point"]
    fixed = {"point": None if point is None else (int(point[0]), int(point[1])), "hints": tuple(row["hints"])}
    answer = AnswerRecord(**(dict(row) | fixed))
    if not isinstance(answer.layout, str) or not isinstance(answer.question, dict):
        raise TypeError("an answer has no layout, or no question")
    return answer


def _mark(sitting: SittingRecord) -> tuple[str, str, int, int]:
    return sitting.started, sitting.deck, sitting.seed, sitting.total


def _columns(sitting: SittingRecord) -> dict[str, str | int]:
    """Return what a new row takes of a sitting; whether it is finished follows from its answers."""
    fields = asdict(sitting)
    return {name: field for name, field in fields.items() if name not in ("id", "finished", "answered")}
