"""The bar that runs while a file is read."""

import io
import sys
from time import sleep

from layoutdrill.outlet import gated_streams
from layoutdrill.reading import busy


class _Terminal(io.StringIO):
    def isatty(self):
        return True


def test_the_bar_stays_on_one_line_and_goes_at_the_end(monkeypatch):
    """Under the gate of all commands too; a name with a code in it is told harmlessly."""
    terminal = _Terminal()
    monkeypatch.setattr(sys, "__stderr__", terminal)
    monkeypatch.setattr(busy, "AFTER", 0.0)
    monkeypatch.setattr(busy, "EVERY", 0.001)
    with gated_streams(), busy.busy("reading \x1b.sp"):
        for _ in range(500):
            if terminal.getvalue().count("\r") > 2:
                break
            sleep(0.01)
    text = terminal.getvalue()
    assert text.count("\rreading ") > 2
    assert "u000d" not in text
    assert "\x1b" not in text
    assert "\n" not in text
    assert text.endswith("\r")
