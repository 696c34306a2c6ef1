"""
Measure comparison: arrays of NAND2 gates with all ports labelled and with only the rails, and the whole open kit.

Seconds of CPU; growth is the exponent from one size to the next. The second netlist is the first one with other
names, in another order.
"""

import gc
import math
import sys
from collections.abc import Callable
from pathlib import Path
from time import process_time

if not __package__:  # run as a script
    sys.path.insert(0, str(Path(__file__).parents[2]))
from layoutdrill.cells.kit import find_kit
from layoutdrill.errors import LayoutdrillError
from layoutdrill.netlist.compare import Merge, compare
from layoutdrill.netlist.spice import read_spice, write_spice
from tests.kit import check_kit
from tests.netlist.netlists import nand_array

SIZES = (1_000, 10_000, 100_000)


def arrays(rounds: int = 3) -> None:
    """Print a row a size: the best of several rounds, as other work on the machine only ever adds."""
    print(f"{'transistors':>12} {'labelled':>10} {'growth':>7} {'rails only':>11} {'growth':>7} {'read SPICE':>11}")
    before: tuple[float, float] | None = None
    last = 0
    for size in SIZES:
        seconds = []
        for labelled in (True, False):
            a, b = (nand_array(size // 4, labelled=labelled, seed=seed) for seed in (None, 1))
            seconds.append(min(_timed(lambda a=a, b=b: compare(a, b, sizes=True).equal) for _ in range(rounds)))
        text = write_spice(nand_array(size // 4, labelled=True))
        reading = _timed(lambda text=text: read_spice(text, "array.sp").count() > 0)
        growth = [""] * 2 if before is None else [
            f"{math.log(now / then) / math.log(size / last):.2f}" for now, then in zip(seconds, before, strict=True)
        ]  # fmt: skip
        print(f"{size:12,} {seconds[0]:10.3f} {growth[0]:>7} {seconds[1]:11.3f} {growth[1]:>7} {reading:11.3f}")
        before, last = (seconds[0], seconds[1]), size


def kit() -> None:
    """Print what the cells of the open kit take, all together."""
    try:
        place = find_kit()
    except LayoutdrillError as error:
        print(f"NOT RUN: {error}")
        return
    start = process_time()
    for name in place.cells:
        place.netlist(name)
        place.netlist(name, "cdl")
    print(f"reading {len(place.cells)} .spice and as many .cdl netlists: {process_time() - start:.2f} s")
    all_cells = check_kit.cells()
    for told, run in (
        ("comparing with .spice", lambda: [check_kit.to_spice(c) for c in all_cells]),
        ("comparing with .cdl, stacks merged", lambda: [check_kit.to_cdl(c, Merge.STACKS) for c in all_cells]),
        ("single changes, equal or not", lambda: list(check_kit.trials(explain=False))),
    ):
        start = process_time()
        done = run()
        print(f"{told}: {process_time() - start:.2f} s for {len(done)}")


def _timed(run: Callable[[], bool]) -> float:
    gc.collect()
    start = process_time()
    assert run()
    return process_time() - start


def main() -> None:
    arrays()
    kit()


if __name__ == "__main__":
    main()
