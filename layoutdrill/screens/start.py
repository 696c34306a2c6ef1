"""What the app is asked to open with."""

import os
import sys
from pathlib import Path
from typing import TYPE_CHECKING

from layoutdrill.errors import LayoutdrillError
from layoutdrill.value import value

if TYPE_CHECKING:
    from layoutdrill.drill.open_sitting import OpenSitting
    from layoutdrill.photo.session import MarkSession
    from layoutdrill.workshop.model import WorkshopSet


@value
class StartRequest:
    """
    With a sitting: the drill. With a set to show: its question `number` for the whole room. With marks: the photograph
    to mark; with a deck's file: its preview. Leaving any of them ends the app. With none: home. `theme` overrides the
    settings. `confined` is for a guest's seat: nothing else opens.
    """

    sitting: "OpenSitting | None" = None
    shown: "WorkshopSet | None" = None
    marking: "MarkSession | None" = None
    preview: Path | None = None
    number: int = 1
    confined: bool = False
    theme: str | None = None
    kit: Path | None = None


def need_terminal() -> None:
    """
    Raise LayoutdrillError where there is no terminal to draw in, or one that can only write lines.

    A driver that the surroundings ask for is passed over: only a served seat has another than the terminal's own.
    """
    os.environ.pop("TEXTUAL_DRIVER", None)
    todo = "add --plain to a drill: plain text works here"
    if not all(stream is not None and stream.isatty() for stream in (sys.stdin, sys.stdout)):
        raise LayoutdrillError("no terminal to draw in", todo=todo)
    if os.environ.get("TERM") in (None, "", "dumb"):
        raise LayoutdrillError("this terminal cannot draw (TERM is not set, or dumb)", todo=todo)
