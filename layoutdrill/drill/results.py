"""Write answers as JSON lines, one a line, each on disk before the next question: for a teacher, or a spreadsheet."""

import json
import os
from pathlib import Path
from typing import TYPE_CHECKING

from layoutdrill import __version__
from layoutdrill.errors import LayoutdrillError, Where
from layoutdrill.face import unit_again
from layoutdrill.process import load_process
from layoutdrill.units import Lambda

if TYPE_CHECKING:
    from layoutdrill.drill.record import AnswerRecord


def in_lambda_of(answer: "AnswerRecord") -> list[Lambda] | None:
    """Return a pointed answer in λ, as the learner saw it, None on a photograph; `point` is in the face's grid."""
    if answer.point is None:
        return None
    unit = unit_again(answer.layout, load_process(answer.process))
    return [round(value / unit.per, 2) for value in answer.point] if unit.sign == "λ" else None


class Results:
    """A results file; new lines are added after those that are there."""

    def __init__(self, path: Path) -> None:
        """Try the file. Raises LayoutdrillError where it cannot be written."""
        self.path = path
        try:
            with path.open("a+b") as file:
                file.seek(0)
                begins = file.read(1)
        except OSError as error:
            raise self._refused(error) from None
        if begins not in (b"", b"{"):
            what = "this file holds something else than results"
            raise LayoutdrillError(what, where=Where(str(path)), todo="name a new file")

    def _refused(self, error: OSError) -> LayoutdrillError:
        return LayoutdrillError(
            f"results cannot be written ({error.strerror})", where=Where(str(self.path)), todo="choose another file"
        )

    def add(self, answer: "AnswerRecord", *, deck: str, seed: int, count: int) -> None:
        """Add one answer, of a sitting of `count` questions."""
        line = {
            "deck": deck,
            "seed": seed,
            "count": count,
            "number": answer.number + 1,
            "kind": answer.kind,
            "cell": answer.cell,
            "process": answer.process,
            "drawing_seed": answer.drawing_seed,
            "prompt": answer.question["prompt"],
            "choices": answer.question["choices"],
            "answer": answer.given,
            "point": answer.point,
            "point_in_lambda": in_lambda_of(answer),
            "skipped": answer.skipped,
            "hints": answer.hints,
            "seconds": answer.seconds,
            "credit": answer.credit,
            "right": answer.verdict["right"],
            "version": __version__,
        }
        try:
            with self.path.open("a", encoding="utf-8") as file:
                file.write(json.dumps(line, ensure_ascii=False) + "\n")
                file.flush()
                os.fsync(file.fileno())
        except OSError as error:
            raise self._refused(error) from None
