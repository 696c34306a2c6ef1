"""Errors that a user may see: what is wrong, where, and what to do."""

from collections.abc import Callable, Iterable
from difflib import SequenceMatcher, get_close_matches
from typing import ClassVar

from layoutdrill.printable import in_one_line, printable
from layoutdrill.value import value

MOST_CHARACTERS = 2000
"""No part of a message is longer: names can be as long as a file."""
MOST_TOLD = 100
"""Of more errors than this only so many are told, and how many more there are."""
_LONGEST_WORD = 200
"""Nothing is likened to words longer than this."""


@value
class Where:
    """A place in a file; line and column count from 1, and are None where the format has none."""

    file: str
    line: int | None = None
    column: int | None = None

    def __str__(self) -> str:
        file = in_one_line(self.file)
        return ":".join(str(part) for part in (file, self.line, self.column) if part is not None)


class LayoutdrillError(Exception):
    """
    Bad input. `str(error)` is the one line to show, printable whatever it quotes; the command line exits with
    `exit_code`. What to do may be given as a function, so that of thousands of errors only those told are worked out.
    """

    exit_code: ClassVar[int] = 2

    def __init__(self, what: str, *, where: Where | None = None, todo: str | Callable[[], str] = "") -> None:
        super().__init__(what)
        self.what = what
        self.where = where
        self._todo = todo

    @property
    def todo(self) -> str:
        if not isinstance(self._todo, str):
            self._todo = self._todo()
        return self._todo

    def __str__(self) -> str:
        place = f"{self.where}: " if self.where else ""
        remedy = f"; {_shortened(self.todo)}" if self.todo else ""
        return printable(f"{place}{_shortened(self.what)}{remedy}")


def _shortened(text: str) -> str:
    half = MOST_CHARACTERS // 2
    return text if len(text) <= MOST_CHARACTERS else f"{text[:half]} … {text[-half:]}"


class FaultError(LayoutdrillError):
    """A fault of layoutdrill itself, told with what is needed to repeat it (cell, process, seed)."""

    exit_code = 70


def did_you_mean(word: str, words: Iterable[str]) -> str:
    """Suggest the nearest of `words`, or list them when none is near."""
    known = sorted(set(words))
    near = get_close_matches(word, known, n=12, cutoff=0.6) if len(word) <= _LONGEST_WORD else []
    if near:
        nearest = max(sorted(near), key=lambda other: SequenceMatcher(None, other, word).ratio())  # nand2 before nand4
        return f'did you mean "{nearest}"?'
    if not known:
        return "there is none"
    shown = ", ".join(known[:12]) + (", …" if len(known) > 12 else "")
    return f"known: {shown}"


def plural(number: int, noun: str) -> str:
    """Return a number with its noun: 1 contact, 2 contacts."""
    return f"{number} {noun}" if number == 1 else f"{number} {noun}s"
