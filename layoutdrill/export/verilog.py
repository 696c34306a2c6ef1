"""
Write a hierarchy as structural Verilog (IEEE Std 1364-2001): a module for each block.

A block whose outputs are plain functions of its inputs, found by the simulator over every row, becomes assignments; any
other becomes bidirectional switches, pull-ups and pull-downs (clause 7). Loads and keepers are resistive, so that they
lose against drivers as they do on the chip. Charge stays on a net through a module of its own, `charge`, because not
every simulator has trireg nets; gates are read through buffers, which simulators of switches need. Every gate and
assignment takes one unit of time, so that loops of stores settle; it says nothing about the chip.
"""

import re

from layoutdrill.errors import LayoutdrillError
from layoutdrill.export.hierarchy import Block, Hierarchy, Place
from layoutdrill.netlist.model import Kind, Mode, Transistor
from layoutdrill.simulate.circuit import Circuit
from layoutdrill.simulate.expression import And, Const, Expression, Not, Or, Var, Xor
from layoutdrill.simulate.minimal import minimal
from layoutdrill.simulate.strength import DRIVER
from layoutdrill.simulate.supplies import Supplies
from layoutdrill.simulate.table import table

MOST_INPUTS = 6
_CHARGE = """
// Keeps the last level of a net that nothing drives.
module charge (inout net);
  reg kept;
  always @(net) if (net === 1'b0 || net === 1'b1) kept <= net;
  assign (weak1, weak0) net = kept;
endmodule
"""
_WORD = re.compile(r"[A-Za-z_][A-Za-z0-9_]*\Z")
_RESERVED = {
    "always", "and", "assign", "begin", "buf", "case", "default", "else", "end", "endcase", "endmodule", "for",
    "if", "initial", "inout", "input", "integer", "module", "nand", "negedge", "nmos", "nor", "not", "or",
    "output", "pmos", "posedge", "pulldown", "pullup", "real", "reg", "rtran", "rtranif0", "rtranif1", "supply0",
    "supply1", "table", "task", "time", "tran", "tranif0", "tranif1", "tri", "tri0", "tri1", "trireg", "wait",
    "wand", "while", "wire", "wor", "xnor", "xor",
}  # fmt: skip


def verilog_text(hierarchy: Hierarchy) -> str:
    """Return the modules, parts before wholes; the last one is the circuit."""
    writer = _Writer(hierarchy)
    modules = [writer.module(block) for block in hierarchy.blocks]
    head = f"// {hierarchy.top.name}: {len(hierarchy.top.netlist.transistors)} transistors, as they were recognised\n"
    return head + (_CHARGE if writer.keeps else "") + "".join(modules)


class _Writer:
    def __init__(self, hierarchy: Hierarchy) -> None:
        self.hierarchy = hierarchy
        self.rails = frozenset(hierarchy.rails)
        self.ports = {block.name: block.ports for block in hierarchy.blocks}
        self.keeps = False
        self.ways: dict[str, dict[str, str]] = {}  # of each block's ports: input, output, inout
        whole = hierarchy.top.netlist
        circuit = Circuit(whole, (), Supplies(hierarchy.high, self.rails - hierarchy.high))
        self.weak = {name for name, strength in circuit.strengths.items() if max(strength) < DRIVER}

    def module(self, block: Block) -> str:
        functions = self.functions(block)
        ways = self.ways[block.name] = self.directions(block, functions)
        ports = [f"{way} {_word(port)}" for port, way in ways.items()]
        if functions is not None:
            body = [f"  assign #1 {_word(port)} = {_text(value)};" for port, value in functions.items()]
        else:
            body = self.switches(block)
        title = f"\n// {block.term}\n" if block.term else "\n"
        return f"{title}module {_word(block.name)} ({', '.join(ports)});\n" + "\n".join([*body, "endmodule"]) + "\n"

    def directions(self, block: Block, functions: dict[str, Expression] | None) -> dict[str, str]:
        """Say which way each port goes: in where only gates are on it, out where functions alone drive it."""
        ends = {end for t in block.netlist.transistors for end in t.ends}
        ends |= {node for e in block.netlist.elements for node in e.nodes}
        loose = {end for t in block.transistors for end in t.ends} | {n for e in block.elements for n in e.nodes}
        inside = {net: way for place in block.places for net, way in self.ways_of(place) if way != "input"}
        loose |= {net for place in block.places for net, way in self.ways_of(place) if way == "inout"}
        ways = {}
        for port in block.ports:
            out = port in functions if functions is not None else port in inside and port not in loose
            ways[port] = "input" if port not in ends else "output" if out else "inout"
        return ways

    def ways_of(self, place: Place) -> list[tuple[str, str]]:
        return [(place.joined[port], way) for port, way in self.ways[place.block].items()]

    def functions(self, block: Block) -> dict[str, Expression] | None:
        """Return the block's outputs as functions of its other ports, or None where it is not all functions."""
        if (
            block.places
            or block.elements
            or any(t.name in self.weak and self.is_feedback(t) for t in block.transistors)
        ):
            return None
        ends = {end for t in block.transistors for end in t.ends}
        gates = {t.gate for t in block.transistors}
        outputs = [port for port in block.ports if port in ends]
        inputs = [port for port in block.ports if port not in ends]
        if not outputs or not inputs or len(inputs) > MOST_INPUTS or not set(inputs) <= gates:
            return None
        rails = {net: int(net in self.hierarchy.high) for net in self.rails if net in block.netlist.nets}
        try:
            rows = table(block.netlist, inputs, outputs, rails)
        except LayoutdrillError:
            return None
        of_output = {}
        for output in outputs:
            mask = rows.mask(output)
            if mask is None:
                return None
            of_output[output] = minimal(mask, tuple(inputs), 0)
        return of_output

    def is_feedback(self, t: Transistor) -> bool:
        """Tell whether a transistor is weak and no load: a keeper."""
        return t.name in self.weak and t.gate not in self.rails and t.gate not in t.ends and t.mode is Mode.ENHANCEMENT

    def switches(self, block: Block) -> list[str]:
        used = {net for t in block.transistors for net in (t.gate, *t.ends)} | {
            n for e in block.elements for n in e.nodes
        }
        used |= {net for place in block.places for net in place.joined.values()}
        rails = [rail for rail in self.hierarchy.rails if rail in used]
        lines = [f"  supply{int(rail in self.hierarchy.high)} {_word(rail)};" for rail in rails]
        inner = sorted(used - self.rails - set(block.ports))
        lines += [f"  wire {_word(net)};" for net in inner]
        switched = [t for t in block.transistors if t.gate not in self.rails and t.mode is Mode.ENHANCEMENT]
        read = {gate: f"on_{at}" for at, gate in enumerate(sorted({(t.gate, t.kind) for t in switched}), 1)}
        lines += [f"  wire {name}; buf #{_DELAYS[kind]} ({name}, {_word(net)});" for (net, kind), name in read.items()]
        kept = self.kept(block, inner)
        self.keeps = self.keeps or bool(kept)
        lines += [f"  charge keep_{at} ({_word(net)});" for at, net in enumerate(kept, 1)]
        lines += [self.switch(t, read) for t in block.transistors if t.source != t.drain]
        for e in block.elements:
            if e.kind == "resistor":
                lines.append(f"  rtran ({_word(e.nodes[0])}, {_word(e.nodes[1])});  // {e.name}")
            else:
                lines.append(f"  // {e.name}: {e.kind} between {' and '.join(e.nodes)}, no switch")
        for place in block.places:
            joined = ", ".join(f".{_word(port)}({_word(place.joined[port])})" for port in self.ports[place.block])
            lines.append(f"  {_word(place.block)} {_word(place.name)} ({joined});")
        return lines

    def kept(self, block: Block, inner: list[str]) -> list[str]:
        """Return the nets that begin here, are read by gates, and are driven through switches alone."""
        here = inner if block.term else [*inner, *block.ports]
        driven = {net for place in block.places for net, way in self.ways_of(place) if way == "output"}
        gates = {t.gate for t in block.netlist.transistors}
        ends = {end for t in block.netlist.transistors for end in t.ends}
        return [net for net in here if net in gates and net in ends and net not in driven]

    def switch(self, t: Transistor, read: dict[tuple[str, Kind], str]) -> str:
        weak = t.name in self.weak
        note = f"  // {t.name}"
        on = "1" if t.kind is Kind.N else "0"
        if t.mode is Mode.DEPLETION or (t.gate in self.rails and (t.gate in self.hierarchy.high) == (t.kind is Kind.N)):
            rail = next((end for end in t.ends if end in self.rails), None)
            if rail is None:
                return f"  rtran ({_word(t.source)}, {_word(t.drain)});{note}"
            net = t.drain if t.source == rail else t.source
            return f"  pull{'up' if rail in self.hierarchy.high else 'down'} ({_word(net)});{note}"
        gate = read.get((t.gate, t.kind)) or _word(t.gate)
        return f"  {'r' if weak else ''}tranif{on} ({_word(t.source)}, {_word(t.drain)}, {gate});{note}"


_DELAYS = {Kind.N: "(4, 1)", Kind.P: "(1, 4)"}
"""A switch opens later than another shuts, the clock's inverter included: else stores of two phases run together."""


def _word(name: str) -> str:
    """Return an identifier, escaped where it is no plain word."""
    return name if _WORD.match(name) and name not in _RESERVED else f"\\{''.join(name.split())} "


def _text(e: Expression) -> str:
    if isinstance(e, Const):
        return "1'b1" if e.value else "1'b0"
    if isinstance(e, Var):
        return _word(e.name)
    if isinstance(e, Not):
        return f"~{_text(e.term)}"
    sign = {And: " & ", Or: " | ", Xor: " ^ "}[type(e)]
    return "(" + sign.join(_text(term) for term in e.terms) + ")"
