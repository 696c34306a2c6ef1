"""Free practice: a deck made of one's own choice of cells, processes and kinds of question."""

import json
from functools import cache

from layoutdrill.cells import Cell, cell_names, load_cell
from layoutdrill.deck import Deck
from layoutdrill.deck.known import drawn_processes
from layoutdrill.deck.read import read_deck
from layoutdrill.errors import LayoutdrillError
from layoutdrill.netlist.model import Netlist
from layoutdrill.process import Process, load_process
from layoutdrill.question import kinds
from layoutdrill.yamldoc import loads

_LEAST = 2
"""A cell of fewer transistors is asked about only when it is named: there is too little to read."""


def practice_deck(
    cells: tuple[str, ...], processes: tuple[str, ...], kinds_: tuple[str, ...], difficulty: float
) -> Deck:
    """
    Return a deck for free practice: one item for the cells of each set of processes.

    Of several cells those that make no sense in the chosen processes, or about which nothing of the chosen kinds can be
    asked, are left out; of all cells of the library also arrays and single transistors.
    Who chooses nothing but kinds of whole dies is given these. Raises LayoutdrillError for a
    name that is not known, or where nothing is left.
    """
    if not cells:
        raise LayoutdrillError("no cell is chosen", todo="choose at least one")
    _read([_item(cells[:1], (), kinds_, difficulty, 1)])  # tells a kind that is not known
    _known(cells, processes)
    every = set(cells) >= set(cell_names())
    if every and kinds_ and all(kinds()[kind].whole_die for kind in kinds_):
        from layoutdrill.cells.chips import chip_names  # noqa: PLC0415 - few ask for whole dies

        cells, every = chip_names(), False
    groups: dict[tuple[str, ...], list[str]] = {}
    for name in cells:
        cell = load_cell(name)
        fitting = [p for p in processes or drawn_processes() if cell.fits(load_process(p))]
        if every:
            fitting = [p for p in fitting if not _slight(cell, load_process(p))]
        asked = [p for p in fitting if not kinds_ or any(_askable(kind, cell, p) for kind in kinds_)]
        if asked:
            groups.setdefault(tuple(asked), []).append(name)
    if not groups:
        raise _nothing_left(cells, processes, kinds_)
    return _read([_item(tuple(own), fit, kinds_, difficulty, len(own)) for fit, own in groups.items()])


def _item(
    cells: tuple[str, ...], processes: tuple[str, ...], kinds_: tuple[str, ...], difficulty: float, count: int
) -> list[str]:
    chosen = {"cells": cells, "processes": processes, "kinds": kinds_}
    listed = [f"    {key}: {json.dumps(list(words))}" for key, words in chosen.items() if words]
    return [f"  - difficulty: {difficulty}", *listed, f"    count: {count}"]


def _read(items: list[list[str]]) -> Deck:
    lines = ["title: Free practice", "about: Cells, processes and kinds of question of your own choice.", "items:"]
    text = "\n".join([*lines, *(line for item in items for line in item)]) + "\n"
    deck, errors = read_deck(loads(text, "free practice"), "practice")
    if errors:
        raise LayoutdrillError(errors[0].what, todo=errors[0].todo)
    return deck


def _known(cells: tuple[str, ...], processes: tuple[str, ...]) -> None:
    """Raise for the first name that is not known, in the words of the deck's reader."""
    for name in cells:
        if name not in cell_names():
            _read([_item((name,), (), (), 0.3, 1)])  # an array is read as what it is, anything else told
    for name in processes:
        if name not in drawn_processes():
            _read([_item(cells[:1], (name,), (), 0.3, 1)])


def _slight(cell: Cell, process: Process) -> bool:
    return cell.tiling(process) is not None or _built(cell.name, process.name).count() < _LEAST


def kinds_for(cell: str, process: str) -> tuple[str, ...]:
    """Return the kinds that can be asked of a cell in a process, "" being any: all kinds where no cell is chosen."""
    if not cell:
        return tuple(kinds())
    known = load_cell(cell)
    fitting = [p for p in ((process,) if process else drawn_processes()) if known.fits(load_process(p))]
    return tuple(kind for kind in kinds() if any(_askable(kind, known, p) for p in fitting))


def _askable(kind: str, cell: Cell, process: str) -> bool:
    return kinds()[kind].askable(_built(cell.name, process), load_process(process), cell.ports)


@cache
def _built(cell: str, process: str) -> Netlist:
    """Return a cell's netlist, built once: each choice on the page of free practice asks for all of them again."""
    return load_cell(cell).netlist(load_process(process))


def _nothing_left(cells: tuple[str, ...], processes: tuple[str, ...], kinds_: tuple[str, ...]) -> LayoutdrillError:
    """Say what does not go together, and what would."""
    what = cells[0] if len(cells) == 1 else "none of these cells"
    where = " or ".join(processes)
    if len(cells) == 1:
        fitting = [p for p in drawn_processes() if load_cell(cells[0]).fits(load_process(p))]
        if not set(fitting) & set(processes):
            todo = f"choose {' or '.join(fitting[:3])}, or any process, or another cell"
            return LayoutdrillError(f"{what} makes no sense in {where}", todo=todo)
    asked = f"“{' or '.join(kinds_)}” cannot be asked about {what}" if kinds_ else f"{what} can be drawn"
    could = kinds_for(cells[0], processes[0] if len(processes) == 1 else "") if len(cells) == 1 else ()
    todo = f"kinds that can: {', '.join(could)}" if could else "choose another cell, process or kind"
    return LayoutdrillError(asked + (f" in {where}" if where else ""), todo=todo)
