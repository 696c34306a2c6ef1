"""
Measure how large blocks are drawn and proved: CPU seconds by step, and seconds for each hundred transistors.

`python tests/bench/bench_blocks.py [PROCESS [TRANSISTORS…]]`; silicon-gate-cmos with 300 and 600 by default. A block is
made of library gates and register bits at random, each of whose inputs is one of the last dozen outputs.
"""

import sys
import time
from dataclasses import replace

from layoutdrill.cells.load import load_cell
from layoutdrill.cells.model import Role
from layoutdrill.dice import Dice
from layoutdrill.drawing.blocks import block_drawing
from layoutdrill.drawing.shared import Request
from layoutdrill.extract.run import extract
from layoutdrill.layout.gdsii import read_gdsii
from layoutdrill.layout.gdswrite import write_gdsii
from layoutdrill.netlist.model import Netlist, Transistor
from layoutdrill.process import Process, load_process
from layoutdrill.prove.proof import faults_of

_CELLS = ("nand2", "nor2", "inverter", "aoi21", "xor2_nor", "ff_toggle")


def main() -> None:
    """Print a row for each size."""
    process = load_process(sys.argv[1] if len(sys.argv) > 1 else "silicon-gate-cmos")
    print(f"{'transistors':>11} {'draw':>6} {'extract':>7} {'prove':>6} {'per 100':>7}  faults")
    for count in map(int, sys.argv[2:] or ("300", "600")):
        netlist = scattered(process, count)
        start = time.process_time()
        drawn = block_drawing(Request(netlist, process, 1))
        if drawn is None:
            print(f"{count:11}  no room was found")
            continue
        drawing = time.process_time()
        layout = read_gdsii(write_gdsii(drawn.layout, process), process)
        extraction = extract(layout, process)
        reading = time.process_time()
        faults = faults_of(netlist, process, layout, extraction, drawn)
        end = time.process_time()
        size = len(netlist.transistors)
        print(f"{size:11} {drawing - start:6.1f} {reading - drawing:7.1f} {end - reading:6.1f} "
              f"{100 * (end - start) / size:7.2f}  {len(faults)}", flush=True)  # fmt: skip


def scattered(process: Process, count: int) -> Netlist:
    """Return a block of at least `count` transistors."""
    dice, supplies = Dice(count), set(process.supplies)
    cells = [cell for cell in map(load_cell, _CELLS) if cell.fits(process)]
    nets = [f"in{k}" for k in range(8)]
    transistors: list[Transistor] = []
    number = 0
    while len(transistors) < count:
        cell, number = dice.pick(cells), number + 1
        outputs = [port.name for port in cell.ports if port.role is Role.OUTPUT]
        joined = {port.name: dice.pick(nets[-12:]) for port in cell.ports if port.name not in outputs}
        joined |= {name: f"n{number}_{name}" for name in outputs} | {net: net for net in supplies}

        def net(name: str, joined: dict[str, str] = joined, number: int = number) -> str:
            return joined.get(name, f"i{number}_{name}")

        transistors += [
            replace(t, name=f"{t.name}_{number}", gate=net(t.gate), source=net(t.source), drain=net(t.drain))
            for t in cell.netlist(process).transistors
        ]
        nets += [joined[name] for name in outputs]
    gates, ends = {t.gate for t in transistors}, {end for t in transistors for end in t.ends}
    ports = (*process.supplies, *(name for name in nets if (name in gates) != (name in ends)))
    return Netlist(f"block_{count}", ports, tuple(transistors))


if __name__ == "__main__":
    main()
