"""See a netlist as gates and switches: split into stages, each understood, complements traced, switches paired."""

from collections import defaultdict

from layoutdrill.netlist.model import Kind, Netlist
from layoutdrill.recognise.clocked import tell_clocked
from layoutdrill.recognise.directing import direct
from layoutdrill.recognise.gates import Gate, Literal, substitute, understand
from layoutdrill.recognise.shared import overrides, restored, share, stacks, tristates, without_keeper
from layoutdrill.recognise.stages import Pass, Stage, split
from layoutdrill.recognise.switches import Prepared, prepare
from layoutdrill.recognise.view import Link, View
from layoutdrill.simulate.expression import Not, Var, variables
from layoutdrill.simulate.supplies import Supplies


def look(netlist: Netlist, supplies: Supplies, place: dict[str, int] | None = None, *, brief: bool = False) -> View:
    """
    Build the view of a netlist; `place` orders its nets, as they stand in it where none is given.

    `brief`: of what is no proper gate, nothing more is wanted.
    """
    prepared = prepare(netlist, supplies)
    stages, passes = split(prepared)
    kinds = {s.kind for s in prepared.switches}
    one_kind = (
        next(iter(kinds)) if len(kinds) == 1 and any(s.loads or len(s.pull) > 1 for s in stages.values()) else None
    )
    roots: dict[str, Literal] = {}
    gates = {net: understand(stage, roots, one_kind=one_kind, brief=brief) for net, stage in stages.items()}
    if one_kind is not None:
        _trace(gates, roots)  # a pair driven by a net and its complement has no phase
        tell_clocked(prepared, stages, gates, roots, one_kind)
    _trace(gates, roots)
    shifted = _trace_shifters(stages, gates, roots)
    assumed = _assume(prepared, stages, gates, passes, roots)
    if roots:
        for net, stage in stages.items():
            if gates[net].kind == "torn" and net not in shifted:
                gates[net] = understand(stage, roots, one_kind=one_kind, brief=brief)
            if gates[net].kind == "torn" and net not in shifted and (kept := without_keeper(stage, gates)) is not None:
                gates[net] = restored(understand(kept[0], roots, one_kind=one_kind), stage, kept[1])
        _trace(gates, roots)
    _trace_resistors(netlist, gates, roots)
    links = _links(passes, roots)
    view = View(prepared, stages, gates, links, roots, assumed, one_kind=one_kind)
    view.place = place or {net: i for i, net in enumerate(netlist.nets)}
    view.order = {t.name: i for i, t in enumerate(netlist.transistors)}
    view.ports = frozenset(netlist.ports)
    for net, stage in stages.items():
        if stacks := tristates(stage, gates[net], roots):
            view.tri[net] = stacks
            if len(stacks) > 1 and (forced := overrides(stage)):
                view.overrides[net] = forced
                share(gates[net], stacks, forced)
    for net, gate in gates.items():
        if gate.term == "tie cell" and net in view.ports:
            gate.kind, gate.term = "load", "pull-up" if stages[net].loads.get("high") else "pull-down"
    _index(view)
    direct(view)
    return view


def _trace(gates: dict[str, Gate], roots: dict[str, Literal]) -> None:
    """Follow inverters from each net to where the signal comes from; loops end at themselves."""
    source = {net: before for net, gate in gates.items() if (before := gate.inverter_of) is not None}
    traced: dict[str, Literal | None] = {}  # None: the net's way back ends in a loop
    for net in gates:
        chain: list[str] = []
        here = net
        seen: set[str] = set()
        while here not in seen and here not in traced and here in source:
            seen.add(here)
            chain.append(here)
            here = source[here]
        if here in seen or traced.get(here, (here, True)) is None:
            traced.update(dict.fromkeys(chain))
            continue
        if not chain:
            continue
        top, straight = traced.get(here) or roots.get(here, (here, True))
        for item in reversed(chain):
            straight = not straight
            traced[item] = roots[item] = (top, straight)


def _trace_resistors(netlist: Netlist, gates: dict[str, Gate], roots: dict[str, Literal]) -> None:
    """Follow each resistor from a net that a gate drives to a port that no transistor meets."""
    if not netlist.elements:
        return
    met = {net for t in netlist.transistors for net in t.terminals}
    pads = set(netlist.ports) - met
    for e in netlist.elements:
        for net, pad in (e.nodes[:2], e.nodes[1::-1]):
            if e.kind == "resistor" and net in gates and pad in pads:
                roots[pad] = roots.get(net, (net, True))


def _trace_shifters(stages: dict[str, Stage], gates: dict[str, Gate], roots: dict[str, Literal]) -> set[str]:
    """
    Trace two nets that hold each other on one side and that a signal and its complement bring to the other rail.

    They follow these, at another level. Returns the nets.
    """
    torn = [net for net in stages if gates[net].kind == "torn"]
    shifted: set[str] = set()
    for held, free in (((Kind.P, "high"), (Kind.N, "low")), ((Kind.N, "low"), (Kind.P, "high"))):
        brought: dict[str, tuple[str, str]] = {}  # by net, the net that holds it and the one that brings it
        for net in torn:
            pull = stages[net].pull
            by, to = (variables(pull[side]) if side in pull else () for side in (held, free))
            if len(by) == len(to) == 1 and by[0] != to[0] and by[0] != net and set(pull) == {held, free}:
                brought[net] = by[0], to[0]
        for net, (other, source) in brought.items():
            if other not in brought or brought[other][0] != net:
                continue
            (root, straight), (mate, turned) = (roots.get(n, (n, True)) for n in (source, brought[other][1]))
            if root == mate and straight != turned:
                roots[net] = root, not straight
                shifted.add(net)
    return shifted


def _assume(
    prepared: Prepared,
    stages: dict[str, Stage],
    gates: dict[str, Gate],
    passes: list[Pass],
    roots: dict[str, Literal],
) -> list[tuple[str, str]]:
    """Take two undriven nets for complements where a pair of n and p switches, or a tri-state stack, asks for it."""
    pairs: list[tuple[str, str]] = []
    driven = set(gates)
    order = {net: i for i, net in enumerate(prepared.netlist.nets)}
    # What a gate of several inputs reads is data: two data are no complements because a torn stage might read them so.
    data = {n for g in gates.values() if g.kind == "static" and len(g.inputs) > 1 for n in g.inputs}

    def note(first: str, second: str) -> None:
        if first == second or {first, second} & driven or first in roots or second in roots:
            return
        if any(second in pair for pair in pairs) or any(first == b for _, b in pairs):
            return
        roots[second] = (first, False)
        pairs.append((first, second))

    by_ends: dict[tuple[str, str], list[Pass]] = defaultdict(list)
    for p in passes:
        by_ends[p.ends].append(p)
    for group in by_ends.values():
        ns = [p.when.name for p in group if isinstance(p.when, Var)]
        ps = [p.when.term.name for p in group if isinstance(p.when, Not) and isinstance(p.when.term, Var)]
        if len(ns) == 1 and len(ps) == 1:
            note(*sorted((ns[0], ps[0]), key=order.__getitem__))
    for net, stage in stages.items():
        if gates[net].kind in ("torn", "precharged"):
            for a, b, _ in stacks(stage, roots, driven):
                if not {a, b} & data:
                    note(*sorted((a, b), key=order.__getitem__))
    return pairs


def _links(passes: list[Pass], roots: dict[str, Literal]) -> list[Link]:
    """Join n and p passes between the same nets into transmission gates where their gates are complementary."""
    by_ends: dict[tuple[str, str], list[Pass]] = defaultdict(list)
    for p in passes:
        by_ends[p.ends].append(p)
    links = []
    for ends, group in by_ends.items():
        left = list(group)
        for n in [p for p in group if p.kind is Kind.N]:
            for p in left:
                if p.kind is Kind.P and substitute(p.when, roots) == substitute(n.when, roots):
                    left.remove(n)
                    left.remove(p)
                    controls = tuple(dict.fromkeys((*variables(n.when), *variables(p.when))))
                    members = tuple(sorted({*n.members, *p.members}))
                    links.append(Link(ends, n.when, controls, "transmission gate", members))
                    break
        links.extend(Link(ends, p.when, variables(p.when), "pass transistor", p.members) for p in left)
    return links


def _index(view: View) -> None:
    readers: dict[str, list[str]] = defaultdict(list)
    for net, gate in view.gates.items():
        for source in (*gate.inputs, *gate.controls):
            readers[source].append(net)
    links_at: dict[str, list[int]] = defaultdict(list)
    controlled: dict[str, list[int]] = defaultdict(list)
    for i, link in enumerate(view.links):
        for end in link.ends:
            links_at[end].append(i)
        for net in link.controls:
            controlled[net].append(i)
    view.readers, view.links_at, view.controlled = dict(readers), dict(links_at), dict(controlled)
