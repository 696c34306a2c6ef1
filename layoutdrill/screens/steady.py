"""Keep the app going: widgets whose faults are told, a driver that any byte leaves alive, the gate for text."""

import os
import selectors
import signal
import sys
import time
from codecs import getincrementaldecoder
from collections.abc import Callable
from contextlib import suppress
from typing import Any, cast

from rich.segment import Segment
from textual.color import Color
from textual.driver import Driver
from textual.filter import LineFilter
from textual.message import Message
from textual.message_pump import MessagePump
from textual.widgets import OptionList

from layoutdrill.printable import stripped
from layoutdrill.screens.bench import Bench
from layoutdrill.screens.graphics import NOBODY_ASKED, Asked

ENDING = tuple(getattr(signal, name) for name in ("SIGTERM", "SIGHUP") if hasattr(signal, name))
"""Signals after which the terminal is restored and the app ends with 128 and their number."""
TYPED_AHEAD = 600
"""Keys that may wait; of more, as of a long paste without brackets, the rest is dropped."""
FASTEST = 100
"""Keys a second that nobody types faster, also by holding one down."""
_PASTE_BEGINS, _PASTE_ENDS = b"\x1b[200~", b"\x1b[201~"


class TextGate(LineFilter):
    """Drop from every line what a terminal must not be sent; where text is read it has been escaped before."""

    def apply(self, segments: list[Segment], background: Color) -> list[Segment]:  # noqa: ARG002 - the library's
        if all(segment.text.isprintable() for segment in segments):
            return segments
        return [Segment(stripped(segment.text), segment.style, segment.control) for segment in segments]


class Steady(MessagePump):
    """Mixed into a widget: a handler that fails is told in a panel, and the widget lives on."""

    async def _on_message(self, message: Message) -> None:
        try:
            await super()._on_message(message)
        except Exception as error:  # noqa: BLE001 - a panel says it
            if self.is_attached:
                cast(Bench, self.app).tell_fault(error)


class RowList(Steady, OptionList):
    """A list of rows; keys typed ahead, before it has been laid out, are nothing to it."""


def steady_driver(driver: type[Driver]) -> type[Driver]:
    """
    Return the platform's driver, on Unix one that reads bytes which are no text as a stand-in, and what a terminal
    that the app has asked says late as no keys.
    """
    if sys.platform == "win32":
        return driver
    from textual.drivers.linux_driver import LinuxDriver  # noqa: PLC0415 - of this platform alone

    if driver is not LinuxDriver:
        return driver

    class SteadyDriver(LinuxDriver):
        def start_application_mode(self) -> None:
            self._file = cast(Any, Lasting(self._file))
            super().start_application_mode()  # type: ignore[no-untyped-call]

        def run_input_thread(self) -> None:
            """Read keys until the driver stops; a terminal that has gone ends the app."""
            from textual._xterm_parser import XTermParser  # noqa: PLC0415 - of this platform alone

            allowance = Allowance()
            parser = XTermParser(self._debug)
            decode = getincrementaldecoder("utf-8")(errors="replace").decode
            asked: Asked = getattr(self._app, "asked", NOBODY_ASKED)
            late = asked.late
            for event in parser.feed(asked.typed) if asked.typed else ():
                self.process_message(event)
            with selectors.DefaultSelector() as selector:
                selector.register(self.fileno, selectors.EVENT_READ)
                while not self.exit_event.is_set():
                    ready = bool(selector.select(0.1))
                    data = _read(self.fileno) if ready else b""
                    if ready and not data:
                        self._app.call_later(self._app.exit, None, 128 + getattr(signal, "SIGHUP", 1))
                        return
                    data = allowance.taken(data)
                    text = decode(data) if data else ""
                    text = late.typed(text) if late is not None else text
                    for event in (*parser.feed(text), *parser.tick()) if text else parser.tick():
                        self.process_message(event)

    return SteadyDriver


class Lasting:
    """
    A terminal to write to, that takes what is written after it has gone and drops it.

    The library writes in a thread of its own, through a queue that holds thirty writes: were the thread ended by the
    error of a terminal that has gone, the app would wait for ever to write the thirty-first, and hear no signal.
    """

    def __init__(self, file: Any) -> None:
        self._file = file

    def write(self, text: str) -> None:
        with suppress(OSError, ValueError):
            self._file.write(text)

    def flush(self) -> None:
        with suppress(OSError, ValueError):
            self._file.flush()

    def fileno(self) -> int:
        return int(self._file.fileno())

    def isatty(self) -> bool:
        return bool(self._file.isatty())


class Allowance:
    """How much typing is taken: as much as may wait, and what a keyboard sends meanwhile; a marked paste is whole."""

    def __init__(self, clock: Callable[[], float] = time.monotonic) -> None:
        self._clock = clock
        self._left = float(TYPED_AHEAD)
        self._at = clock()
        self._pasting = False

    def taken(self, data: bytes) -> bytes:
        """Return what of these bytes is read; a paste without brackets is cut off where nobody types on."""
        now = self._clock()
        self._left, self._at = min(TYPED_AHEAD, self._left + FASTEST * (now - self._at)), now
        if self._pasting or b"\x1b" in data:  # the mouse, keys with names, a paste with its marks
            self._pasting = data.rfind(_PASTE_BEGINS) > data.rfind(_PASTE_ENDS) or (
                self._pasting and _PASTE_ENDS not in data
            )
            return data
        kept = data[: int(self._left)]
        self._left -= len(kept)
        return kept


def _read(fileno: int) -> bytes:
    try:
        return os.read(fileno, 4096)
    except OSError:
        return b""


def on_ending(loop: Any, act: Callable[[int], None]) -> None:
    """Have `act` called with the number of a signal that asks the program to end."""
    for number in ENDING:
        with suppress(NotImplementedError, RuntimeError, ValueError):  # not in the main thread, or another platform
            loop.add_signal_handler(number, act, int(number))


def no_longer(loop: Any) -> None:
    for number in ENDING:
        with suppress(NotImplementedError, RuntimeError, ValueError):
            loop.remove_signal_handler(number)
