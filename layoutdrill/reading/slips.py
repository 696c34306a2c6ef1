"""Find the usual slips in a netlist that a person read off a chip, and which transistor is the likely one."""

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import product

from layoutdrill.netlist.model import Kind, Mode, Netlist, Transistor
from layoutdrill.recognise.decoders import MOST_LINES, weigh
from layoutdrill.recognise.functions import decoder_address
from layoutdrill.recognise.gates import static_term
from layoutdrill.recognise.terms import UNKNOWN
from layoutdrill.recognise.view import View, look
from layoutdrill.simulate.expression import variables
from layoutdrill.simulate.supplies import Supplies
from layoutdrill.value import value

MOST_REPAIRS = 800
LARGEST_GROUP = 36
"""Groups of more transistors are reported without a search for the one at fault."""


@value
class Slip:
    """One oddity. `kind` is a key of KINDS; `repair` says what single change would mend it, "" where unknown."""

    kind: str
    text: str
    transistors: tuple[str, ...] = ()
    nets: tuple[str, ...] = ()
    repair: str = ""


KINDS = {
    "floating gate": "a gate that nothing drives",
    "shorted ends": "source and drain on one net",
    "supplies joined": "a transistor between the two supplies",
    "undriven output": "an output that nothing drives, or that only goes one way",
    "networks do not match": "pull-up and pull-down that are no complements",
    "same address": "two lines of a decoder that answer one address, and an address that none answers",
    "loose end": "a channel that leads nowhere",
    "wrong body": "a body on the wrong supply",
    "no supply": "a supply that is missing",
    "unused port": "a port that nothing touches",
}


def find_slips(netlist: Netlist, supplies: Supplies, view: View | None = None) -> tuple[Slip, ...]:
    """Return the slips found, the gravest first."""
    seen = view or look(netlist, supplies)
    slips = [
        *_missing_supplies(netlist, supplies, seen),
        *_ends(netlist, supplies),
        *_floating(netlist, supplies),
        *_one_way(seen),
        *_mismatches(netlist, supplies, seen),
        *_same_address(seen),
        *_loose(netlist, supplies),
        *_bodies(netlist, supplies),
    ]
    return tuple(slips)


def _missing_supplies(netlist: Netlist, supplies: Supplies, view: View) -> Iterator[Slip]:
    if not netlist.transistors or not view.gates:
        if {t.kind for t in netlist.transistors} == {Kind.N, Kind.P} and not supplies.nets and not view.links:
            yield Slip("no supply", "neither supply was found", repair="label them, as VDD and VSS")
        return
    for side, nets in (("high", supplies.high), ("low", supplies.low)):
        if not nets:
            yield Slip("no supply", f"the {side} supply was not found", repair="label it, as VDD or VSS")


def _ends(netlist: Netlist, supplies: Supplies) -> Iterator[Slip]:
    for t in netlist.transistors:
        if t.source == t.drain:
            if t.source in supplies.nets and t.gate in supplies.nets and t.gate != t.source:
                continue  # a capacitor between the supplies
            yield Slip(
                "shorted ends",
                f"{t.name} has both ends on {t.source}: it conducts nothing",
                (t.name,),
                (t.source,),
                "check both ends; as it stands it is a capacitor",
            )
        elif {t.source, t.drain} & supplies.high and {t.source, t.drain} & supplies.low:
            when = f"while {t.gate} is {int(t.kind is Kind.N)}"
            if t.mode is Mode.DEPLETION or t.gate in (supplies.high if t.kind is Kind.N else supplies.low):
                when = "always"
            elif t.gate in supplies.nets:
                continue  # a clamp that is never on
            yield Slip(
                "supplies joined",
                f"{t.name} joins {t.source} and {t.drain} {when}",
                (t.name,),
                (t.source, t.drain),
                "one of its ends belongs elsewhere",
            )


def _floating(netlist: Netlist, supplies: Supplies) -> Iterator[Slip]:
    driven = {end for t in netlist.transistors if t.source != t.drain for end in t.ends}
    driven |= {n for e in netlist.elements for n in e.nodes} | set(netlist.ports) | supplies.nets
    gates: dict[str, list[str]] = {}
    for t in netlist.transistors:
        if t.gate not in driven:
            gates.setdefault(t.gate, []).append(t.name)
    for net, names in gates.items():
        what = f"the gate of {names[0]}" if len(names) == 1 else f"the gates of {', '.join(names)}"
        near = _nearest_name(net, netlist)
        yield Slip(
            "floating gate",
            f"{net} drives {what}, but nothing drives {net}",
            tuple(names),
            (net,),
            f"is {net} the same net as {near}?" if near else "look for the contact that joins it",
        )


def _nearest_name(net: str, netlist: Netlist) -> str:
    plain = net.lower()
    for other in netlist.nets:
        if other != net and other.lower() == plain:
            return other
    return ""


def _one_way(view: View) -> Iterator[Slip]:
    """Yield ports and read nets that are only pulled one way, outside read stacks and keepers."""
    ports = set(view.netlist.ports)
    for net, gate in view.gates.items():
        if gate.kind not in ("pull-up", "pull-down") or net in view.tri:
            continue
        fed = [k for k in view.links_at.get(net, ()) if view.links[k].source != net]
        read = net in view.readers or net in view.controlled
        if fed or not (read or net in ports) or view.one_kind is not None:
            continue
        if net in ports and not read and len(view.prepared.netlist.ports) > 3 and _stack(view, net):
            continue
        missing = "down" if gate.kind == "pull-up" else "up"
        yield Slip(
            "undriven output",
            f"{net} can be pulled {'up' if missing == 'down' else 'down'} but never {missing}",
            view.names(gate.members),
            (net,),
            f"look for the transistors that pull {net} {missing}",
        )
    for net in view.netlist.ports:
        if net not in view.prepared.at and net not in view.prepared.gated and net not in view.prepared.supplies.nets:
            bodies = {t.body for t in view.netlist.transistors}
            nodes = {n for e in view.netlist.elements for n in e.nodes}
            shorted = {n for t in view.netlist.transistors for n in t.terminals}
            if net not in bodies | nodes | shorted:
                output = net.lower().rstrip("0123456789_nb") in ("y", "q", "z", "x", "out", "co", "s", "sum", "cout")
                if output:
                    yield Slip(
                        "undriven output", f"nothing drives {net}", (), (net,), "look for the stage that ends on it"
                    )
                else:
                    yield Slip("unused port", f"nothing touches {net}", (), (net,))


def _stack(view: View, net: str) -> bool:
    """Tell whether a one-way port looks like a bit line: a stack of two with a store behind it."""
    return len(view.gates[net].inputs) == 2 and any(n in view.gates for n in view.gates[net].inputs)


def _mismatches(netlist: Netlist, supplies: Supplies, view: View) -> Iterator[Slip]:
    for net, gate in view.gates.items():
        if gate.kind == "precharged" and _even(netlist, gate.members, view):
            repairs = suggest(netlist, supplies, net, static=True)
            if repairs:
                told = "; or ".join(f"{words} (then {net} is {term})" for _, words, term in repairs[:3])
                text = f"{net} reads as a precharged gate, though it has as many p as n transistors"
                yield Slip("networks do not match", text, tuple(dict.fromkeys(r[0] for r in repairs[:3])), (net,), told)
            continue
        if gate.kind != "torn" or net in view.tri or gate.term != UNKNOWN or _crossed(view, net):
            continue
        names = view.names(gate.members)
        reason = gate.notes[0] if gate.notes else "pull-up and pull-down are no complements"
        repairs = suggest(netlist, supplies, net)
        likely = tuple(dict.fromkeys(name for name, _, _ in repairs))
        text = f"the networks of {net} do not match: {reason}"
        told = "; or ".join(f"{words} (then {net} is {term})" for _, words, term in repairs[:3])
        yield Slip("networks do not match", text, likely or names, (net,), told)


def _same_address(view: View) -> Iterator[Slip]:
    """Yield lines that share an address where as many gates as a decoder has leave another address out."""
    lines: dict[tuple[str, ...], dict[tuple[int, ...], list[str]]] = {}
    for net, gate in view.gates.items():
        if gate.kind in ("static", "ratioed", "precharged") and 2 <= len(gate.inputs) <= MOST_LINES:
            form = view.rooted(gate.form)
            read = tuple(sorted(variables(form), key=view.place.__getitem__))
            code = decoder_address(form, read) if len(read) == len(gate.inputs) else None
            if code is not None:
                lines.setdefault((gate.term, *read), {}).setdefault(code, []).append(net)
    for (_, *names), by_code in lines.items():
        size = 1 << len(names)
        if len(by_code) == size or sum(map(len, by_code.values())) != size or len(by_code) <= size // 2:
            continue
        missing = [_told(names, code) for code in product((0, 1), repeat=len(names)) if code not in by_code]
        for code, nets in by_code.items():
            if len(nets) > 1:
                told = (
                    f"{' and '.join(nets)} both answer {_told(names, code)}, and nothing answers {' or '.join(missing)}"
                )
                members = [i for net in nets for i in view.gates[net].members]
                repair = f"one transistor of {' or '.join(nets)} is on the wrong address line"
                yield Slip("same address", told, view.names(members), tuple(nets), repair)


def _told(names: Sequence[str], code: Sequence[int]) -> str:
    return " ".join(f"{net}={value}" for net, value in weigh(names, code))


def _even(netlist: Netlist, members: tuple[int, ...], view: View) -> bool:
    names = set(view.names(members))
    kinds = Counter(t.kind for t in netlist.transistors if t.name in names)
    return kinds[Kind.N] == kinds[Kind.P]


def _crossed(view: View, net: str) -> bool:
    """Tell whether the stage is half of a level shifter, whose networks are meant to overlap."""
    stage = view.stages[net]
    ups = stage.pull.get((Kind.P, "high"))
    others = [n for n in view.gates[net].inputs if n in view.stages and net in view.gates[n].inputs]
    return ups is not None and bool(others) and view.gates[net].kind == "torn" and view.gates[others[0]].kind == "torn"


def group_of(netlist: Netlist, supplies: Supplies, net: str) -> tuple[Transistor, ...]:
    """Return the transistors joined to a net by channels, stopping at the supplies."""
    rails = supplies.nets
    at: dict[str, list[Transistor]] = {}
    for t in netlist.transistors:
        for end in t.ends:
            at.setdefault(end, []).append(t)
    seen: dict[str, Transistor] = {}
    front = [net]
    nets = {net}
    while front:
        here = front.pop()
        for t in at.get(here, ()):
            seen.setdefault(t.name, t)
            for end in t.ends:
                if end not in nets and end not in rails:
                    nets.add(end)
                    front.append(end)
    return tuple(t for t in netlist.transistors if t.name in seen)


def suggest(netlist: Netlist, supplies: Supplies, net: str, *, static: bool = False) -> list[tuple[str, str, str]]:
    """
    Return single changes after which the stage of `net` is a proper gate: (transistor, the change in words, the gate).

    Tried are another gate net, another end, the other kind, on each transistor of the channel-connected group. The
    plainest result comes first: a gate with a name, that uses no net twice, and changes a gate rather than an end. Left
    out is what leaves an input unread, or a gate floating, when something else does not.
    """
    group = group_of(netlist, supplies, net)
    if not group or len(group) > LARGEST_GROUP:
        return []
    gates = list(dict.fromkeys(t.gate for t in group))
    nets = list(dict.fromkeys(end for t in group for end in t.ends))
    nets += [n for n in (*sorted(supplies.high), *sorted(supplies.low)) if n not in nets]
    ports = tuple(dict.fromkeys((*gates, *nets[:0], net, *(p for p in netlist.ports if p in nets))))
    driven = {end for t in netlist.transistors for end in t.ends} | set(netlist.ports) | supplies.nets
    wanted = {g for g in gates if g in netlist.ports}
    found: list[tuple[tuple[int, ...], str, str, str]] = []
    tried = 0
    for i, t in enumerate(group):
        for rank, change, words in _changes(t, gates, nets):
            tried += 1
            if tried > MOST_REPAIRS:
                break
            trial = Netlist(netlist.name, ports, (*group[:i], change, *group[i + 1 :]))
            term = _proper(trial, supplies, net)
            if term is not None and not (static and term[0] == "precharged gate"):
                plain = 0 if term[0] not in ("complex gate", "precharged gate") else 1
                read = {other.gate for other in trial.transistors}
                lost = len(wanted - read) + len(read - driven)
                found.append(((plain, lost, term[1], rank, i), t.name, words, term[0]))
    found.sort()
    found = [f for f in found if f[0][:2] == found[0][0][:2]]
    return [(name, words, term) for _, name, words, term in found]


def _changes(t: Transistor, gates: list[str], nets: list[str]) -> Iterator[tuple[int, Transistor, str]]:
    for gate in gates:
        if gate != t.gate:
            yield 0, replace(t, gate=gate), f"{t.name} with its gate on {gate} instead of {t.gate}"
    other = Kind.P if t.kind is Kind.N else Kind.N
    yield 1, replace(t, kind=other), f"{t.name} as a {other} transistor"
    for net in nets:
        if net not in t.ends:
            yield 2, replace(t, source=net), f"{t.name} with an end on {net} instead of {t.source}"
            yield 2, replace(t, drain=net), f"{t.name} with an end on {net} instead of {t.drain}"


def _proper(trial: Netlist, supplies: Supplies, net: str) -> tuple[str, int] | None:
    """Return (term, unused inputs and repeats) where the whole group is one proper stage on `net`, else None."""
    view = look(trial, supplies)
    gate = view.gates.get(net)
    if gate is None or gate.kind not in ("static", "tri-state", "precharged") or view.links or len(view.gates) != 1:
        return None
    if len(gate.members) != len(view.prepared.switches) or view.prepared.idle or view.prepared.capacitors:
        return None
    counts = Counter(t.gate for t in trial.transistors)
    kinds = Counter((t.gate, t.kind) for t in trial.transistors)
    uneven = sum(1 for g in counts if kinds[g, Kind.N] != kinds[g, Kind.P])
    term = gate.term if gate.kind != "static" else static_term(gate.form)
    repeats = sum(n - 2 for n in counts.values() if n > 2)
    return term, uneven + repeats


def _loose(netlist: Netlist, supplies: Supplies) -> Iterator[Slip]:
    """Yield nets that one channel, or several in parallel, lead to and nothing else."""
    meets: dict[str, list[Transistor]] = {}
    for t in netlist.transistors:
        if t.source != t.drain:
            for end in t.ends:
                meets.setdefault(end, []).append(t)
    gates = {t.gate for t in netlist.transistors}
    held = set(netlist.ports) | supplies.nets | gates | {n for e in netlist.elements for n in e.nodes}
    for net, here in meets.items():
        if net in held or len({frozenset(t.ends) for t in here}) > 1:
            continue
        names = tuple(t.name for t in here)
        lead = f"{names[0]} leads" if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]} lead"
        near = _nearest_name(net, netlist)
        repair = f"is it the same net as {near}?" if near else f"which net does {net} meet?"
        yield Slip("loose end", f"{lead} to {net}, and nothing else does", names, (net,), repair)


def _bodies(netlist: Netlist, supplies: Supplies) -> Iterator[Slip]:
    for t in netlist.transistors:
        wrong = supplies.high if t.kind is Kind.N else supplies.low
        if t.body and t.body in wrong:
            side = "high" if t.kind is Kind.N else "low"
            yield Slip("wrong body", f"{t.name}, a {t.kind} transistor, has its body on the {side} supply {t.body}",
                       (t.name,), (t.body,), f"is {t.name} really a {t.kind} transistor?")  # fmt: skip
