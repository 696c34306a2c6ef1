"""
Measure how arrays are drawn: proofs, retries, distinct drawings, milliseconds and area, a row an array and process.

`python tests/bench/bench_arrays.py [SEEDS [PROCESS…] [ARRAY…]]`; 10 seeds of a few arrays of each sort in every process
by default. Any array may be named, planes and decoders too. Seeds run from tidy to crowded. Times are CPU milliseconds
of a drawing with its proof; `distinct` counts drawings that differ once the eight orientations are undone; `area` is
the median of the whole drawing's area per transistor in square λ.
"""

import statistics
import sys
import time

from layoutdrill.cells.load import load_cell
from layoutdrill.errors import LayoutdrillError
from layoutdrill.geometry.transform import Transform
from layoutdrill.layout.model import Layout
from layoutdrill.layout.text import layout_text
from layoutdrill.process import Process, load_process, process_names
from layoutdrill.prove import proved

ARRAYS = (
    "ram_array_2x2", "ram_array_4x4", "ram_array_8x8", "memory_array_4x4", "register_row_4", "register_row_8",
    "load_row_4", "shift_register_8", "shift_register_dynamic_8", "shift_register_two_phase_8", "fifo_slice_4",
    "fifo_4x4",
)  # fmt: skip


def main() -> None:
    """Print the table and the totals."""
    seeds = int(sys.argv[1]) if len(sys.argv) > 1 else 10
    processes = [name for name in sys.argv[2:] if name in process_names()] or process_names()
    arrays = [name for name in sys.argv[2:] if name not in process_names()] or ARRAYS
    print(f"{'array':28} {'process':21} {'T':>4} {'proved':>9} {'retries':>7} {'distinct':>8} {'ms':>6} {'p95':>6} "
          f"{'area':>6}")  # fmt: skip
    drawn = retries = 0
    for name in arrays:
        cell = load_cell(name)
        for process in (load_process(one) for one in processes):
            if process.rules and cell.fits(process):
                done, again = _row(name, process, seeds)
                drawn, retries = drawn + done, retries + again
    print(f"{drawn} drawings proved, {retries} retries ({100 * retries / max(1, drawn):.2f} %)")


def _row(name: str, process: Process, seeds: int) -> tuple[int, int]:
    cell = load_cell(name)
    netlist, tiling = cell.netlist(process), cell.tiling(process)
    count = netlist.count()
    times: list[float] = []
    areas: list[float] = []
    drawings = set()
    retries = 0
    lost = []
    unit = process.grid_per_lambda**2 * count
    for seed in range(seeds):
        start = time.process_time()
        try:
            found = proved(netlist, process, seed, difficulty=seed % 5 / 4, tiling=tiling)
        except LayoutdrillError as error:
            lost.append(f"seed {seed}: {error}")
            continue
        times.append(1000 * (time.process_time() - start))
        retries += found.attempts - 1
        drawings.add(_upright(found.layout))
        box = found.layout.box
        assert box is not None
        areas.append((box.x1 - box.x0) * (box.y1 - box.y0) / unit)
    ms = f"{statistics.median(times):6.0f} {sorted(times)[int(0.95 * len(times))]:6.0f}" if times else f"{'':13}"
    area = f"{statistics.median(areas):6.0f}" if areas else ""
    print(f"{name:28} {process.name:21} {count:4} {len(times):4}/{seeds:<4} {retries:7} {len(drawings):8} {ms} {area}",
          flush=True)  # fmt: skip
    for line in lost:
        print(f"    {line}")
    return len(times), retries


def _upright(layout: Layout) -> int:
    """Return what is the same in a drawing and its seven turned and mirrored forms."""
    texts = []
    for turns in range(4):
        for mirrored in (False, True):
            turned = layout.transformed(Transform(turns=turns, mirrored=mirrored))
            box = turned.box
            assert box is not None
            texts.append(layout_text(turned.transformed(Transform(-box.x0, -box.y0))))
    return hash(min(texts))


if __name__ == "__main__":
    main()
