"""
Measure the drawing engine: proofs, retries, structures, milliseconds and area, a row a cell and process.

`python tests/bench/bench_drawing.py [SEEDS [PROCESS…] [CELL…]]`; 100 seeds of every cell in every process by default,
1,000 for the full figures, in as many pieces as one likes. Times are CPU milliseconds of a draw with its proof, at
difficulty 0.3. `structures` counts different ones per 100 seeds, mirrors, widths and spacing undone. `area` is the
median of the cell's frame over what tidy hand arithmetic gives for the same order of devices, without looseness;
`tidy` the same at difficulty 0, `loose` at difficulty 0.8, looseness included. The last columns count drawings of 100
that have a bent gate (hook, elbow or step), a ring, a folded channel, two cuts side by side, and a dog-leg: a gate's
wire that joins both rows on its own layer and steps sideways between them.

Hand arithmetic (the trade's way of sizing a row before drawing it): as wide as its gates at full pitch, with a
contact on both sides of each, and its diffusion gaps; wider by what a contact head on a gate needs beside a wire that
runs from one row to the other; as high as two rails, two device rows, and a channel with as many tracks as wires lie
above one another at its densest column, wires out of the cell included. A track has room for a contact on either of
the two wiring layers, as most wires change layer to pass those that run from row to row. Long channels
lie straight; guard rings count with their distances. No room is counted for wires round the ends of the rows, between
a row and its rail, or for taps and wells.
"""

import statistics
import sys
import time

from layoutdrill.cells.build import build
from layoutdrill.cells.library import cell_names
from layoutdrill.cells.load import load_cell
from layoutdrill.drawing.row_pairs.draw import RowPair, drawing
from layoutdrill.drawing.row_pairs.placing.devices import Form
from layoutdrill.drawing.shared import Request, technique_for
from layoutdrill.drawing.shared.technique import METAL, OTHER, Technique
from layoutdrill.errors import FaultError
from layoutdrill.netlist.model import Netlist
from layoutdrill.process import Process, load_process, process_names
from layoutdrill.prove import proved
from tests.drawing.structure import fingerprint


def main() -> None:
    """Print the table and the totals."""
    seeds = int(sys.argv[1]) if len(sys.argv) > 1 else 100
    processes = [name for name in sys.argv[2:] if name in process_names()] or process_names()
    cells = [name for name in sys.argv[2:] if name not in process_names()] or cell_names()
    print(f"{'cell':20} {'process':20} {'T':>3} {'proved':>9} {'retries':>7} {'structures':>10} "
          f"{'ms':>6} {'p95':>6} {'area':>5} {'tidy':>5} {'loose':>5} "
          f"{'bent':>4} {'ring':>4} {'fold':>4} {'cuts':>4} {'legs':>4}")  # fmt: skip
    drawn = retries = failed = 0
    for process in (load_process(name) for name in processes):
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
    made = [d for seed in range(min(seeds, 100)) if (d := drawing(Request(netlist, process, seed)))]
    tidy = [d for seed in range(min(seeds, 40)) if (d := drawing(Request(netlist, process, seed, difficulty=0)))]
    loose = [d for seed in range(min(seeds, 20)) if (d := drawing(Request(netlist, process, seed, difficulty=0.8)))]
    structures = len({fingerprint(d.grid, d.trees) for d in made})
    times.sort()
    print(f"{name:20} {process.name:20} {len(netlist.transistors):3} {seeds - len(lost):4}/{seeds:4} {retries:7} "
          f"{structures:6}/{len(made):3} {statistics.median(times):6.1f} {times[len(times) * 95 // 100]:6.1f} "
          f"{_area([d for d in made if not d.choices.loose], netlist, process):5.2f} "
          f"{_area(tidy, netlist, process):5.2f} {_area(loose, netlist, process):5.2f} "
          f"{' '.join(f'{count:4}' for count in shapes_in(made))}"
          f"{'  lost: ' + str(lost[:5]) if lost else ''}", flush=True)  # fmt: skip
    return seeds - len(lost), retries, len(lost)


def _area(made: list[RowPair], netlist: Netlist, process: Process) -> float:
    technique = technique_for(process)
    return statistics.median(d.frame.area / hand_area(d, technique, netlist, process) for d in made)


def shapes_in(made: list[RowPair]) -> tuple[int, ...]:
    """Return how many drawings of 100 have a bent gate, a ring, a folded channel, cuts side by side, a dog-leg."""
    found = [0] * 5
    for one in made:
        forms = {gate.device.form for strip in one.grid.floor.strips for gate in strip.gates}
        forms |= {stand.device.form for stand in one.grid.floor.stands}
        told = (
            forms & {Form.HOOK, Form.ELBOW, Form.STEP},
            Form.RING in forms,
            Form.SNAKE in forms,
            _side_by_side(one),
            _dog_leg(one),
        )
        found = [count + bool(has) for count, has in zip(found, told, strict=True)]
    return tuple(round(100 * count / max(1, len(made))) for count in found)


def _side_by_side(made: RowPair) -> bool:
    """Tell whether two cuts lie a cut's side apart."""
    places = {(r.x0, r.y0): r.width for r in made.layout.shapes.get("contact", ())}
    return any((x + 2 * w, y) in places or (x, y + 2 * w) in places for (x, y), w in places.items())


def _dog_leg(made: RowPair) -> bool:
    grid, layer = made.grid, {node // made.grid.size for node in _gates(made, 0)}
    tops = _gates(made, 1)
    for tree in made.trees.values():
        near: dict[int, list[int]] = {}
        for a, b in tree.edges:
            if a // grid.size in layer and b - a < grid.size:
                near.setdefault(a, []).append(b)
                near.setdefault(b, []).append(a)
        for start in _gates(made, 0) & tree.nodes:
            seen, edge = {start}, [start]
            while edge:
                for node in near.get(edge.pop(), ()):
                    if node not in seen:
                        seen.add(node)
                        edge.append(node)
            if any(grid.place(top)[2] != grid.place(start)[2] for top in tops & seen):
                return True
    return False


def _gates(made: RowPair, row: int) -> set[int]:
    """Return the grid nodes of a device row's gates."""
    return {
        node
        for strip in made.grid.floor.strips
        if strip.row == row
        for gate in strip.gates
        for layer in (METAL, OTHER)
        for node in [made.grid.node(layer, made.grid.rows.lying(row)[0], gate.column)]
        if made.grid.owner[node] == gate.device.gate
    }


def hand_area(made: RowPair, t: Technique, netlist: Netlist, process: Process) -> int:
    """Return the area of hand arithmetic, in square grid units."""
    nets = {net: number for number, net in enumerate(netlist.nets)}
    supplies = {nets[name] for name in process.supplies if name in nets}
    floor = made.grid.floor
    gates: dict[int, set[int]] = {}
    ends: dict[int, list[int]] = {}
    for strip in floor.strips:
        for gate in strip.gates:
            gates.setdefault(gate.column, set()).add(gate.device.gate)
        for region in strip.regions:
            ends.setdefault(region.columns[0], []).append(region.net)
    places: dict[int, list[int]] = {}
    for found in (gates, ends):
        for column, those in found.items():
            for net in those:
                places.setdefault(net, []).append(column)
    for net, tree in made.trees.items():
        for _, side in tree.exits:
            if side in ("left", "right"):
                places.setdefault(net, []).append(0 if side == "left" else floor.columns - 1)
    density = [0] * floor.columns
    for net, columns in places.items():
        if net not in supplies:
            for column in range(min(columns), max(columns)):
                density[column] += 1
    gaps = floor.columns - sum(made.choices.margins) - 1 - 2 * len(gates)
    metal, other = t.wires[METAL], t.wires[OTHER]
    end = t.contact // 2 + t.surround
    reach = t.contact // 2 + t.contact_gate + t.gate // 2
    width = 2 * reach * len(gates) + (2 * end + t.diffusion_spacing) * gaps + 2 * end + metal.spacing
    beside = metal.width // 2 + metal.spacing + metal.pad // 2
    width += max(0, beside - reach) * _squeezed(gates, ends, supplies)
    track = max(metal.pad + metal.spacing, other.pad + other.spacing)
    room = max(2 * t.implants.well_past if t.implants else 0, max(density) * track + max(metal.spacing, other.spacing))
    edge = t.rail + (t.implants.tap_gap if t.implants else metal.spacing)
    longer: dict[int, int] = {}
    for strip in floor.strips:
        for gate in strip.gates:
            longer[gate.column] = max(longer.get(gate.column, 0), gate.device.size.length - t.channel)
    width += sum(longer.values())
    if t.rings:  # a ring round each row: a leg on either side, one below the rail, one in the channel
        width += 2 * (t.rings.width + t.rings.gap)
        room += 2 * (t.rings.width + t.rings.gap) + t.rings.well_past + t.rings.apart
        edge = (t.rail + t.rings.width) // 2 + t.rings.gap
    return width * (2 * edge + sum(made.choices.widths) + room)


def _squeezed(gates: dict[int, set[int]], ends: dict[int, list[int]], supplies: set[int]) -> int:
    """
    Count the places where a gate's contact head stands beside metal that runs from row to row.

    A gate needs a head where its net goes on to a source or drain, or to a gate beyond a gate of another net; nets
    that only join neighbouring gates, or leave the cell, may stay below the metal.
    """
    order = sorted(gates)
    drains = {net for column in ends.values() for net in column}
    heads = set()
    for i, column in enumerate(order):
        for net in gates[column] - supplies:
            last = max(k for k, other in enumerate(order) if net in gates[other])
            apart = any(gates[other] != {net} for other in order[i + 1 : last])
            if net in drains or apart or (i and any(
                net in gates[order[k]] and any(gates[other] != {net} for other in order[k + 1 : i]) for k in range(i)
            )):  # fmt: skip
                heads.add(column)
    upright = {column for column, those in ends.items() if len(those) == 2 and those[0] == those[1] not in supplies}
    return sum((column + side) in upright for column in heads for side in (-1, 1))


if __name__ == "__main__":
    main()
