"""Run a die by the story of its board, and write down what a log of it shows."""

import re
from collections.abc import Iterable, Mapping, Sequence
from itertools import groupby

from layoutdrill.cells.chips import Story, chip_names, load_chip
from layoutdrill.netlist.model import Netlist
from layoutdrill.process import Process
from layoutdrill.question.circuit import values_of
from layoutdrill.simulate.circuit import Circuit
from layoutdrill.simulate.settle import settle

UNKNOWN = "-"
"""How a log writes what nobody can know: nothing has been stored yet, or nothing drives the pin."""
_PIN = re.compile(r"(.*?)(\d+)\Z")


def story_of(cell: str) -> Story | None:
    """Return what the board of a chip does while a log is taken; None where the cell is no chip, or nobody said."""
    return load_chip(cell).log if cell in chip_names() else None


def log_of(
    netlist: Netlist, process: Process, story: Story, inputs: Sequence[str], outputs: Sequence[str]
) -> tuple[dict[str, str], ...]:
    """Return the levels of the outputs after each row: 0, 1, or `UNKNOWN`."""
    circuit = Circuit(netlist, inputs, values_of(process, netlist))
    levels = dict.fromkeys(inputs, 0)
    state = settle(circuit, levels)
    shown: list[dict[str, str]] = []

    def put(pin: str, level: int) -> None:
        nonlocal state
        if pin and levels[pin] != level:
            levels[pin] = level
            state = settle(circuit, levels, before=state)

    strobe = 0
    for row, pulses in zip(story.rows, story.pulses, strict=True):
        strobe = row.get(story.strobe, strobe)
        put(story.strobe, 0)
        for pin, level in row.items():
            if pin != story.strobe:
                put(pin, level)
        put(story.strobe, strobe)
        for _ in range(pulses):
            put(story.clock, 1)
            put(story.clock, 0)
        shown.append({pin: _written(state.level(pin).value) for pin in outputs})
    return tuple(shown)


def _written(level: str) -> str:
    return level if level in ("0", "1") else UNKNOWN


def row_lines(story: Story, log: Sequence[Mapping[str, str]], leave_out: str = "") -> tuple[str, ...]:
    """Write a log, a line a row: what the board changes, then every output, a bus with its upper pin first."""
    lines = []
    told = zip(story.rows, story.pulses, log, strict=True)
    for number, (row, pulses, levels) in enumerate(told, 1):
        set_now = _grouped({pin: str(level) for pin, level in row.items()})
        if pulses != 1:
            set_now = f"{set_now} {pulses} × {story.clock}".strip()
        shown = _grouped({pin: level for pin, level in levels.items() if pin != leave_out})
        lines.append(f"Row {number}: {set_now or 'as before'} → {shown}")
    return tuple(lines)


def _grouped(levels: Mapping[str, str]) -> str:
    """Write levels, pins of one name that count on as one bus."""
    ordered = sorted(levels, key=_order)
    words = []
    for head, pins in groupby(ordered, key=lambda pin: _order(pin)[0]):
        names = list(pins)
        bits = "".join(levels[pin] for pin in names)
        numbered = len(names) > 1
        words.append(
            f"{head}{_order(names[0])[2]}..{_order(names[-1])[2]}={bits}" if numbered else f"{names[0]}={bits}"
        )
    return " ".join(words)


def _order(pin: str) -> tuple[str, int, str]:
    match = _PIN.match(pin)
    return (match[1], -int(match[2]), match[2]) if match else (pin, 0, "")


def first_difference(
    sound: Sequence[Mapping[str, str]], other: Sequence[Mapping[str, str]]
) -> tuple[int, tuple[str, ...]] | None:
    """Return the first row, from 1, in which a known level is another, and the pins; None where none is."""
    for number, (right, seen) in enumerate(zip(sound, other, strict=True), 1):
        pins = tuple(pin for pin in right if UNKNOWN not in (right[pin], seen[pin]) and right[pin] != seen[pin])
        if pins:
            return number, pins
    return None


def without(netlist: Netlist, names: Iterable[str]) -> Netlist:
    """Return a netlist in which some transistors never open."""
    dead = set(names)
    return Netlist(
        netlist.name,
        netlist.ports,
        tuple(t for t in netlist.transistors if t.name not in dead),
        netlist.elements,
    )
