"""Run the program on a terminal of its own (a pty), type into it, and see what it leaves behind."""

import fcntl
import os
import pty
import select
import signal
import struct
import subprocess
import sys
import termios
import time
from contextlib import suppress

RUN = (sys.executable, "-m", "layoutdrill")


def _take_terminal():
    """Make the pty the terminal of a new session, as a login does it: a shell's jobs need that."""
    fcntl.ioctl(0, termios.TIOCSCTTY, 0)


class Terminal:
    """A command on a pty. `seen` is all that it wrote."""

    def __init__(self, *arguments, home, columns=100, rows=30, run=RUN, **environment):
        self.master, self.slave = pty.openpty()
        fcntl.ioctl(self.slave, termios.TIOCSWINSZ, struct.pack("HHHH", rows, columns, 0, 0))
        self.before = termios.tcgetattr(self.slave)
        env = {**os.environ, "LAYOUTDRILL_HOME": str(home), "TERM": "xterm-256color", **environment}
        env.pop("COLUMNS", None)
        self.process = subprocess.Popen(
            [*run, *arguments], stdin=self.slave, stdout=self.slave, stderr=self.slave, env=env, start_new_session=True,
            preexec_fn=_take_terminal,  # noqa: PLW1509 - the tests that use this start no threads before
        )  # fmt: skip
        self.seen = b""

    def read(self, seconds=0.05):
        """Take what has been written within some seconds."""
        until = time.monotonic() + seconds
        while (left := until - time.monotonic()) > 0:
            if not select.select([self.master], [], [], left)[0]:
                break
            try:
                data = os.read(self.master, 65536)
            except OSError:
                break
            if not data:
                break
            self.seen += data

    def until(self, words, patience=60.0):
        """Wait for some bytes to be written; tell whether they came."""
        start = len(self.seen)
        until = time.monotonic() + patience
        while words not in self.seen[max(0, start - len(words)) :] and time.monotonic() < until:
            self.read(0.1)
            if self.process.poll() is not None:
                self.read(0.2)
                break
        return words in self.seen[max(0, start - len(words)) :]

    def type(self, data):
        while data:
            data = data[os.write(self.master, data[:2048]) :]

    def ended(self, patience=30.0):
        """Wait for the end; return the exit code, None where it does not come."""
        until = time.monotonic() + patience
        while self.process.poll() is None and time.monotonic() < until:
            self.read(0.1)
        self.read(0.1)
        return self.process.poll()

    @property
    def restored(self):
        """Tell whether the terminal is as it was: its modes, the main screen, no mouse reports."""
        return termios.tcgetattr(self.slave)[3] == self.before[3] and self.screen_restored

    @property
    def screen_restored(self):
        """Tell whether the main screen is shown, and the mouse reports nothing; the modes may be a shell's own."""
        screen = self.seen.rfind(b"\x1b[?1049l") > self.seen.rfind(b"\x1b[?1049h")
        mouse = self.seen.rfind(b"\x1b[?1000l") > self.seen.rfind(b"\x1b[?1000h")
        return screen and mouse

    def close(self):
        with suppress(ProcessLookupError):
            os.kill(self.process.pid, signal.SIGKILL)
        self.process.wait()
        for end in (self.master, self.slave):
            os.close(end)

    def __enter__(self):
        return self

    def __exit__(self, *exc):
        self.close()
