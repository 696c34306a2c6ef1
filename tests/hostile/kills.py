"""Kill the program again and again while it is being answered, and count what it had acknowledged and then lost."""

import sqlite3
import time
from random import Random

from tests.hostile.terminal import Terminal

DECK = """
title: Gates by name
about: Questions that one letter answers, whichever comes.
processes: [silicon-gate-cmos]
items:
  - cells: [inverter, nand2, nor2, nand3, nor3]
    kinds: [name]
    difficulty: 0.3
    count: 8
"""


def kept(home):
    """Return how many answers the records hold."""
    path = home / "records.sqlite"
    if not path.exists():
        return 0
    with sqlite3.connect(path) as file:
        found = file.execute("SELECT count(*) FROM answer").fetchone()[0]
    file.close()
    return found


def kill_once(home, seed, *, plain):
    """Start, answer for a while, kill at a random moment; return how many acknowledged answers are missing then."""
    rng = Random(seed)
    before = kept(home)
    acknowledged = 0
    deck = home / "names.yaml"
    deck.write_text(DECK, "utf-8")
    words = ("drill", str(deck), "--seed", str(seed), "--count", "8", *(("--plain",) if plain else ()))
    with Terminal(*words, home=home, columns=120, rows=40) as terminal:
        assert terminal.until(b"Question 1" if plain else b"hint", 60)
        patience = time.monotonic() + 60
        until = time.monotonic() + rng.uniform(0.2, 2.5)
        while terminal.process.poll() is None:  # until the moment has come, and one answer was acknowledged
            if time.monotonic() > (until if acknowledged else patience):
                break
            start = len(terminal.seen)
            terminal.type(b"a\n" if plain else b"a")
            wait = time.monotonic() + 1.5
            while time.monotonic() < wait:
                terminal.read(0.05)
                if (b"decides" if plain else b"onward") in terminal.seen[start:]:
                    acknowledged += 1
                    break
            if not plain:
                terminal.type(b"\r")
                terminal.read(0.3)
        terminal.process.kill()  # nothing where the sitting came to its end first
        terminal.process.wait()
    return max(0, before + acknowledged - kept(home)), acknowledged


def lost(count, home, *, plain):
    """Kill so many times; return (answers lost, answers acknowledged)."""
    missing = told = 0
    for seed in range(count):
        gone, acknowledged = kill_once(home, seed, plain=plain)
        missing += gone
        told += acknowledged
    return missing, told


if __name__ == "__main__":  # python -m tests.hostile.kills 200 app|plain
    import sys
    import tempfile
    from pathlib import Path

    with tempfile.TemporaryDirectory() as place:
        missing, told = lost(int(sys.argv[1]), Path(place), plain=sys.argv[2] == "plain")
    print(f"{sys.argv[1]} kills in {sys.argv[2]}: {told} answers told, {missing} lost")
