"""Save a dispute: all that is needed to judge, years later and elsewhere, whether a verdict was fair."""

import json
import re
import sys
from collections.abc import Sequence
from pathlib import Path

from layoutdrill import __version__
from layoutdrill.errors import LayoutdrillError, Where
from layoutdrill.face.unit import Unit
from layoutdrill.question.model import Answer, Hint, Question, Verdict


def dispute_report(
    question: Question,
    answer: Answer,
    verdict: Verdict,
    *,
    remark: str = "",
    look: str = "",
    taken: Sequence[Hint] = (),
) -> str:
    """
    Return a report that stands alone: question, answer, verdict, key, versions, extracted netlist and layout text.

    It holds nothing of the machine or its user but the versions of Python and of this package. The key and the layout
    text are complete, so `regrade` can be run on them.
    """
    specimen = question.specimen
    process = specimen.process
    lines = ["layoutdrill: a disputed question", ""]
    lines += _field("remark", remark) if remark.strip() else []
    lines += _field("kind", question.kind)
    lines += _field("prompt", question.prompt)
    lines += [f"choice {'abcd'[i]}: {choice}" for i, choice in enumerate(question.choices)]
    lines += [f"fact told: {fact}" for fact in question.facts]
    lines += [f"mark {m.letter}: {specimen.face.unit.at(m.x, m.y)} (grid {m.x}, {m.y})" for m in question.marks]
    lines += [f"hint taken: {hint.step} (cost {hint.cost:g})" for hint in taken]
    given = answer.text or "pointed"
    lines += _field("answer", given + _place(specimen.face.unit, answer.point))
    lines += _field("credit", f"{verdict.credit:g}")
    lines += _field("verdict", verdict.summary)
    lines += _field("right answer", verdict.right)
    lines += _field("what decides", verdict.decides)
    lines += ["", f"cell: {specimen.cell}", f"structure: {specimen.structure}", f"process: {process.name}"]
    lines += [f"seed: {specimen.seed}"] if specimen.seed is not None else []
    lines += [f"look: {look}"] if look else []
    lines += [f"layoutdrill {__version__}, Python {sys.version.split()[0]}", ""]
    lines += ["key:", json.dumps(question.key.json(), ensure_ascii=False, sort_keys=True), ""]
    lines += ["netlist as extracted:", specimen.extraction.netlist.text().rstrip(), ""]
    lines += ["layout text:", specimen.face.text().rstrip(), ""]
    return "\n".join(lines)


def _place(unit: Unit, point: tuple[int, int] | None) -> str:
    return "" if point is None else f" at {unit.at(*point)} (grid {point[0]}, {point[1]})"


def _field(name: str, text: str) -> list[str]:
    return [f"{name}: {' '.join(text.split())}"]


def save_dispute(folder: Path, question: Question, report: str) -> Path:
    """Write the report to a new file in `folder` (made when missing) and return its path; never overwrites."""
    stem = re.sub(r"[^a-z0-9]+", "-", f"{question.kind} {question.specimen.cell}".lower()).strip("-")
    try:
        folder.mkdir(parents=True, exist_ok=True)
        for number in range(1, 100_000):
            path = folder / f"dispute-{stem}-{number}.txt"
            try:
                with path.open("x", encoding="utf-8") as file:
                    file.write(report)
            except FileExistsError:
                continue
            return path
    except OSError as error:
        raise LayoutdrillError(
            f"the report cannot be written ({error.strerror})", where=Where(str(folder)), todo="choose another folder"
        ) from None
    raise LayoutdrillError("there are too many reports here", where=Where(str(folder)), todo="choose another folder")
