"""Errors that a user may see: what is wrong, where, and what to do."""

from collections.abc import Iterable
from difflib import get_close_matches
from typing import ClassVar

from layoutdrill.value import value


@value
class Where:
    """A place in a file; line and column count from 1, and are None where the format has none."""

    file: str
    line: int | None = None
    column: int | None = None

    def __str__(self) -> str:
        return ":".join(str(part) for part in (self.file, self.line, self.column) if part is not None)


class LayoutdrillError(Exception):
    """Bad input. `str(error)` is the one line to show; the command line exits with `exit_code`."""

    exit_code: ClassVar[int] = 2

    def __init__(self, what: str, *, where: Where | None = None, todo: str = "") -> None:
        super().__init__(what)
        self.what = what
        self.where = where
        self.todo = todo

    def __str__(self) -> str:
        place = f"{self.where}: " if self.where else ""
        remedy = f"; {self.todo}" if self.todo else ""
        return f"{place}{self.what}{remedy}"


class FaultError(LayoutdrillError):
    """A fault of layoutdrill itself, told with what is needed to repeat it (cell, process, seed)."""

    exit_code = 70


def did_you_mean(word: str, words: Iterable[str]) -> str:
    """Suggest the nearest of `words`, or list them when none is near."""
    known = sorted(set(words))
    near = get_close_matches(word, known, n=1, cutoff=0.6)
    if near:
        return f'did you mean "{near[0]}"?'
    if not known:
        return "there is none"
    shown = ", ".join(known[:12]) + (", …" if len(known) > 12 else "")
    return f"known: {shown}"


def plural(number: int, noun: str) -> str:
    """Return a number with its noun: 1 contact, 2 contacts."""
    return f"{number} {noun}" if number == 1 else f"{number} {noun}s"
