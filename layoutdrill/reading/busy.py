"""Show on the terminal that work goes on, once it has taken a second."""

import sys
from collections.abc import Iterator
from contextlib import contextmanager
from threading import Event, Thread

from layoutdrill.printable import in_encoding, in_one_line

AFTER = 1.0
EVERY = 0.25
WIDTH = 20


@contextmanager
def busy(what: str) -> Iterator[None]:
    """Draw a bar that runs to and fro on standard error while the block works, where that is a terminal."""
    stream = sys.__stderr__  # the gate for text would write the return to the line's start out as a code
    if stream is None or not stream.isatty():
        yield
        return
    what = in_encoding(in_one_line(what), stream.encoding or "utf-8")
    done = Event()

    def draw() -> None:
        step = 0
        if done.wait(AFTER):
            return
        while not done.wait(EVERY):
            at = abs(step % (2 * WIDTH) - WIDTH)
            bar = "".join("=" if abs(i - at) < 3 else "-" for i in range(WIDTH))
            stream.write(f"\r{what} [{bar}] {AFTER + step * EVERY:.0f} s")
            stream.flush()
            step += 1
        if step:
            stream.write("\r" + " " * (len(what) + WIDTH + 12) + "\r")
            stream.flush()

    thread = Thread(target=draw, daemon=True)
    thread.start()
    try:
        yield
    finally:
        done.set()
        thread.join()
