"""Explain a netlist or a layout: what it is, structure by structure, what it does, and where it may be misread."""

import json
from dataclasses import replace
from pathlib import Path
from typing import Any

from layoutdrill.errors import LayoutdrillError, Where, plural
from layoutdrill.extract.model import Extraction
from layoutdrill.layout.model import Layout
from layoutdrill.netlist.model import Kind, Mode, Netlist
from layoutdrill.netlist.roles import Role
from layoutdrill.netlist.spice import NETLIST_FILES, read_spice_file
from layoutdrill.process import Process
from layoutdrill.process.load import load_process
from layoutdrill.reading.apart import store_words, stores_apart
from layoutdrill.reading.ports import told_ports, with_more_ports, with_ports
from layoutdrill.reading.slips import Slip, find_slips
from layoutdrill.recognise.model import Recognition, Structure
from layoutdrill.recognise.view import look
from layoutdrill.recognise.whole import recognise
from layoutdrill.simulate.drops import drops
from layoutdrill.simulate.expression import text
from layoutdrill.simulate.levels import Level
from layoutdrill.simulate.minimal import minimal
from layoutdrill.simulate.settle import settle
from layoutdrill.simulate.states import Behaviour, Memory, StoreBehaviour, behaviour, edge_test, input_rows
from layoutdrill.simulate.table import Row, Table, table
from layoutdrill.value import value

MOST_INPUTS = 8
LARGEST = 400
"""Larger netlists are recognised, but not simulated as a whole."""
LAYOUT_FILES = (".gds", ".gdsii", ".gds2", ".oas")


@value
class Counts:
    """How many of each thing."""

    n: int
    p: int
    depletion: int
    fingers: int
    nets: int
    elements: int

    @property
    def transistors(self) -> int:
        return self.n + self.p


@value
class Explanation:
    """
    All that is found out about a netlist, as data; `text` and `json` show it.

    `functions` are equations of the outputs, `stores` what remembers, what it takes and what it is else, `table` the
    truth table (None where there is memory, or there are too many inputs), `poor` the outputs that do not reach their
    rail. `apart` is the number of stores left out where they were simulated one by one. `layout`, `extraction` and
    `process` are there when the file was a layout.
    """

    netlist: Netlist
    recognition: Recognition
    counts: Counts
    functions: tuple[str, ...]
    behaviour: Behaviour | None
    stores: tuple[tuple[StoreBehaviour, str, str], ...]
    table: Table | None
    poor: tuple[str, ...]
    slips: tuple[Slip, ...]
    remarks: tuple[str, ...]
    layout: Layout | None = None
    extraction: Extraction | None = None
    process: Process | None = None
    apart: int | None = None

    @property
    def name(self) -> str:
        return self.recognition.term

    def text(self) -> str:
        """Return the explanation in plain text."""
        return "\n".join(_lines(self)) + "\n"

    def json(self) -> str:
        """Return the explanation as JSON text."""
        return json.dumps(self.data(), indent=2, ensure_ascii=False)

    def data(self) -> dict[str, Any]:
        """Return the explanation as plain values."""
        r = self.recognition
        return {
            "netlist": self.netlist.name,
            "name": r.term,
            "also": list(r.also),
            "ports": [{"net": p.net, "role": str(p.role), "complement_of": p.complement_of} for p in r.ports],
            "structures": [_structure(s) for s in r.structures],
            "functions": list(self.functions),
            "memory": str(self.behaviour.memory) if self.behaviour else None,
            "holding": list(self.behaviour.holding) if self.behaviour else [],
            "stores": [
                {"output": s.output, "kind": s.kind, "control": s.control, "when": s.when, "next": taken,
                 "else": held}
                for s, taken, held in self.stores
            ],
            "table": {
                "inputs": list(self.table.inputs),
                "outputs": list(self.table.outputs),
                "rows": [["".join(map(str, row.inputs)), "".join(row.outputs)] for row in self.table.rows],
            }
            if self.table
            else None,
            "poor": list(self.poor),
            "counts": {
                "transistors": self.counts.transistors,
                "n": self.counts.n,
                "p": self.counts.p,
                "depletion": self.counts.depletion,
                "fingers": self.counts.fingers,
                "nets": self.counts.nets,
                "elements": self.counts.elements,
            },
            "slips": [
                {"kind": s.kind, "text": s.text, "transistors": list(s.transistors), "nets": list(s.nets),
                 "repair": s.repair}
                for s in self.slips
            ],
            "findings": [f.text for f in self.extraction.findings] if self.extraction else [],
            "notes": [*r.notes, *self.remarks],
        }  # fmt: skip


def _structure(s: Structure) -> dict[str, Any]:
    return {
        "term": s.term,
        "transistors": list(s.transistors),
        "ports": [{"net": p.net, "role": str(p.role), "complement_of": p.complement_of} for p in s.ports],
        "function": s.function,
        "notes": list(s.notes),
        "parts": [_structure(p) for p in s.parts],
    }


def explain_netlist(netlist: Netlist) -> Explanation:
    """Return what is found out about a netlist; one without ports is given its likely ones, and says so."""
    recognition = recognise(with_ports(netlist))
    remarks = []
    if recognition.netlist is not netlist:
        more = with_more_ports(recognition)
        if more is not recognition.netlist:
            recognition = recognise(more)
        remarks.append(told_ports(recognition.netlist))
    netlist = recognition.netlist
    view = look(netlist, recognition.supplies)
    slips = find_slips(netlist, recognition.supplies, view)
    counts = Counts(
        netlist.count(Kind.N),
        netlist.count(Kind.P),
        sum(1 for t in netlist.transistors if t.mode is Mode.DEPLETION),
        sum(t.fingers for t in netlist.transistors),
        len(netlist.nets),
        len(netlist.elements),
    )
    inputs = [p.net for p in recognition.ports if p.role not in (Role.OUTPUT, Role.SUPPLY, Role.UNUSED)]
    outputs = list(recognition.nets(Role.OUTPUT))
    tied = {p.net: p.complement_of for p in recognition.ports if p.net in inputs and p.complement_of in inputs}
    if not netlist.transistors:
        remarks.append("there are no transistors")
    if (apart := stores_apart(recognition)) is not None:
        rest = f"; {apart.more} more were not" if apart.more else ""
        remarks.append(f"the stores were simulated one by one{rest}")
        return Explanation(netlist, recognition, counts, (), apart.behaviour, apart.stores, None, (), slips,
                           tuple(remarks), apart=apart.more)  # fmt: skip
    if not outputs or len(netlist.transistors) > LARGEST or len(inputs) - len(tied) > MOST_INPUTS:
        if outputs:
            remarks.append(f"not simulated as a whole: {len(inputs)} inputs, {len(netlist.transistors)} transistors")
        return Explanation(netlist, recognition, counts, (), None, (), None, (), slips, tuple(remarks))
    supplies = recognition.supplies
    behaved = behaviour(netlist, inputs, outputs, supplies, tied)
    if behaved.memory is Memory.STATEFUL:
        found = edge_test(netlist, inputs, outputs, supplies, tied)
        stores = tuple((store, *store_words(netlist, inputs, store, supplies, tied)) for store in found)
        return Explanation(netlist, recognition, counts, (), behaved, stores, None, (), slips, tuple(remarks))
    seen = _table(netlist, inputs, outputs, recognition, tied)
    functions = tuple(equation for output in outputs if (equation := _equation(seen, output)))
    poor = _poor(netlist, inputs, outputs, recognition, tied)
    return Explanation(netlist, recognition, counts, functions, behaved, (), seen, poor, slips, tuple(remarks))


def _table(
    netlist: Netlist, inputs: list[str], outputs: list[str], recognition: Recognition, tied: dict[str, str]
) -> Table:
    """Return the table over the inputs that are free; complements move with what they are the complement of."""
    if len(inputs) <= MOST_INPUTS + 4:
        whole = table(netlist, inputs, outputs, recognition.supplies)
        if not tied:
            return whole
        keep = [i for i in inputs if i not in tied]
        at = {net: i for i, net in enumerate(inputs)}
        rows = [r for r in whole.rows if all(r.inputs[at[b]] != r.inputs[at[a]] for b, a in tied.items())]
        short = sorted((Row(tuple(r.inputs[at[i]] for i in keep), r.outputs) for r in rows), key=lambda r: r.inputs)
        return Table(tuple(keep), tuple(outputs), tuple(short))
    raise LayoutdrillError(f"{len(inputs)} inputs are too many for a table", todo=f"at most {MOST_INPUTS + 4}")


def _equation(seen: Table, output: str) -> str:
    levels = seen.column(output)
    ones = sum(1 << r for r, level in enumerate(levels) if level is Level.HIGH)
    free = sum(1 << r for r, level in enumerate(levels) if not level.known)
    floating = sum(1 << r for r, level in enumerate(levels) if level is Level.FLOATING)
    if all(not level.known for level in levels):
        return ""
    form = f"{output} = {text(minimal(ones, seen.inputs, free))}"
    full = (1 << len(levels)) - 1
    if floating:
        form += f" while {text(minimal(full & ~floating, seen.inputs))}, else floating"
    fights = [level for level in levels if level in (Level.FIGHT, Level.UNKNOWN)]
    if fights:
        form += f" ({len(fights)} of {len(levels)} rows are not definite)"
    return form


def _poor(
    netlist: Netlist, inputs: list[str], outputs: list[str], recognition: Recognition, tied: dict[str, str]
) -> tuple[str, ...]:
    """Say which outputs stop short of their rail, and for which level."""
    worst: dict[tuple[str, Level], int] = {}
    for row in input_rows(inputs, tied, 64):
        state = settle(netlist, row, recognition.supplies)
        for net, lost in drops(state).items():
            if net in outputs:
                key = (net, state.level(net))
                worst[key] = max(worst.get(key, 0), lost)
    return tuple(
        f"{net} stays {lost} threshold{'s' if lost > 1 else ''} short of a full {level}"
        for (net, level), lost in sorted(worst.items())
    )


def explain_file(path: Path, process: str | None = None, cell: str | None = None) -> Explanation:
    """
    Read a SPICE or GDSII file and explain it. A layout needs the name of its process; `cell` picks one of several.

    Raises LayoutdrillError for a file that cannot be read, and says what to give.
    """
    kind = path.suffix.lower()
    if kind in NETLIST_FILES:
        return explain_netlist(read_spice_file(path, subckt=cell))
    if kind in LAYOUT_FILES:
        return _explain_layout(path, process, cell)
    raise LayoutdrillError(
        f'"{path.suffix or path.name}" is no known kind of file',
        where=Where(str(path)),
        todo=f"give a netlist ({', '.join(NETLIST_FILES)}) or a layout ({', '.join(LAYOUT_FILES)})",
    )


def _explain_layout(path: Path, process: str | None, cell: str | None) -> Explanation:
    from layoutdrill.layout.files import read_layout  # noqa: PLC0415 - a netlist has no layout

    if process is None:
        raise LayoutdrillError("a layout needs its process", where=Where(str(path)), todo="add --process NAME")
    made = load_process(process)
    return explain_layout(read_layout(path, made, cell), made)


def explain_layout(layout: Layout, process: Process) -> Explanation:
    """Extract a layout and explain its netlist; the drawing comes along for pictures."""
    from layoutdrill.extract import extract  # noqa: PLC0415 - a netlist has no layout

    extraction = extract(layout, process)
    return replace(explain_netlist(extraction.netlist), layout=layout, extraction=extraction, process=process)


def _lines(e: Explanation) -> list[str]:
    r = e.recognition
    c = e.counts
    also = f" (also: {', '.join(r.also)})" if r.also else ""
    lines = [f"{e.netlist.name}: {r.term}{also}"]
    depletion = f", {c.depletion} of them depletion" if c.depletion else ""
    fingers = f" in {c.fingers} fingers" if c.fingers != c.transistors else ""
    others = f", {plural(c.elements, 'other device')}" if c.elements else ""
    counted = f"{plural(c.transistors, 'transistor')}{fingers} ({c.n} n, {c.p} p{depletion})"
    lines.append(f"{counted}, {plural(c.nets, 'net')}{others}")
    lines += _slip_lines(e) if e.slips else []
    lines += ["", "Ports"]
    for port in r.ports:
        partner = f", complement of {port.complement_of}" if port.complement_of else ""
        lines.append(f"  {port.net}: {port.role}{partner}")
    lines += ["", "Structures"]
    lines += [line for s in r.structures for line in s.text(1).split("\n")] or ["  none"]
    lines += ["", "Function", *_function_lines(e)]
    if e.table is not None:
        lines += ["", "Table (Z floating, X not known, ! a fight)"]
        lines += ["  " + line for line in e.table.text().rstrip().split("\n")]
    lines += [] if e.slips else _slip_lines(e)
    if e.extraction is not None and e.extraction.findings:
        lines += ["", "On the drawing", *(f"  {f.kind}: {f.text}" for f in e.extraction.findings)]
    notes = [*r.notes, *e.remarks]
    if notes:
        lines += ["", "Notes", *(f"  {note}" for note in notes)]
    return lines


def _slip_lines(e: Explanation) -> list[str]:
    """Say the slips: first where there are any, as everything else may rest on them."""
    told = [f"  {slip.kind}: {slip.text}" + (f"; {slip.repair}" if slip.repair else "") for slip in e.slips]
    return ["", "Slips", *(told or ["  none found"])]


def _function_lines(e: Explanation) -> list[str]:
    lines = [f"  {equation}" for equation in e.functions]
    if e.behaviour is not None:
        memory = str(e.behaviour.memory)
        if e.behaviour.memory is Memory.STATEFUL:
            most = "many" if e.apart else f"{'' if e.apart is None else 'at most '}{e.behaviour.most}"
            memory += f": {most} stable states; held on {', '.join(e.behaviour.holding)}"
            if e.behaviour.dynamic:
                memory += f"; by charge alone on {', '.join(e.behaviour.dynamic)}"
        lines.append(f"  {memory}")
    for store, taken, held in e.stores:
        if not (taken and held):
            lines.append(f"  {store.output} changes with {store.control}, and not with it alone: see the structures")
            continue
        verb, moment = ("becomes", f"at the {store.when} of") if store.kind == "flip-flop" else ("is", "while")
        level = "" if store.kind == "flip-flop" else f" is {store.when}"
        other = "stays" if held == store.output else f"{held}, where {store.output} is its value before"
        lines.append(f"  {store.output} {verb} {taken} {moment} {store.control}{level}, else {other}")
    lines += [f"  {words}" for words in e.poor]
    return lines or ["  see the structures"]


__all__ = ["Counts", "Explanation", "Slip", "explain_file", "explain_layout", "explain_netlist"]
