"""
Name what stands at the lines of a memory: sense amplifiers, precharge, column multiplexers, cells of one transistor.

Forms as in textbooks of memory design (crossed pairs on a switched foot; two charging transistors and one between the
lines; a plate beside one access transistor), from memory.
"""

from layoutdrill.netlist.roles import Role
from layoutdrill.recognise.blocks.neighbours import Neighbours, replaced
from layoutdrill.recognise.model import Port, Structure
from layoutdrill.recognise.view import View
from layoutdrill.recognise.work import literal
from layoutdrill.simulate.expression import And

_SWITCHES = ("pass transistor", "transmission gate")
NAMED = ("sense amplifier", "precharge", "column multiplexer", "dynamic RAM cell", "ratioless shift register")
"""Wholes that are named by these forms, not by a function."""


def join_columns(view: View, structures: list[Structure]) -> list[Structure]:
    """Return the structures with what stands at a memory's lines joined."""
    result = structures
    steps = (_sense_amplifiers, _crossed_stages, _precharges, _column_switches, _one_transistor_cells, _cell_columns)
    for step in steps:
        result = step(view, result)
    return result


def _joined(view: View, term: str, parts: list[Structure], ports: list[Port], words: str) -> Structure:
    names = tuple(sorted({n for p in parts for n in p.transistors}, key=view.order.__getitem__))
    return Structure(term, names, tuple(ports), tuple(parts), words)


def _sense_amplifiers(view: View, structures: list[Structure]) -> list[Structure]:
    """Join two stages, each charged by the other's output and let go through it and one shared switch."""
    result = structures
    by_output = {s.nets(Role.OUTPUT)[0]: s for s in structures if s.term == "precharged gate" and s.nets(Role.OUTPUT)}
    for a, first in by_output.items():
        gate = view.gates.get(a)
        if gate is None or len(gate.controls) != 1 or len(gate.inputs) != 1:
            continue
        b = gate.controls[0]
        other = view.gates.get(b)
        if b not in by_output or other is None or view.place[a] > view.place[b]:
            continue
        if other.controls != (a,) or other.inputs != gate.inputs or not all(_footed(view, n) for n in (a, b)):
            continue
        ports = [Port(a, Role.BIT_LINE), Port(b, Role.BIT_LINE, a), Port(gate.inputs[0], Role.ENABLE)]
        words = f"drives {a} and {b} apart while {gate.inputs[0]} is active"
        parts = [first, by_output[b]]
        result = replaced(result, parts, _joined(view, "sense amplifier", parts, ports, words))
    return result


def _crossed_stages(view: View, structures: list[Structure]) -> list[Structure]:
    """Join two tri-state inverters on one enable, each of which reads the other, with what makes their nets equal."""
    result = structures
    stages = {s.nets(Role.OUTPUT)[0]: s for s in structures if s.term == "tri-state inverter" and s.nets(Role.OUTPUT)}
    for a, first in stages.items():
        b = first.nets(Role.INPUT)[0]
        second = stages.get(b)
        if second is None or second.nets(Role.INPUT) != (a,) or view.place[a] > view.place[b]:
            continue
        if set(first.nets(Role.ENABLE)) != set(second.nets(Role.ENABLE)):
            continue
        equal = [s for s in structures if s.term in _SWITCHES and set(s.nets(Role.SIGNAL)) == {a, b}]
        ports = [Port(a, Role.BIT_LINE), Port(b, Role.BIT_LINE, a)]
        ports += [Port(n, Role.ENABLE) for n in first.nets(Role.ENABLE)]
        ports += [Port(n, Role.CLOCK) for s in equal for n in s.nets(Role.ENABLE)]
        words = f"drives {a} and {b} apart while enabled"
        parts = [first, second, *equal]
        result = replaced(result, parts, _joined(view, "sense amplifier", parts, ports, words))
    return result


def _cell_columns(view: View, structures: list[Structure]) -> list[Structure]:
    """Join cells of one transistor on one line, or on the two lines of a sense amplifier, into columns."""
    lines: dict[str, list[Structure]] = {}
    for s in structures:
        if s.term == "dynamic RAM cell" and len(s.nets(Role.BIT_LINE)) == 1:
            lines.setdefault(s.nets(Role.BIT_LINE)[0], []).append(s)
    result = structures
    amplifiers = [s for s in structures if s.term == "sense amplifier" and set(s.nets(Role.BIT_LINE)) & set(lines)]
    for amplifier in amplifiers:
        cells = [c for n in amplifier.nets(Role.BIT_LINE) for c in lines.get(n, ())]
        if len(cells) > 1:
            parts = [*cells, amplifier]
            ports = [p for s in parts for p in s.ports]
            column = _joined(
                view, "column", parts, list({p.net: p for p in ports}.values()), "cells and their amplifier"
            )
            result = replaced(result, parts, column)
    return result


def _footed(view: View, net: str) -> bool:
    """Tell whether a stage's pull-down is two transistors in series."""
    lows = [form for (_, side), form in view.stages[net].pull.items() if side == "low"]
    return len(lows) == 1 and isinstance(lows[0], And) and len(lows[0].terms) == 2


def _precharges(view: View, structures: list[Structure]) -> list[Structure]:
    """Join two transistors from a rail to two nets with the one that joins these, all on one line."""
    result = structures
    near = Neighbours.of(view, structures)
    pulls = {
        (s.nets(Role.INPUT)[0], s.nets(Role.OUTPUT)[0]): s
        for s in structures
        if s.term in ("pull-up", "pull-down") and len(s.nets(Role.INPUT)) == 1 and s.nets(Role.OUTPUT)
    }
    for s in structures:
        ends, on = s.nets(Role.SIGNAL), s.nets(Role.ENABLE)
        if s.term != "pass transistor" or len(ends) != 2 or len(on) != 1:
            continue
        parts = [p for end in ends if (p := pulls.get((on[0], end))) is not None]
        if len(parts) == 2 and parts[0].term == parts[1].term:
            before = near.feeders([*parts, s], ("inverter",))
            clock = before[0].nets(Role.INPUT)[0] if len(before) == 1 else on[0]
            parts = [*parts, s, *(before if len(before) == 1 else ())]
            ports = [Port(clock, Role.CLOCK), *(Port(end, Role.BIT_LINE) for end in ends)]
            words = f"charges {ends[0]} and {ends[1]} and makes them equal"
            result = replaced(result, parts, _joined(view, "precharge", parts, ports, words))
    return result


def _column_switches(view: View, structures: list[Structure]) -> list[Structure]:
    """Join two multiplexers of single pass transistors on the same selects, whose outputs nothing here reads."""
    result = structures
    rows: dict[tuple[str, ...], list[Structure]] = {}
    for s in structures:
        out = s.nets(Role.OUTPUT)
        plain = all(p.term == "pass transistor" for p in s.parts) and len(s.parts) == len(s.transistors)
        if not s.term.endswith(":1 multiplexer") or not plain or len(out) != 1:
            continue
        lines = [*s.nets(Role.INPUT), *out]
        within = all(len(view.links_at.get(n, ())) == (len(s.parts) if n in out else 1) for n in lines)
        if within and not any(view.readers.get(n) or n in view.gates for n in lines):
            rows.setdefault(tuple(sorted(s.nets(Role.SELECT))), []).append(s)
    for selects, pair in rows.items():
        if len(pair) != 2:
            continue
        ports = [Port(n, Role.SELECT) for n in selects]
        ports += [Port(n, Role.BIT_LINE) for s in pair for n in s.nets(Role.INPUT)]
        ports += [Port(n, Role.SIGNAL) for s in pair for n in s.nets(Role.OUTPUT)]
        outs = " and ".join(n for s in pair for n in s.nets(Role.OUTPUT))
        whole = _joined(view, "column multiplexer", pair, ports, f"joins one pair of lines at a time to {outs}")
        result = replaced(result, pair, whole)
    return result


def _one_transistor_cells(view: View, structures: list[Structure]) -> list[Structure]:
    """Join an access transistor with the plate behind it: a net that they alone touch."""
    result = structures
    rails = view.prepared.supplies.nets
    plates: dict[str, Structure | None] = {
        n: s for s in structures if s.term == "capacitor" and set(s.nets(Role.SIGNAL)) & rails
        for n in s.nets(Role.SIGNAL) if n not in rails and n not in view.ports
    }  # fmt: skip
    plates |= {
        n: None for e in view.netlist.elements if e.kind == "capacitor"
        for n in e.nodes[:2] if n not in rails and n not in view.ports
    }  # fmt: skip
    for net, plate in plates.items():
        links = [view.links[k] for k in view.links_at.get(net, ())]
        if len(links) != 1 or literal(links[0].when) is None or net in view.gates or view.readers.get(net):
            continue
        names = set(view.names(links[0].members))
        access = [s for s in result if set(s.transistors) == names]
        if len(access) != 1 or access[0].term != "pass transistor":
            continue
        line, word = links[0].other(net), links[0].controls[0]
        ports = [Port(word, Role.WORD_LINE), Port(line, Role.BIT_LINE)]
        words = f"holds a bit by the charge on {net}, which {word} lets to {line}"
        parts = [access[0], *([plate] if plate is not None else [])]
        result = replaced(result, parts, _joined(view, "dynamic RAM cell", parts, ports, words))
    return result
