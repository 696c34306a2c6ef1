"""
Draw, prove and run whole chips: seconds by step and for each hundred transistors, and the steps that agree.

`python -m tests.bench.bench_chips [NAME [PROCESS [SEEDS [STEPS]]]]`; every chip in every process that it fits, 5 seeds,
and 10,000 random steps of the first drawing against the plain program of the chip, by default.
"""

import sys
import tempfile
import time
from pathlib import Path

from layoutdrill.cells.chips import chip_names, load_chip
from layoutdrill.drawing.chips import chip_drawing
from layoutdrill.extract.run import extract
from layoutdrill.layout.gdsii import read_gdsii
from layoutdrill.layout.gdswrite import write_gdsii
from layoutdrill.process import load_process, process_names
from layoutdrill.prove.chips import ATTEMPTS
from layoutdrill.prove.kept import keep_layout, kept_layout
from layoutdrill.prove.proof import faults_of
from tests.chips.models import MODELS
from tests.chips.running import compared


def main() -> None:
    """Print a row for each drawing, and one for each run."""
    name, process, seeds, steps = (*sys.argv[1:], *(None,) * 4)[:4]
    for chip in map(load_chip, [name] if name else chip_names()):
        for made in map(load_process, [process] if process else process_names()):
            if chip.fits(made):
                _bench(chip, made, int(seeds or 5), int(steps or 10_000))


def _bench(chip, process, seeds, steps):
    netlist = chip.netlist(process)
    count = len(netlist.transistors)
    print(f"{chip.name} in {process.name}: {count} transistors")
    print(f"{'seed':>4} {'tries':>5} {'draw':>6} {'prove':>6} {'per 100':>7} {'again':>6}  faults")
    first = None
    for seed in range(1, seeds + 1):
        start = time.process_time()
        for attempt in range(ATTEMPTS):
            drawn = chip_drawing(chip, process, seed, attempt=attempt)
            middle = time.process_time()
            if drawn is None:
                continue
            layout = read_gdsii(write_gdsii(drawn.layout, process), process)
            extraction = extract(layout, process)
            faults = faults_of(netlist, process, layout, extraction, drawn)
            if not faults:
                break
            print(f"{seed:4}  {faults[0]}")
        end = time.process_time()
        again = _again(layout, process)
        per = 100 * (end - start) / count
        said = len(faults) if drawn else "no room"
        print(
            f"{seed:4} {attempt + 1:5} {middle - start:6.1f} {end - middle:6.1f} {per:7.2f} {again:6.2f}  {said}",
            flush=True,
        )
        first = first or (extraction.netlist if drawn and not faults else None)
    if steps and first is not None and chip.name in MODELS:
        start = time.process_time()
        done, levels, wrong = compared(first, chip.name, steps)
        print(f"     {done} steps, {levels} levels, {len(wrong)} disagree, {time.process_time() - start:.1f} s")


def _again(layout, process):
    """Return the seconds that opening from the folder takes: reading and extracting."""
    import os

    with tempfile.TemporaryDirectory() as folder:
        os.environ["LAYOUTDRILL_CACHE"] = str(Path(folder))
        keep_layout("a" * 32, layout, 1)
        start = time.process_time()
        kept, _ = kept_layout("a" * 32)
        extract(kept, process)
        return time.process_time() - start


if __name__ == "__main__":
    main()
