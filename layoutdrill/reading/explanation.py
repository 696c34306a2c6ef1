"""All that is found out about a netlist, and how it is told: as plain text and as JSON."""

import json
from collections.abc import Iterator
from typing import Any

from layoutdrill.errors import plural
from layoutdrill.extract.model import Extraction
from layoutdrill.face import Face
from layoutdrill.layout.model import Layout
from layoutdrill.netlist.model import Netlist
from layoutdrill.process import Process
from layoutdrill.reading.notes import NONE, Notes
from layoutdrill.reading.slips import Slip
from layoutdrill.recognise.model import Recognition, Structure
from layoutdrill.recognise.outline import DEPTH, Entry, outline, outline_lines
from layoutdrill.simulate.states import Behaviour, Memory, StoreBehaviour
from layoutdrill.simulate.table import Table
from layoutdrill.value import value

MOST_PORTS = 24


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
    truth table (None where there is memory, or there are too many inputs; then `tables` has those of the outputs that
    see few of them), `poor` the outputs that do not reach their rail. `unconfirmed` says of which outputs no equation
    is told and why, `undone` what would have taken too long, `accepted` the slips that the reader's notes take for
    none, with the reason. `apart` is the number of stores left out where they were simulated one by one. `layout`,
    `extraction` and `process` are there when the file was a layout; of marks on a photograph `face`, without `layout`.
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
    face: Face | None = None
    apart: int | None = None
    undone: tuple[str, ...] = ()
    accepted: tuple[tuple[Slip, str], ...] = ()
    notes: Notes = NONE
    thorough: bool = False
    tables: tuple[Table, ...] = ()
    unconfirmed: tuple[str, ...] = ()

    @property
    def name(self) -> str:
        return self.recognition.term

    def text(self, depth: int = DEPTH) -> str:
        """Return the explanation in plain text, its outline to a depth."""
        return "\n".join(lines(self, depth)) + "\n"

    @property
    def heading(self) -> str:
        """What the netlist is, in any case: one thing, or what it is made of."""
        return self.recognition.heading

    @property
    def memory(self) -> str:
        """What it keeps, in a word or in words; "" where that was not worked out. Only an enable earns “tri-state”."""
        if self.behaviour is None:
            return ""
        kept = self.behaviour.memory
        if kept is Memory.TRI_STATE and not any("tri-state" in s.term for s in self.recognition.structures):
            return "without memory; for some inputs nothing drives an output"
        return str(kept)

    def json(self) -> str:
        """Return the explanation as JSON text."""
        return json.dumps(self.data(), indent=2, ensure_ascii=False)

    def data(self) -> dict[str, Any]:
        """Return the explanation as plain values."""
        r = self.recognition
        return {
            "netlist": self.netlist.name,
            "heading": r.heading,
            "name": r.term,
            "outline": [_entry(e) for e in outline(r.structures)],
            "also": list(r.also),
            "ports": [{"net": p.net, "role": str(p.role), "complement_of": p.complement_of} for p in r.ports],
            "structures": [_structure(s) for s in r.structures],
            "functions": list(self.functions),
            "memory": self.memory or None,
            "holding": list(self.behaviour.holding) if self.behaviour else [],
            "stores": [
                {"output": s.output, "kind": s.kind, "control": s.control, "when": s.when, "next": taken,
                 "else": held}
                for s, taken, held in self.stores
            ],
            "table": _table(self.table) if self.table else None,
            "tables": [_table(t) for t in self.tables],
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
            "accepted": [{"kind": slip.kind, "text": slip.text, "because": why} for slip, why in self.accepted],
            "no equation": list(self.unconfirmed),
            "not worked out": list(self.undone),
            "notes": [*r.notes, *self.remarks],
        }  # fmt: skip


def _entry(e: Entry) -> dict[str, Any]:
    return {"term": e.term, "count": e.count, "transistors": e.size, "parts": [_entry(p) for p in e.parts]}


def _table(t: Table) -> dict[str, Any]:
    return {
        "inputs": list(t.inputs),
        "outputs": list(t.outputs),
        "rows": [["".join(map(str, row.inputs)), "".join(row.outputs)] for row in t.rows],
    }


def _structure(s: Structure) -> dict[str, Any]:
    return {
        "term": s.term,
        "transistors": list(s.transistors),
        "ports": [{"net": p.net, "role": str(p.role), "complement_of": p.complement_of} for p in s.ports],
        "function": s.function,
        "notes": list(s.notes),
        "parts": [_structure(p) for p in s.parts],
    }


def lines(e: Explanation, depth: int) -> list[str]:
    """Return an explanation line by line."""
    r, c = e.recognition, e.counts
    names = [name for name in r.also if name != r.heading]
    also = f" (also: {', '.join(names)})" if names else ""
    depletion = f", {c.depletion} of them depletion" if c.depletion else ""
    fingers = f" in {c.fingers} fingers" if c.fingers != c.transistors else ""
    others = f", {plural(c.elements, 'other device')}" if c.elements else ""
    counted = f"{plural(c.transistors, 'transistor')}{fingers} ({c.n} n, {c.p} p{depletion})"
    text = [f"{e.netlist.name}: {r.heading}{also}", f"{counted}, {plural(c.nets, 'net')}{others}"]
    text += ["", "Slips", *slip_lines(e)]
    text += ["", "Outline"]
    text += [f"  {line}" for line in outline_lines(outline(r.structures), depth)] or ["  nothing"]
    text += [f"  left over: {name}" for name in ([", ".join(r.leftover)] if r.leftover else [])]
    text += [f"  group {name}: {plural(len(names), 'device')}" for name, names in e.notes.groups.items()]
    text += ["", "Function", *function_lines(e)]
    if e.table is not None:
        text += ["", "Table (Z floating, X not known, ! a fight)"]
        text += ["  " + line for line in e.table.text().rstrip().split("\n")]
    for part in e.tables:
        text += ["", f"Table of {', '.join(part.outputs)}", *("  " + row for row in part.text().rstrip().split("\n"))]
    text += ["", "Ports", *_port_lines(e)]
    if e.extraction is not None and e.extraction.findings:
        text += [
            "",
            "On the drawing" if e.face is None else "On the photograph",
            *(f"  {f.kind}: {f.text}" for f in e.extraction.findings),
        ]
    notes = [*r.notes, *e.remarks]
    if notes:
        text += ["", "Notes", *(f"  {note}" for note in notes)]
    return text


def _port_lines(e: Explanation) -> Iterator[str]:
    ports = e.recognition.ports
    drains = set(map(e.notes.called, e.notes.open_drain))
    for port in ports[:MOST_PORTS]:
        partner = f", complement of {port.complement_of}" if port.complement_of else ""
        noted = ", an open drain as noted" if port.net in drains else ""
        yield f"  {port.net}: {port.role}{partner}{noted}"
    if len(ports) > MOST_PORTS:
        yield f"  and {len(ports) - MOST_PORTS} more"


def slip_text(slip: Slip, e: Explanation) -> str:
    """Return a slip in one line, with where its first device lies where the notes say so."""
    at = next((e.notes.places[name] for name in slip.transistors if name in e.notes.places), None)
    where = f" (at {at[0]:g}, {at[1]:g})" if at else ""
    return f"{slip.kind}: {slip.text}{where}" + (f"; {slip.repair}" if slip.repair else "")


def slip_lines(e: Explanation) -> list[str]:
    """Return the slips, and those that the notes accept."""
    text = [f"  {slip_text(slip, e)}" for slip in e.slips] or ["  none found"]
    return text + [f"  accepted, {why}: {slip.kind}: {slip.text}" for slip, why in e.accepted]


def function_lines(e: Explanation) -> list[str]:
    """Return what the netlist does, and what was not worked out."""
    text = [f"  {equation}" for equation in e.functions]
    if e.behaviour is not None:
        memory = e.memory
        if e.behaviour.memory is Memory.STATEFUL:
            most = "many" if e.apart else f"{'' if e.apart is None else 'at most '}{e.behaviour.most}"
            memory += f": {most} stable states; held on {', '.join(e.behaviour.holding)}"
            if e.behaviour.dynamic:
                memory += f"; by charge alone on {', '.join(e.behaviour.dynamic)}"
        text.append(f"  {memory}")
    for store, taken, held in e.stores:
        if not (taken and held):
            text.append(f"  {store.output} changes with {store.control}, and not with it alone: see the outline")
            continue
        verb, moment = ("becomes", f"at the {store.when} of") if store.kind == "flip-flop" else ("is", "while")
        level = "" if store.kind == "flip-flop" else f" is {store.when}"
        other = "stays" if held == store.output else f"{held}, where {store.output} is its value before"
        text.append(f"  {store.output} {verb} {taken} {moment} {store.control}{level}, else {other}")
    text += [f"  {words}" for words in e.poor]
    text += [f"  no equation of {words}" for words in e.unconfirmed]
    more = "" if e.thorough else " (--thorough goes on)"
    text += [f"  not worked out: {what}{more}" for what in e.undone]
    return text or ["  see the outline"]
