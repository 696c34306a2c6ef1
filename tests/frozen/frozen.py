"""
Digests of what must not change while the rooms are rebuilt: drawings by seed, and questions with their keys.

`python -m tests.frozen.frozen` writes them anew. That is right only where a change of drawings or questions is meant;
the commit says why.
"""

import json
from collections.abc import Iterator
from hashlib import blake2b
from pathlib import Path

from layoutdrill.cells import load_cell
from layoutdrill.cells.library import library
from layoutdrill.cells.model import Cell
from layoutdrill.dice import Dice
from layoutdrill.layout.text import layout_text
from layoutdrill.process import Process, load_process, process_names
from layoutdrill.prove import proved
from layoutdrill.question import kinds
from tests.question.conftest import drawn

PROCESSES = (
    "metal-gate-cmos", "metal-gate-sapphire", "metal-gate-pmos", "silicon-gate-cmos", "silicon-gate-cmos-2m",
    "silicon-gate-nmos",
)  # fmt: skip
ARRAYS = (
    "decoder2_nor_own", "decoder2_nand_own", "decoder2_tree_own", "decoder3_nor", "decoder3_nand", "decoder3_tree",
    "ram_array_2x2", "memory_array_2x3", "register_row_3", "load_row_2", "shift_register_4",
    "shift_register_dynamic_4", "shift_register_two_phase_4", "fifo_slice_2", "fifo_2x2", "rom_flash",
    "rom_flash_decoded", "rom_scan_p", "pla_scan",
)  # fmt: skip
BLOCKS = ("ram_array_4x4", "register_row_8")
"""Drawn without their tiling they are too large for one pair of rows."""
LATER = ("counters", "clocks")
"""Families of cells that came after the digests were kept, and cells that did."""
LATER_CELLS = ("comparator_2", "parity_3", "carry_chain_2", "open_drain", "ram_3t")
FILE = Path(__file__).with_name("digests.json")


def kept_cells(process: Process) -> list[Cell]:
    """Return the library's cells that fit a process, as it was when the digests were kept."""
    return [
        cell
        for name, cell in sorted(library().items())
        if cell.fits(process) and cell.family not in LATER and name not in LATER_CELLS
    ]


def layouts(process_name: str) -> Iterator[tuple[str, str]]:
    """Yield the name and digest of some 35 drawings: every sixth cell, and arrays of every sort."""
    process = load_process(process_name)
    shift = PROCESSES.index(process_name)
    for number, cell in enumerate(kept_cells(process)[shift::6]):
        seed, difficulty = 7 * number + shift, number % 5 / 4
        drawing = proved(cell.netlist(process), process, seed, difficulty=difficulty, neighbours=number % 5 == 4)
        yield f"{process_name} {cell.name} {seed} {difficulty}", digest(layout_text(drawing.layout))
    for number, name in enumerate(ARRAYS):
        cell = load_cell(name)
        if not cell.fits(process):
            continue
        difficulty = number % 5 / 4
        drawing = proved(cell.netlist(process), process, number, difficulty=difficulty, tiling=cell.tiling(process))
        yield f"{process_name} {name} {number} {difficulty}", digest(layout_text(drawing.layout))
    for name in BLOCKS:
        cell = load_cell(name)
        if cell.fits(process):
            drawing = proved(cell.netlist(process), process, 3)
            yield f"{process_name} {name} block", digest(layout_text(drawing.layout))


def questions(process_name: str) -> Iterator[tuple[str, str]]:
    """Yield the name and digest of some 85 questions: prompt, choices, facts, places and key."""
    process = load_process(process_name)
    shift = PROCESSES.index(process_name)
    small = [cell for cell in kept_cells(process) if cell.netlist(process).count() <= 14]
    for number, cell in enumerate(small[shift :: max(1, len(small) // 14)]):
        specimen = drawn(cell.name, process_name, number)
        for name, kind in kinds().items():
            asked = kind.ask(specimen, Dice.from_text(f"{cell.name} {name} {number}"))
            if asked is not None:
                marks = [(m.letter, m.x, m.y, m.ring) for m in asked.marks]
                whole = json.dumps([asked.prompt, asked.choices, asked.facts, marks, asked.key.json()], sort_keys=True)
                yield f"{process_name} {cell.name} {number} {name}", digest(whole)


def digest(text: str) -> str:
    return blake2b(text.encode(), digest_size=8).hexdigest()


def main() -> None:
    """Write the digests of today."""
    assert set(PROCESSES) <= set(process_names())
    kept = {
        "layouts": {name: value for process in PROCESSES for name, value in layouts(process)},
        "questions": {name: value for process in PROCESSES for name, value in questions(process)},
    }
    FILE.write_text(json.dumps(kept, indent=0) + "\n", "utf-8")
    print({key: len(value) for key, value in kept.items()})


if __name__ == "__main__":
    main()
