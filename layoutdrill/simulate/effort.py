"""
Count the work that goes into reading a circuit, so that it ends in time whatever the circuit, and says what it left.

Counted, not timed: what is recognised decides a grade, and whether a slip is told decides an exit code; both must be
the same on every machine, however busy it is. A unit is a term of an expression, a step of a path or a word of a truth
table looked at: about a microsecond (measured on the netlists of the tests). What only adds to a reading, equations and
tables, goes by the clock instead (`reading.behaving`).

The count lies beside the call stack rather than in arguments: what spends it are the loops at the bottom, under any
room, and whoever calls them without a bound has none.
"""

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from time import process_time
from typing import TypeVar

from layoutdrill.value import mutable

T = TypeVar("T")
BASE, EACH = 400_000, 250
"""Units for a reading, and more for each transistor: some 0.5 s at 600, 5 s at 20,000."""
THOROUGH = 100
"""So many times as much work is done where a thorough reading is asked for."""


class OutOfEffortError(Exception):
    """The work allowed for a part of a reading is spent."""


@mutable
class Effort:
    """
    The units `left`, how many times as many parts may have (`scale`), and what was left `undone`, in words.

    What stands in no part goes on when nothing is left: it is what brings a reading to its end.
    """

    left: float
    scale: int
    undone: dict[str, None]
    breaks: bool = False
    until: float | None = None


_PRESENT: ContextVar[Effort | None] = ContextVar("effort", default=None)


def spend(units: int) -> None:
    """Take units of work; raises OutOfEffortError where a part has none left."""
    present = _PRESENT.get()
    if present is not None:
        present.left -= units
        if present.breaks and (present.left < 0 or (present.until is not None and process_time() > present.until)):
            raise OutOfEffortError


@contextmanager
def bounded(transistors: int, *, thorough: bool = False) -> Iterator[Effort]:
    """Allow a reading of so many transistors its work; within another bound, what that one still allows."""
    scale = THOROUGH if thorough else 1
    whole = _PRESENT.get() or Effort(scale * (BASE + EACH * transistors), scale, {})
    before = _PRESENT.set(whole)
    try:
        yield whole
    finally:
        _PRESENT.reset(before)


@contextmanager
def part(most: int) -> Iterator[None]:
    """Allow a block of work at most so many units of what is left; raises OutOfEffortError out of it beyond that."""
    whole = _PRESENT.get()
    if whole is None:
        yield
        return
    allowed = min(most * whole.scale, max(whole.left, 0))
    own = Effort(allowed, whole.scale, whole.undone, True, whole.until)
    before = _PRESENT.set(own)
    try:
        yield
    finally:
        _PRESENT.reset(before)
        whole.left -= allowed - max(own.left, 0)


@contextmanager
def timed(seconds: float | None) -> Iterator[None]:
    """Allow a block of work so many seconds of processor time, None for any; raises OutOfEffortError beyond that."""
    until = None if seconds is None else process_time() + seconds
    before = _PRESENT.set(Effort(float("inf"), THOROUGH, {}, True, until))
    try:
        yield
    finally:
        _PRESENT.reset(before)


def tried(most: int, what: str, work: Callable[[], T], otherwise: T) -> T:
    """Return what some work gives; where it takes more than its part, note `what` as undone and return `otherwise`."""
    try:
        with part(most):
            return work()
    except OutOfEffortError:
        leave(what)
        return otherwise


def leave(what: str) -> None:
    """Note what was not worked out, where somebody counts."""
    present = _PRESENT.get()
    if present is not None:
        present.undone.setdefault(what)
