"""Measure a sitting: opening, planning, the next question (drawn and proved), and an answer put on disk."""

import time
from collections.abc import Callable
from pathlib import Path
from statistics import median
from tempfile import TemporaryDirectory

from layoutdrill.deck import load_deck
from layoutdrill.deck.specimen import SpecimenMaker
from layoutdrill.drill.plan import plan
from layoutdrill.drill.sitting import Sitting
from layoutdrill.yamldoc import loads


def cpu(act: Callable[[], object]) -> float:
    """Return CPU milliseconds."""
    start = time.process_time()
    act()
    return (time.process_time() - start) * 1000


def wall(act: Callable[[], object]) -> float:
    """Return milliseconds by the clock: a commit waits for the disk."""
    start = time.perf_counter()
    act()
    return (time.perf_counter() - start) * 1000


def thousand_items() -> str:
    item = '  - cells: [nand2, nor2]\n    kinds: [name]\n    difficulty: 0.3\n    hints: ["Which rail, {n}?"]\n'
    filler = "    processes: [silicon-gate-cmos, metal-gate-sapphire]\n    seed: {n}\n"
    return "title: t\nabout: a\nitems:\n" + "".join((item + filler).format(n=n) for n in range(1000))


def main() -> None:
    """Print a table."""
    rows: list[tuple[str, str]] = []
    text = thousand_items()
    rows.append((f"YAML of 1,000 items, {len(text) // 1024} KiB, CPU", f"{cpu(lambda: loads(text, 'bench')):.0f} ms"))
    for name in ("first-gates", "switches-and-latches"):
        deck = load_deck(name)
        rows.append(
            (f"{name}: plan of 500, CPU", f"{cpu(lambda d=deck: plan(d, 500, 1, SpecimenMaker(d).structure)):.0f} ms")
        )
        with TemporaryDirectory() as folder:
            sitting = Sitting.open_deck(deck, count=60, seed=1, records=Path(folder) / "r.sqlite")
            with sitting:
                sitting.prepare(0)
                asked = [cpu(lambda n=n, s=sitting: s.prepare(n)) for n in range(1, 60)]
                kept = [wall(lambda n=n, s=sitting: s.skip(s.prepare(n), 1.0)) for n in range(60)]
        rows.append((f"{name}: next question, CPU, median and worst", f"{median(asked):.0f}, {max(asked):.0f} ms"))
        rows.append((f"{name}: answer on disk, median and worst", f"{median(kept):.1f}, {max(kept):.1f} ms"))
    wide = max(len(name) for name, _ in rows)
    for name, value in rows:
        print(f"{name:{wide}}  {value}")


if __name__ == "__main__":
    main()
