"""How far a long piece of work is: told where it is done, heard by whoever waits in the same thread."""

from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import contextmanager
from contextvars import ContextVar
from typing import TypeVar

from layoutdrill.value import value

_T = TypeVar("_T")


@value
class Headway:
    """Part `at` (from 1) of `of` is being made, and what it is; without parts `of` is 0."""

    what: str
    at: int = 0
    of: int = 0

    def words(self) -> str:
        """Say it, such as “part 3 of 14, the counter”."""
        return f"part {self.at} of {self.of}, {self.what}" if self.of else self.what


_LISTENER: ContextVar[Callable[[Headway], None] | None] = ContextVar("listener", default=None)


@contextmanager
def heard_by(listener: Callable[[Headway], None]) -> Iterator[None]:
    """Let a listener hear how far the work within is."""
    token = _LISTENER.set(listener)
    try:
        yield
    finally:
        _LISTENER.reset(token)


def tell(what: str, at: int = 0, of: int = 0) -> None:
    """Tell how far the work is; nobody need listen."""
    listener = _LISTENER.get()
    if listener is not None:
        listener(Headway(what, at, of))


def counted(things: Sequence[_T], name: Callable[[_T], str], done: int = 0, of: int = 0) -> Iterable[_T]:
    """Yield things and tell of each as it is taken up: the `done` ones came before, of so many in all."""
    for at, thing in enumerate(things, done + 1):
        tell(name(thing), at, of or len(things))
        yield thing
