"""Find what stands at the lines of a memory before gates are looked for there: precharge, write drivers, 3T cells."""

from layoutdrill.netlist.model import Kind
from layoutdrill.netlist.roles import Role
from layoutdrill.recognise.gates import Gate
from layoutdrill.recognise.model import Port, Structure
from layoutdrill.recognise.view import View
from layoutdrill.recognise.work import Work, literal
from layoutdrill.simulate.expression import And, Expression, Not, Var, column_of, evaluated, truth, variables

FEWEST = 2
"""So many cells on a net make it a bit line."""

MOST_AGREEING = 6
"""Inputs of a C-element that is one gate."""


def find_dynamic_cells(work: Work) -> None:
    """
    Take cells of three transistors: one writes a net that stores, one reads it, one lets the reading out.

    The stacks that read, on one line, are the cells of a column; what charges the line stands beside them.
    """
    view = work.view
    for line in list(view.gates):
        gate = work.gate(line)
        if gate is None or gate.kind not in (
            "precharged",
            "pull-down",
            "pull-up",
            "ratioed",
            "push-pull",
            "clocked",
            "torn",
        ):
            continue
        cells = [cell for part in view.stages[line].parts if (cell := _cell(work, part[2], part[3])) is not None]
        if len(cells) < FEWEST or len({c[0] for c in cells}) < len(cells):
            continue
        taken: set[int] = set()
        links: set[int] = set()
        parts = []
        for store, word, link, members in cells:
            write = view.links[link]
            ports = (
                Port(write.controls[0], Role.WORD_LINE), Port(write.other(store), Role.BIT_LINE),
                Port(word, Role.WORD_LINE), Port(line, Role.BIT_LINE),
            )  # fmt: skip
            names = (*view.names(write.members), *view.names(members))
            words = f"holds a bit by the charge on {store}; {write.controls[0]} writes it, {word} reads it"
            parts.append(Structure("dynamic RAM cell", names, ports, (), words))
            taken |= members
            links.add(link)
        rest = set(gate.members) - taken
        if rest:
            parts.append(_charge(view, rest, (line,)))
        ports_all = [p for part in parts for p in part.ports]
        work.build("column", {line}, links, ports_all, "cells on one read line", parts=tuple(parts))


def _cell(work: Work, when: Expression, members: frozenset[int]) -> tuple[str, str, int, set[int]] | None:
    """Return (net that stores, word line that reads, link that writes, switches) of one branch, or None."""
    view = work.view
    if not isinstance(when, And) or len(when.terms) != 2:
        return None
    nets = [plain[0] for t in when.terms if (plain := literal(t)) is not None]
    for store, word in (nets, nets[::-1]) if len(nets) == 2 else ():
        ways = view.links_at.get(store, [])
        alone = len(ways) == 1 and view.readers.get(store, []) and store not in view.gates
        if alone and store not in view.ports and ways[0] in work.free_links:
            link = view.links[ways[0]]
            if link.term == "pass transistor" and literal(link.when):
                return store, word, ways[0], set(members)
    return None


def _charge(view: View, members: set[int], lines: tuple[str, ...]) -> Structure:
    """Return what charges or loads bit lines."""
    controls = {view.prepared.switches[i].gate for i in members} - view.prepared.supplies.nets - set(lines)
    ports = (*(Port(n, Role.CLOCK) for n in view.ordered(controls)), *(Port(n, Role.BIT_LINE) for n in lines))
    term = "precharge" if controls else "bit-line load"
    words = f"charges {' and '.join(lines)}" + (f" on {', '.join(view.ordered(controls))}" if controls else "")
    return Structure(term, view.names(members), ports, (), words)


def find_columns(work: Work) -> None:
    """Take, at the two lines of a column of static cells, what charges them and what writes them."""
    view = work.view
    pairs: dict[tuple[str, str], int] = {}
    for built in work.built:
        if built.structure.term == "static RAM cell":
            lines = built.structure.nets(Role.BIT_LINE)
            if len(lines) == 2:
                pair = (lines[0], lines[1]) if view.place[lines[0]] < view.place[lines[1]] else (lines[1], lines[0])
                pairs[pair] = pairs.get(pair, 0) + 1
    for (a, b), count in pairs.items():
        gates = {n for n in (a, b) if work.gate(n) is not None}
        if count < FEWEST or not gates:
            continue
        charge: set[int] = set()
        write: set[int] = set()
        reads: set[str] = set()
        for net in gates:
            stage = view.stages[net]
            charge |= {i for side in stage.loads.values() for i in side}
            for _, side, when, members in stage.parts:
                drives = isinstance(when, And) or (side == "low" and view.one_kind is not Kind.P)
                if drives:
                    write |= members
                    reads |= set(variables(when))
                else:
                    charge |= members
        links = {
            k for n in (a, b) for k in view.links_at.get(n, ())
            if k in work.free_links and view.steady(view.links[k].other(n)) and view.links[k].sink == n
        }  # fmt: skip
        parts = []
        if charge:
            parts.append(_charge(view, charge, (a, b)))
        inverters = _inverters(work, reads | {view.links[k].source for k in links})
        if write or links:
            names = (*view.names(write), *(n for k in sorted(links) for n in view.names(view.links[k].members)))
            names += tuple(n for g in inverters for n in view.names(view.gates[g].members))
            sources = {view.gates[g].inputs[0] for g in inverters}
            shown = [n for n in view.ordered(reads | sources) if n not in inverters]
            ports = (*(Port(n, Role.INPUT) for n in shown), Port(a, Role.BIT_LINE), Port(b, Role.BIT_LINE))
            parts.append(Structure("write driver", names, ports, (), f"pulls {a} or {b} down to write"))
        if parts:
            ports_all = [p for part in parts for p in part.ports]
            work.build(
                "column", gates | inverters, links, ports_all, "charges and writes two bit lines", parts=tuple(parts)
            )


def _inverters(work: Work, nets: set[str]) -> set[str]:
    """Return the free inverters among the drivers of some nets that feed nothing else."""
    view = work.view
    outputs = set()
    for net in nets:
        gate = work.gate(net)
        if gate is not None and gate.inverter_of and net not in view.ports and work.uses(net) <= 2:
            outputs.add(net)
    return outputs


def find_c_elements(work: Work) -> None:
    """Take a stage that goes high when all its inputs are, low when none is, and holds between: a C-element."""
    view = work.view
    for net, stage in view.stages.items():
        gate = work.gate(net)
        if gate is not None and gate.kind in ("static", "ratioed"):
            _fed_back(work, net, gate)
            if work.gate(net) is gate:
                _held_by_gates(work, net, gate)
        if gate is None or gate.kind != "torn":
            continue
        keepers = {r for r in view.readers.get(net, ()) if _keeps(work, net, r)}
        parts = [p for p in stage.parts if not (set(variables(p[2])) <= keepers and len(p[3]) == 1)]
        lows = [w for kind, side, w, _ in parts if kind is Kind.N and side == "low"]
        highs = [w for kind, side, w, _ in parts if kind is Kind.P and side == "high"]
        inputs = _all_of(lows[0], inverted=False) if len(lows) == len(highs) == 1 else None
        if not inputs or len(inputs) < 2 or inputs != _all_of(highs[0], inverted=True):
            continue
        inside = {net, *keepers}
        out = next(iter(sorted(keepers, key=view.place.__getitem__)), net)
        ports = [Port(n, Role.INPUT) for n in view.ordered(inputs)] + [Port(out, Role.OUTPUT)]
        forcing = [n for k in sorted(keepers) for n in view.gates[k].inputs if n != net]
        ports = [*ports[:-1], *(Port(n, Role.RESET) for n in dict.fromkeys(forcing)), ports[-1]]
        words = f"{out} goes to 1 when {', '.join(view.ordered(inputs))} are all 1, to 0 when all are 0, else holds"
        work.build("C-element", inside, set(), ports, words)


def _keeps(work: Work, net: str, reader: str) -> bool:
    """Tell whether a stage is the inverter of a net, or a gate that inverts it unless its other input forces it."""
    gate = work.gate(reader)
    if gate is None:
        return False
    forced = gate.term in ("NOR2", "NAND2") and net in gate.inputs and gate.kind in ("static", "ratioed")
    back = reader in {n for i in work.view.stages[net].members if (n := work.view.prepared.switches[i].gate)}
    return gate.inverter_of == net or (forced and back)


def _fed_back(work: Work, net: str, gate: Gate) -> None:
    """Take a gate that its own inverted output holds, until all of its inputs agree, for a C-element."""
    view = work.view
    backs = [
        n for n in gate.inputs if n in view.gates and view.gates[n].inverter_of == net and work.gate(n) is not None
    ]
    others = [n for n in gate.inputs if n not in backs]
    if len(backs) != 1 or not 2 <= len(others) <= MOST_AGREEING:
        return
    size = 1 << len(others)
    stays_low = truth(gate.form, (backs[0], *others))  # rows of a low output first, the last row in the highest bit
    if stays_low != ((1 << size - 1) - 1) | 1 << size:
        return
    (out,) = backs
    ports = [Port(n, Role.INPUT) for n in view.ordered(others)] + [Port(out, Role.OUTPUT)]
    words = f"{out} goes to 1 when {', '.join(view.ordered(others))} are all 1, to 0 when all are 0, else holds"
    work.build("C-element", {net, out}, set(), ports, words)


def _held_by_gates(work: Work, net: str, gate: Gate) -> None:
    """Take a gate of gates that with its own output agrees with most of its inputs, all of two, for a C-element."""
    view = work.view
    fronts = [n for n in gate.inputs if view.steady(n) and work.gate(n) is not None and len(view.gates[n].inputs) > 1]
    if len(fronts) != len(gate.inputs) or not 3 <= len(fronts) <= MOST_AGREEING:
        return
    others = list(dict.fromkeys(i for n in fronts for i in view.gates[n].inputs if i != net))
    if len(others) != len(fronts) - 1 or any(set(view.readers.get(n, ())) != {net} for n in fronts):
        return
    names = (net, *others)
    columns = {n: column_of(i, len(names)) for i, n in enumerate(names)}
    full = (1 << (1 << len(names))) - 1
    inner = {n: evaluated(view.gates[n].form, columns, full) for n in fronts}
    size = 1 << len(others)
    held = ((1 << size - 1) - 1 << 1) << size  # while it is 1: for all rows but that of zeros
    if evaluated(gate.form, inner, full) != held | 1 << size - 1:
        return
    ports = [Port(n, Role.INPUT) for n in view.ordered(others)] + [Port(net, Role.OUTPUT)]
    words = f"{net} goes to 1 when {', '.join(view.ordered(others))} are all 1, to 0 when all are 0, else holds"
    work.build("C-element", {net, *fronts}, set(), ports, words)


def _all_of(form: Expression, *, inverted: bool) -> frozenset[str] | None:
    """Return the nets of a product of plain, or of inverted, literals."""
    terms = form.terms if isinstance(form, And) else (form,)
    nets = []
    for t in terms:
        if inverted and isinstance(t, Not) and isinstance(t.term, Var):
            nets.append(t.term.name)
        elif not inverted and isinstance(t, Var):
            nets.append(t.name)
        else:
            return None
    return frozenset(nets)
