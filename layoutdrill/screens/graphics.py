"""
Ask the terminal, before the app starts and only where fine pictures were chosen, whether it shows images.

Three questions go out together: kitty's graphics query, the size of a cell (`CSI 16 t`), and the device's attributes
(`CSI c`), which every terminal answers, and last. A terminal is waited for 50 ms at most; what it says later is read
as an answer, never as keys (see `Late`).
"""

import os
import re
import select
import sys
import time
from collections.abc import Callable, Mapping
from contextlib import suppress

from layoutdrill.value import value

QUERY = "\x1b_Gi=31,s=1,v=1,a=q,t=d,f=24;AAAA\x1b\\\x1b[16t\x1b[c"
PATIENCE = 0.05
LATEST = 60.0
"""Seconds for which answers are looked for among keys: a terminal that is only starting takes its time."""
ALWAYS = "half-blocks"
FINE = "fine"
CHOICES = (ALWAYS, FINE)
CELL = (8, 16)
"""Pixels of a cell where the terminal does not say."""

_KITTY = re.compile(r"\x1b_Gi=31;([^\x1b]*)\x1b\\")
_CELL = re.compile(r"\x1b\[6;(\d+);(\d+)t")
_ATTRIBUTES = re.compile(r"\x1b\[\?([\d;]*)c")
_REPLY = re.compile(r"\x1b_G[^\x1b]*\x1b\\|\x1b\[6;\d+;\d+t|\x1b\[\?[\d;]*c")
_BEGUN = re.compile(r"\x1b(_(G[^\x1b]*\x1b?)?|\[(\?[\d;]*|6;?\d*;?\d*)?)?\Z")
SIXEL = "4"
"""The device attribute of a terminal that shows sixels (VT330/VT340 Programmer Reference Manual)."""


@value
class Graphics:
    """How the terminal shows images: by kitty's protocol, else by sixels; and the pixels of its cell."""

    kitty: bool
    wide: int
    high: int


def may_ask(environment: Mapping[str, str]) -> bool:
    """Tell whether the terminal can be asked: multiplexers pass nothing on, and over a network answers come late."""
    return not any(environment.get(name) for name in ("TMUX", "STY", "SSH_CONNECTION", "SSH_TTY"))


def understood(said: str, cell_by_window: tuple[int, int] = CELL) -> Graphics | None:
    """
    Return what a terminal's answers mean; None where it shows no images. `cell_by_window` stands in for a cell's size
    that it keeps to itself.
    """
    attributes = _ATTRIBUTES.search(said)
    kitty = _KITTY.search(said)
    speaks = kitty is not None and kitty[1] == "OK"
    if not speaks and (attributes is None or SIXEL not in attributes[1].split(";")):
        return None
    cell = _CELL.search(said)
    wide, high = (int(cell[2]), int(cell[1])) if cell is not None else cell_by_window
    if not (2 <= wide <= 100 and 4 <= high <= 200):
        wide, high = CELL
    return Graphics(speaks, wide, high)


class Late:
    """
    Takes the terminal's answers out of what is typed, until the last has come or `until` has passed; `graphics` is
    then what they mean.

    A key that begins like an answer is held back no longer than the next read.
    """

    def __init__(self, until: float, clock: Callable[[], float] = time.monotonic, cell: tuple[int, int] = CELL) -> None:
        self._until, self._clock, self._held, self._said, self._cell = until, clock, "", "", cell
        self.graphics: Graphics | None = None

    def typed(self, text: str) -> str:
        """Return what was typed; "" means that the read brought nothing."""
        if self._clock() > self._until and not self._held:
            return text
        if not text:
            held, self._held = self._held, ""
            return held
        whole = self._held + text
        self._said += "".join(reply[0] for reply in _REPLY.finditer(whole))
        if _ATTRIBUTES.search(whole):
            self._until, self.graphics = 0.0, understood(self._said, self._cell)
        left = _REPLY.sub("", whole)
        begun = _BEGUN.search(left)
        self._held = begun[0] if begun is not None and self._until else ""
        return left[: len(left) - len(self._held)]


@value
class Asked:
    """What the terminal said, if anything; what to make of answers still to come; and keys typed meanwhile."""

    at_once: Graphics | None = None
    late: Late | None = None
    typed: str = ""

    @property
    def graphics(self) -> Graphics | None:
        """How the terminal shows images, as far as it has said."""
        return self.at_once or (self.late.graphics if self.late is not None else None)


NOBODY_ASKED = Asked()


def ask(environment: Mapping[str, str] = os.environ) -> Asked:
    """Ask the terminal on standard input and output; a silent one costs PATIENCE."""
    if not may_ask(environment) or not (sys.__stdin__ and sys.__stdout__ and sys.__stdin__.isatty()):
        return NOBODY_ASKED
    if sys.platform == "win32":
        return NOBODY_ASKED
    import termios  # noqa: PLC0415 - of Unix alone
    import tty  # noqa: PLC0415 - the same

    source, sink = sys.__stdin__.fileno(), sys.__stdout__.fileno()
    try:
        before = termios.tcgetattr(source)
    except termios.error:
        return NOBODY_ASKED
    said = b""
    try:
        tty.setcbreak(source)
        os.write(sink, QUERY.encode())
        end = time.monotonic() + PATIENCE
        while not _ATTRIBUTES.search(said.decode("latin-1")) and (left := end - time.monotonic()) > 0:
            if select.select([source], [], [], left)[0]:
                said += os.read(source, 4096)
    finally:
        with suppress(termios.error):
            termios.tcsetattr(source, termios.TCSANOW, before)
    text = said.decode("utf-8", "replace")
    cell = _cell_by_window(sink)
    if _ATTRIBUTES.search(text):
        return Asked(understood(text, cell), None, _REPLY.sub("", text))
    late = Late(time.monotonic() + LATEST, cell=cell)
    return Asked(None, late, late.typed(text))


def _cell_by_window(sink: int) -> tuple[int, int]:
    """Return the pixels of a cell by the window's size, which many terminals tell the system."""
    if sys.platform == "win32":
        return CELL
    import fcntl  # noqa: PLC0415 - of Unix alone
    import struct  # noqa: PLC0415 - only here
    import termios  # noqa: PLC0415 - of Unix alone

    with suppress(OSError):
        rows, columns, wide, high = struct.unpack("HHHH", fcntl.ioctl(sink, termios.TIOCGWINSZ, bytes(8)))
        if rows and columns and wide and high:
            return wide // columns, high // rows
    return CELL
