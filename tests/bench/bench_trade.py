"""
Go through the things that an old hand expects, one by one: what draws each, in which processes, proved, and named.

Run as `python -m tests.bench.bench_trade [FOLDER/] [WORD …]`: every cell in every process that it fits, tidy and
crowded; with a folder, sheets of them as well; with words, only the lines that have one of them. What is left out and
why stands in decks/AUTHORING.md.
"""

import sys
import time
from collections.abc import Sequence
from pathlib import Path

from layoutdrill.cells import load_cell
from layoutdrill.deck import deck_names, lesson_names, load_deck
from layoutdrill.errors import FaultError
from layoutdrill.process import Process, load_process, process_names
from layoutdrill.prove import proved
from layoutdrill.prove.proof import Proved
from layoutdrill.recognise.terms import canonical
from layoutdrill.recognise.whole import recognise

WANTED: dict[str, tuple[str, ...]] = {
    "input pad, resistor and diodes": ("pad_in", "pad_in_clamped", "input_protection"),
    "output pad, comb": ("pad_out", "output_driver"),
    "tri-state pad": ("pad_tristate", "output_driver_tristate"),
    "bidirectional pad": ("pad_both_ways",),
    "open drain": ("pad_open_drain", "open_drain"),
    "supply pad": ("pad_supply",),
    "gate-array bases, rows, channels": ("gate_array_row", "gate_array_lamp", "gate_array_beacon", "gates_apart"),
    "flip-flops with set, reset": ("ff_set", "ff_reset", "ff_set_reset"),
    "T and JK flip-flops": ("ff_toggle", "ff_toggle_input", "ff_jk"),
    "counters": ("counter_ripple_2", "counter_ripple_3", "counter_johnson_2", "counter_johnson_3", "shift_feedback_3"),
    "oscillators": ("oscillator_rc", "crystal_oscillator", "ring_oscillator", "ring_oscillator_gated"),
    "power-on reset": ("power_on_reset",),
    "two-phase clock generator": ("clock_two_phase",),
    "ROM by transistor": ("rom_scan", "rom_scan_p"),
    "ROM by contact, by metal": ("rom_scan_contact", "rom_scan_metal"),
    "ROM in series, by implant": ("rom_scan_series", "rom_scan_series_p", "rom_scan_implant"),
    "column multiplexer": ("column_switch",),
    "sense amplifier": ("sense_amplifier",),
    "precharge": ("column_precharge", "precharged_nand2", "precharged_nor2"),
    "four-phase and ratioless shift": ("shift_four_phase", "shift_ratioless"),
    "clocked loads": ("inverter_clocked_load", "nor2_clocked_load", "shift_clocked_load"),
    "bootstrap driver": ("bootstrap_driver",),
    "3T and 1T memory": ("ram_3t", "ram_1t"),
    "level shifter": ("level_shifter",),
    "lamp, liquid crystal, high voltage": ("driver_lamp", "driver_liquid_crystal", "driver_high_voltage"),
    "comparator, parity, carry chain": ("comparator_2", "parity_3", "carry_chain_2"),
    "bus keeper": ("bus_keeper",),
    "edge of a die": ("at_the_edge",),
    "substrate bias": ("bias_generator",),
}
"""What is wanted, and the cells that draw it."""

TIDY, CROWDED = 0.0, 1.0


def main(arguments: Sequence[str]) -> int:
    """Print a line a cell; return 1 where one could not be proved or is not named as it is meant."""
    folder = Path(arguments[0]) if arguments and Path(arguments[0]).suffix == "" and "/" in arguments[0] else None
    words = arguments[1:] if folder else arguments
    told = _told()
    wrong = pairs = 0
    begun = time.process_time()
    tiles: dict[str, list[tuple[str, Proved]]] = {}
    for what, names in WANTED.items():
        if words and not any(word in what or word in names for word in words):
            continue
        print(what)
        for name in names:
            cell = load_cell(name)
            fitting = [p for p in map(load_process, process_names()) if p.rules and p.drawing and cell.fits(p)]
            said = []
            for process in fitting:
                for difficulty in (TIDY, CROWDED):
                    pairs += 1
                    made, fault = _made(name, process, difficulty)
                    wrong += bool(fault)
                    if fault:
                        said.append(f"    {process.name} at {difficulty:g}: {fault}")
                    if made is not None and folder is not None:
                        tiles.setdefault(process.name, []).append((f"{name} {difficulty:g}", made))
            where = ", ".join(told.get(name, ())) or "in no lesson or deck"
            print(f"  {name}: {', '.join(p.name for p in fitting)}; {where}")
            print("\n".join(said), end="\n" if said else "")
    spent = time.process_time() - begun
    print(f"{pairs} drawings, {wrong} wrong, {spent / max(1, pairs):.2f} s of CPU each")
    if folder is not None:
        _sheets(folder, tiles)
    return int(wrong > 0)


def _made(name: str, process: Process, difficulty: float) -> tuple[Proved | None, str]:
    """Return the drawing, and what is wrong: that it could not be proved, or is read as something else."""
    cell = load_cell(name)
    seed = len(name) + round(difficulty)
    try:
        made = proved(cell.netlist(process), process, seed, difficulty=difficulty, tiling=cell.tiling(process))
    except FaultError as error:
        return None, str(error)
    reading = recognise(made.cell)
    if {canonical(term) for term in (cell.structure, *cell.aliases)} & {canonical(term) for term in reading.names}:
        return made, ""
    return made, f"read as {', '.join(reading.names)}"


def _told() -> dict[str, list[str]]:
    """Return by cell the lessons and decks that ask about it or show it."""
    told: dict[str, list[str]] = {}
    for name in dict.fromkeys((*lesson_names(), *deck_names())):
        deck = load_deck(name)
        cells = {cell for item in deck.items for cell in item.cells}
        cells |= {picture.cell for page in deck.pages for picture in page.pictures if picture.cell}
        for cell in sorted(cells):
            told.setdefault(cell, []).append(name)
    return told


def _sheets(folder: Path, tiles: dict[str, list[tuple[str, Proved]]]) -> None:
    """Write a sheet a process."""
    from tests.bench.sheet import sheet_of

    folder.mkdir(parents=True, exist_ok=True)
    for process, drawings in tiles.items():
        path = folder / f"trade-{process}.png"
        sheet_of(load_process(process), drawings).save(path)
        print(f"wrote {path}")


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
