"""
Measure the drawing engine: proofs, retries, structures, milliseconds and area, a row a cell and process.

`python tests/bench/bench_drawing.py [SEEDS [CELL…]]`; 100 seeds of every cell by default, 1,000 for the full figures.
Times are CPU milliseconds of a draw with its proof. `structures` counts different ones per 100 seeds, mirrors, widths
and spacing undone. `area` is the median of the cell's frame over what tidy hand arithmetic gives for the same order
of devices; `tidy` the same at difficulty 0.

Hand arithmetic (the trade's way of sizing a row before drawing it): as wide as its gates at full pitch, with a
contact on both sides of each, and its diffusion gaps; as high as two rails, two device rows, and a channel with as
many tracks as wires lie above one another at its densest column, wires out of the cell included.
"""

import statistics
import sys
import time

from layoutdrill.cells.build import build
from layoutdrill.cells.load import cell_names, load_cell
from layoutdrill.drawing.engine import Drawing, drawing
from layoutdrill.drawing.floor import Gate
from layoutdrill.drawing.pairing import number_nets
from layoutdrill.drawing.structure import fingerprint
from layoutdrill.drawing.technique import METAL, OTHER, GateForm, Technique, technique_for
from layoutdrill.errors import FaultError
from layoutdrill.netlist.model import Netlist
from layoutdrill.process import Process, load_process, process_names
from layoutdrill.prove import proved


def main() -> None:
    """Print the table and the totals."""
    seeds = int(sys.argv[1]) if len(sys.argv) > 1 else 100
    cells = sys.argv[2:] or cell_names()
    print(f"{'cell':20} {'process':20} {'T':>3} {'proved':>9} {'retries':>7} {'structures':>10} "
          f"{'ms':>6} {'p95':>6} {'area':>5} {'tidy':>5}")  # fmt: skip
    drawn = retries = failed = 0
    for process in (load_process(name) for name in process_names()):
        if not process.rules:
            continue
        for name in cells:
            if load_cell(name).fits(process):
                done, again, lost = _row(name, process, seeds)
                drawn, retries, failed = drawn + done, retries + again, failed + lost
    print(f"{drawn} drawings proved, {retries} retries ({100 * retries / max(1, drawn):.2f} %), {failed} failures")


def _row(name: str, process: Process, seeds: int) -> tuple[int, int, int]:
    netlist = build(load_cell(name), process, load_cell)
    times: list[float] = []
    retries = 0
    lost = []
    for seed in range(seeds):
        start = time.process_time()
        try:
            retries += proved(netlist, process, seed).attempts - 1
        except FaultError:
            lost.append(seed)
        times.append(1000 * (time.process_time() - start))
    made = [d for seed in range(min(seeds, 100)) if (d := drawing(netlist, process, seed))]
    tidy = [d for seed in range(min(seeds, 40)) if (d := drawing(netlist, process, seed, difficulty=0))]
    structures = len({fingerprint(d.floor, d.grid, d.trees) for d in made})
    times.sort()
    print(f"{name:20} {process.name:20} {len(netlist.transistors):3} {seeds - len(lost):4}/{seeds:4} {retries:7} "
          f"{structures:6}/{len(made):3} {statistics.median(times):6.1f} {times[len(times) * 95 // 100]:6.1f} "
          f"{_area(made, netlist, process):5.2f} {_area(tidy, netlist, process):5.2f}"
          f"{'  lost: ' + str(lost[:5]) if lost else ''}", flush=True)  # fmt: skip
    return seeds - len(lost), retries, len(lost)


def _area(made: list[Drawing], netlist: Netlist, process: Process) -> float:
    technique = technique_for(process)
    return statistics.median(d.frame.area / hand_area(d, technique, netlist, process) for d in made)


def hand_area(made: Drawing, t: Technique, netlist: Netlist, process: Process) -> int:
    """Return the area of hand arithmetic, in square grid units."""
    nets = number_nets(netlist)
    supplies = {nets.get(name) for name in process.supplies}
    floor = made.floor
    places: dict[int, list[int]] = {}
    gates = set()
    for strip in floor.strips:
        for item in strip.items:
            if isinstance(item, Gate):
                gates.add(item.column)
                places.setdefault(item.device.gate, []).append(item.column)
            else:
                places.setdefault(item.net, []).append(item.columns[0])
    for net, tree in made.trees.items():
        for _, side in tree.exits:
            if side in ("left", "right"):
                places.setdefault(net, []).append(0 if side == "left" else floor.columns - 1)
    density = [0] * floor.columns
    for net, columns in places.items():
        if net not in supplies:
            for column in range(min(columns), max(columns)):
                density[column] += 1
    gaps = floor.columns - floor.left - floor.right - 1 - 2 * len(gates)
    metal, other = t.wires[METAL], t.wires[OTHER]
    end = t.contact // 2 + t.surround
    reach = t.contact // 2 + t.contact_gate + t.gate // 2
    width = 2 * reach * len(gates) + (2 * end + t.diffusion_spacing) * gaps + 2 * end + metal.spacing
    track = max(metal.pad + metal.spacing, 0 if t.form is GateForm.METAL else other.pad + other.spacing)
    room = max(2 * t.well_past, max(density) * track + metal.spacing)
    edge = t.rail + (t.tap_gap if t.well else metal.spacing)
    return width * (2 * edge + sum(made.style.widths) + room)


if __name__ == "__main__":
    main()
