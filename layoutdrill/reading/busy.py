"""Show on the terminal that work goes on, once it has taken a second."""

import sys
from collections.abc import Iterator
from contextlib import contextmanager
from threading import Event, Thread

AFTER = 1.0
EVERY = 0.25
WIDTH = 20


@contextmanager
def busy(what: str) -> Iterator[None]:
    """Draw a bar that runs to and fro on standard error while the block works, where that is a terminal."""
    if not sys.stderr.isatty():
        yield
        return
    done = Event()

    def draw() -> None:
        step = 0
        if done.wait(AFTER):
            return
        while not done.wait(EVERY):
            at = abs(step % (2 * WIDTH) - WIDTH)
            bar = "".join("=" if abs(i - at) < 3 else "-" for i in range(WIDTH))
            sys.stderr.write(f"\r{what} [{bar}] {AFTER + step * EVERY:.0f} s")
            sys.stderr.flush()
            step += 1
        if step:
            sys.stderr.write("\r" + " " * (len(what) + WIDTH + 12) + "\r")
            sys.stderr.flush()

    thread = Thread(target=draw, daemon=True)
    thread.start()
    try:
        yield
    finally:
        done.set()
        thread.join()
