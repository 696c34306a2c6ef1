"""
Load the app once, and fork it for each seat: a seat then starts without reading a thousand files, and shares memory.

The process that runs here is told on a socket whose number is its first argument: a message with the seat's environment
and its three pipes gives an app, whose number is told back; when it ends, its exit code is told too. It ends with its
server. Not started by hand.
"""

import gc
import json
import os
import select
import signal
import socket
import sys
import traceback
from contextlib import suppress
from pathlib import Path

LONGEST = 1 << 16
"""Bytes of a message."""
_LOOK_AGAIN = 0.25
"""Seconds after which it is seen whether an app has ended."""


def can_fork() -> bool:
    """Tell whether this system forks, and passes pipes with whole messages."""
    return hasattr(os, "fork") and sys.platform == "linux"


def main() -> int:
    """Load, then fork an app for each order until the server has gone."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # the terminal's Ctrl+C is the server's; this ends when that has gone
    channel = socket.socket(fileno=int(sys.argv[1]))
    _load(Path(sys.argv[2]))
    gc.collect()
    gc.freeze()  # what is loaded stays, and is shared for good
    while True:
        ready, _, _ = select.select([channel], [], [], _LOOK_AGAIN)
        _tell_ended(channel)
        if not ready:
            continue
        try:
            order, pipes, _, _ = socket.recv_fds(channel, LONGEST, 3)
        except ConnectionResetError:
            return 0  # the server has gone
        if not order:
            return 0
        number = os.fork()
        if number == 0:
            channel.close()
            os._exit(_become(json.loads(order), pipes))
        for pipe in pipes:
            os.close(pipe)
        channel.send(json.dumps({"began": number}).encode())


def _load(set_file: Path) -> None:
    """Import what a seat needs, and read the set with its processes and layouts, so that every seat has them."""
    import textual.drivers.web_driver  # noqa: F401, PLC0415 - only where apps are forked
    from PIL import Image  # noqa: PLC0415 - only where apps are forked

    from layoutdrill.picture import microscope, palette  # noqa: F401, PLC0415 - only where apps are forked
    from layoutdrill.screens import app, drill_screen, help_panel, legend_screen  # noqa: F401, PLC0415 - the same
    from layoutdrill.workshop.asking import question_of  # noqa: PLC0415 - the same
    from layoutdrill.workshop.documents import read_set  # noqa: PLC0415 - the same

    Image.preinit()
    made = read_set(set_file)
    for sheet in made.sheets:
        question_of(made, sheet.number)


def _tell_ended(channel: socket.socket) -> None:
    while True:
        try:
            number, status = os.waitpid(-1, os.WNOHANG)
        except ChildProcessError:
            return
        if not number:
            return
        with suppress(OSError):
            channel.send(json.dumps({"ended": number, "code": os.waitstatus_to_exitcode(status)}).encode())


def _become(environment: dict[str, str], pipes: list[int]) -> int:
    """Be the app of a seat: its environment and its pipes; and end where the nursery has ended."""
    _end_with_parent()
    for end, pipe in enumerate(pipes):
        os.dup2(pipe, end)
        os.close(pipe)
    os.environ.clear()
    os.environ.update(environment)
    code = 1
    try:
        from layoutdrill.served.child import main as run_seat  # noqa: PLC0415 - in the fork

        code = run_seat()
    except BaseException:  # noqa: BLE001 - told on the pipe for errors, as a process of its own would
        traceback.print_exc()
    with suppress(OSError, ValueError):
        sys.stdout.flush()
        sys.stderr.flush()
    return code


def _end_with_parent() -> None:
    """Ask Linux for SIGTERM when the process that forked this one has gone (prctl(2), PR_SET_PDEATHSIG)."""
    import ctypes  # noqa: PLC0415 - in the fork

    with suppress(OSError, AttributeError):
        ctypes.CDLL(None).prctl(1, int(signal.SIGTERM))


if __name__ == "__main__":
    sys.exit(main())
