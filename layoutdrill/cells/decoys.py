"""Make the circuits that a cell is taken for: one wire different, still a circuit that could be meant."""

from collections import Counter
from collections.abc import Iterator
from dataclasses import replace
from itertools import islice, product

from layoutdrill.cells.edits import EDITS, Sheet
from layoutdrill.cells.model import Cell, Role
from layoutdrill.cells.tiling import Tiling
from layoutdrill.dice import Dice
from layoutdrill.netlist.compare import alike
from layoutdrill.netlist.model import Netlist
from layoutdrill.process import Process
from layoutdrill.recognise.terms import UNKNOWN
from layoutdrill.recognise.whole import recognise
from layoutdrill.simulate.levels import Level
from layoutdrill.simulate.table import Table, table
from layoutdrill.value import value

MOST_ROWS = 6
"""Cells with more free inputs than this are tried at a few rows only."""
LARGEST = 130
PLAIN = ("transistor missing", "transistor added", "feedback broken", "output moved", "switch moved")
"""Edits that change more than the order of gates, whatever they do to the function."""
_TRIES = 40


@value
class Decoy:
    """
    A netlist that differs from a cell's by one wire. `edit` is the kind of change, `says` what is different here.

    `term` is what the decoy is recognised as; `function_differs` tells that some output has another value at some row,
    where the cell has a function; `renamed` that its name is another than the cell's.

    In an array's planes one crossing is changed, and the decoy has a `tiling` like the array's.
    """

    netlist: Netlist
    edit: str
    says: str
    term: str
    function_differs: bool
    renamed: bool
    tiling: Tiling | None = None


def decoys(cell: Cell, process: Process, dice: Dice, most: int = 8) -> tuple[Decoy, ...]:
    """
    Return up to `most` decoys, no two the same circuit, and none the cell itself; those of other kinds of edit first.

    Each keeps the cell's ports and uses all of them, leaves no net hanging, and has no fight between the rails at any
    input row that is tried. Where the cell has a function, each output of the decoy is driven at every row and is no
    constant; where it has none, the decoy is recognised as something. Each differs in structure, by comparison of the
    netlists, and more than by the order of a series: in function, in name, in the role of a port, or by a wire or
    device that is plain to see. Raises LayoutdrillError where the cell does not fit.
    """
    own = cell.netlist(process)
    sheet = _sheet(cell, own, process)
    trial = _Trial(cell, own, process)
    if len(own.transistors) > LARGEST:
        return ()
    chosen = list(islice(_planes(cell, process, dice, trial), most))
    streams = [_stream(name, list(make(sheet)), dice, trial, chosen) for name, make in EDITS]
    while streams and len(chosen) < most:
        for stream in list(streams):
            decoy = next(stream, None)
            if decoy is None:
                streams.remove(stream)
            elif len(chosen) < most:
                chosen.append(decoy)
    return tuple(chosen)


def _planes(cell: Cell, process: Process, dice: Dice, trial: "_Trial") -> Iterator[Decoy]:
    """Yield an array's decoys with one crossing changed, the kinds of edit by turns."""
    if not cell.tilings:
        return
    from layoutdrill.cells.arrays.changed import changed_crossings  # noqa: PLC0415 - most cells are no arrays

    changes = list(changed_crossings(cell, process))
    changes = dice.shuffled(changes)
    turns: Counter[str] = Counter()
    ranked = []
    for change in changes:
        ranked.append((turns[change[2]], change[2], change))
        turns[change[2]] += 1
    for _, _, (netlist, tiling, edit, says) in sorted(ranked, key=lambda candidate: candidate[:2])[:_TRIES]:
        decoy = trial.judge(netlist, edit, says)
        if decoy is not None:
            yield replace(decoy, tiling=tiling)


def _stream(
    edit: str, candidates: list[tuple[Netlist, str]], dice: Dice, trial: "_Trial", chosen: list[Decoy]
) -> Iterator[Decoy]:
    candidates = dice.shuffled(candidates)
    for netlist, says in candidates[:_TRIES]:
        decoy = trial.judge(netlist, edit, says)
        if decoy is not None and not any(same(decoy.netlist, other.netlist) for other in chosen):
            yield decoy


def same(first: Netlist, second: Netlist) -> bool:
    """Tell whether two netlists are one circuit, ports by name."""
    return alike(first, second)


def used_ports(netlist: Netlist) -> frozenset[str]:
    """Return the ports that some transistor touches."""
    return frozenset(netlist.ports) & {net for t in netlist.transistors for net in (t.gate, *t.ends)}


def hangs(netlist: Netlist) -> bool:
    """Tell whether some inner net has nothing that drives it, or ends nowhere."""
    ends = {end for t in netlist.transistors for end in t.ends}
    touched = Counter(net for t in netlist.transistors for net in (t.gate, *t.ends))
    return any(
        net not in netlist.ports and (net not in ends or touched[net] < 2) for t in netlist.transistors
        for net in (t.gate, *t.ends)
    )  # fmt: skip


def twice(netlist: Netlist) -> bool:
    """Tell whether two transistors are side by side on one gate: a drawing shows them as fingers of one."""
    seen = Counter((t.kind, t.gate, t.ends) for t in netlist.transistors)
    return max(seen.values()) > 1


def _sheet(cell: Cell, netlist: Netlist, process: Process) -> Sheet:
    rails = frozenset(process.supplies)
    outputs = tuple(port.name for port in cell.ports if port.role is Role.OUTPUT)
    inputs = tuple(port.name for port in cell.ports if port.role is not Role.OUTPUT)
    return Sheet(netlist, rails, inputs, outputs)


class _Trial:
    """What the cell itself does, against which its decoys are judged."""

    def __init__(self, cell: Cell, own: Netlist, process: Process) -> None:
        low, high = process.supplies
        self.cell = cell
        self.own = own
        self.used = used_ports(own)
        self.rails = {low: 0, high: 1}
        self.outputs = [p.name for p in cell.ports if p.role is Role.OUTPUT]
        self.free = [p.name for p in cell.ports if p.role is not Role.OUTPUT and not p.complement_of]
        self.opposites = {p.name: p.complement_of for p in cell.ports if p.complement_of}
        self.does = self.run(own)
        self.seen = recognise(own, self.supplies(own))
        self.names = set(self.seen.names)

    def supplies(self, netlist: Netlist) -> dict[str, int]:
        used = set(netlist.nets)
        return {rail: value for rail, value in self.rails.items() if rail in used}

    def run(self, netlist: Netlist) -> tuple[tuple[Level, ...], ...]:
        """Return the outputs' levels, row by row, with complements of ports following them."""
        if not self.outputs:
            return ()
        rows = []
        for values in self.rows():
            given = dict(zip(self.free, values, strict=True))
            given |= {name: 1 - given[base] for name, base in self.opposites.items()}
            seen: Table = table(netlist, (), self.outputs, self.supplies(netlist), fixed=given)
            rows.append(seen.rows[0].outputs)
        return tuple(rows)

    def rows(self) -> Iterator[tuple[int, ...]]:
        count = len(self.free)
        if count <= MOST_ROWS:
            yield from product((0, 1), repeat=count)
            return
        yield from (tuple(int(i == j) for j in range(count)) for i in range(count))
        yield from (tuple(int(i != j) for j in range(count)) for i in range(count))

    def judge(self, netlist: Netlist, edit: str, says: str) -> Decoy | None:
        """Return the decoy, or None where the netlist is the cell itself or no circuit that anyone would mean."""
        if used_ports(netlist) != self.used or hangs(netlist) or twice(netlist) or same(self.own, netlist):
            return None
        does = self.run(netlist)
        if any(Level.FIGHT in row for row in does):
            return None
        if self.cell.function and not self.sensible(does):
            return None
        seen = recognise(netlist, self.supplies(netlist))
        if not self.cell.function and UNKNOWN in (seen.term, *(part.term for part in seen.structures)):
            return None
        differs = bool(self.cell.function) and does != self.does
        renamed = not self.names & set(seen.names)
        if not (differs or renamed or edit in PLAIN or seen.ports != self.seen.ports):
            return None
        return Decoy(
            replace(netlist, name=f"{self.own.name}_decoy"),
            edit,
            says,
            seen.term,
            differs,
            renamed,
        )

    def sensible(self, does: tuple[tuple[Level, ...], ...]) -> bool:
        """Tell whether outputs are driven where the cell's are, and none is the same at every row."""
        driven = all(
            now.known or not before.known
            for row, was in zip(does, self.does, strict=True)
            for now, before in zip(row, was, strict=True)
        )
        return driven and all(len(set(column)) > 1 for column in zip(*does, strict=True))
