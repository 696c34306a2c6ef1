"""Send text out through one gate, say in one line when standard output is closed or full, and write files whole."""

import os
import sys
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import Any, TextIO, cast

from layoutdrill.errors import LayoutdrillError
from layoutdrill.printable import in_encoding, printable


class Outlet:
    """A text stream that escapes what cannot be printed, and has a stand-in for letters that its encoding lacks."""

    def __init__(self, stream: TextIO | None, *, needed: bool = True) -> None:
        self._stream = stream
        self._needed = needed

    def write(self, text: str) -> int:
        if self._stream is None:
            if self._needed:
                raise _lost("it is closed")
            return len(text)
        encoding = getattr(self._stream, "encoding", None) or "utf-8"
        with self._telling():
            self._stream.write(in_encoding(printable(text), encoding))
        return len(text)

    def flush(self) -> None:
        if self._stream is not None:
            with self._telling():
                self._stream.flush()

    @contextmanager
    def _telling(self) -> Iterator[None]:
        try:
            yield
        except BrokenPipeError:
            raise
        except (OSError, ValueError) as error:  # ValueError: closed since
            if not self._needed:
                return
            raise _lost(getattr(error, "strerror", None) or str(error)) from None

    def __getattr__(self, name: str) -> Any:
        return getattr(self._stream, name)


def _lost(why: str) -> LayoutdrillError:
    return LayoutdrillError(f"standard output cannot be written ({why})", todo="make room, or send it elsewhere")


def gated(stream: TextIO) -> TextIO:
    """Return a stream that goes through the gate; one that does already is returned as it is."""
    return stream if isinstance(stream, Outlet) else cast("TextIO", Outlet(stream))


@contextmanager
def gated_streams() -> Iterator[None]:
    """Put the gate before standard output and error; what is no text on standard input gets a stand-in."""
    before = sys.stdout, sys.stderr
    sys.stdout = cast("TextIO", Outlet(sys.stdout))
    sys.stderr = cast("TextIO", Outlet(sys.stderr, needed=False))
    with suppress(AttributeError, OSError, ValueError):  # a stand-in of a test, or closed
        cast("Any", sys.stdin).reconfigure(errors="replace")
    try:
        yield
    finally:
        sys.stdout, sys.stderr = before


def tell_progress(what: str, done: int, of: int) -> None:
    """Say on a terminal's standard error how far something has come, in a line that is written over; gone when done."""
    stream = sys.__stderr__
    if stream is None or not stream.isatty():
        return
    line = "" if done == of else printable(f"{what} {done} of {of}")
    with suppress(OSError, ValueError):
        stream.write(f"\r{in_encoding(line, stream.encoding or 'utf-8')}\x1b[K")
        stream.flush()


def give_up_output() -> None:
    """Let nothing more be written to standard output, also not at exit: its reader has gone, or it is full."""
    with suppress(OSError, ValueError, AttributeError):
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())


def write_whole(path: Path, data: bytes, *, again: bool = False) -> None:
    """
    Write a file whole or not at all: beside its place first, then into it. It is on disk before this returns, unless
    it can be made `again`. Raises OSError; nothing of the attempt is left then, and what stood there still stands.
    """
    beside = path.with_name(f"{path.name}.{os.getpid()}.part")
    try:
        with beside.open("wb") as file:
            file.write(data)
            file.flush()
            if not again:
                os.fsync(file.fileno())
        beside.replace(path)
    except OSError:  # a full disk keeps what was written so far
        with suppress(OSError):
            beside.unlink(missing_ok=True)
        raise
