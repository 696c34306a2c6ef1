"""
Slips that a stage shows: networks that do not match, a device or a load that is missing or one too many.

What looks dynamic is taken so only where something else speaks for it: a clock is a net that opens switches, that
charges several stages, or that comes from outside and is read as no data. Without such a witness, a stage that can go
one way only lacks a device.
"""

from collections import Counter
from collections.abc import Iterator

from layoutdrill.netlist.model import Kind
from layoutdrill.reading.slips.model import Scene, Slip
from layoutdrill.reading.slips.repairs import suggest
from layoutdrill.recognise.gates import Gate, static_term
from layoutdrill.recognise.terms import UNKNOWN
from layoutdrill.recognise.view import View
from layoutdrill.simulate.expression import variables
from layoutdrill.simulate.minimal import complement

WIDE = 3.0
"""A transistor so many times as wide as most drives a pad (common practice: output devices are the widest)."""
MOST_SEARCHED = 12
"""So many stages are searched for the change that mends them; the others are told without."""
KNOWN = (
    "tri-state buffer", "tri-state inverter", "tri-state gate", "level shifter", "Schmitt inverter", "C-element",
    "arbiter", "super buffer", "bootstrap driver", "push-pull pair", "level restorer", "write driver", "memory bit",
    "latch", "register bit", "static RAM cell", "dynamic RAM cell", "precharge", "domino gate", "bus keeper",
    "four-phase stage", "cross-coupled inverters", "shift-register bit", "dynamic latch", "read stack",
)  # fmt: skip
"""Structures in which a stage may go one way, or overlap, by intent."""


def stage_slips(scene: Scene) -> Iterator[Slip]:
    """Yield the slips that stages show."""
    owners = scene.owners(*KNOWN)
    clocks = _clocks(scene)
    if scene.view.one_kind is None:
        yield from _missing_halves(scene, clocks, owners)
    else:
        yield from _missing_loads(scene, clocks, owners)
        yield from _two_loads(scene)
    yield from _one_way(scene, owners)
    yield from _mismatches(scene, owners)
    yield from _unread(scene)


def _clocks(scene: Scene) -> dict[str, str]:
    """Return the nets that something treats as a clock, each with what speaks for it."""
    view = scene.view
    clocks: dict[str, str] = dict.fromkeys(scene.clocks, "as noted")
    charges = Counter(
        view.root(g.controls[0])[0] for g in view.gates.values() if g.kind in ("precharged", "clocked") and g.controls
    )
    for link in view.links:
        for net in link.controls:
            clocks.setdefault(view.root(net)[0], "opens switches")
    for gates in view.tri.values():
        for gate in gates:
            for net in gate.controls:
                clocks.setdefault(view.root(net)[0], "enables stages")
    for net, count in charges.items():
        data = [r for r in view.readers.get(net, ()) if _reads_as_data(view.gates[r], net)]
        if (not data and (count > 1 or net in view.ports)) or (count > 2 and net in view.ports):
            clocks.setdefault(net, "charges stages, and is read as no data")
    return clocks


def _reads_as_data(gate: Gate, net: str) -> bool:
    return gate.kind in ("static", "ratioed", "clocked") and net in gate.inputs and len(gate.inputs) > 1


def _median_width(view: View, kind: Kind) -> float:
    widths = sorted(t.width for t in view.netlist.transistors if t.kind is kind and t.width)
    return widths[len(widths) // 2] if widths else 0.0


def _wide(view: View, members: tuple[int, ...]) -> bool:
    """Tell whether a stage's transistors are several times as wide as most of their kind."""
    names = set(view.names(members))
    mine = [t for t in view.netlist.transistors if t.name in names]
    return all(t.width and t.width >= WIDE * _median_width(view, t.kind) for t in mine)


def _missing_halves(scene: Scene, clocks: dict[str, str], owners: dict[str, str]) -> Iterator[Slip]:
    """Yield complementary stages that look precharged, by a net that nothing treats as a clock."""
    view = scene.view
    static = Counter(g.term for g in view.gates.values() if g.kind == "static" and len(g.inputs) > 1)
    for net, gate in view.gates.items():
        if gate.kind != "precharged" or net in scene.dynamic or not gate.controls:
            continue
        if any(owners.get(n) == "register bit" for n in view.names(gate.members)):
            continue
        control = gate.controls[0]
        if scene.search and _even(view, gate) and (repairs := suggest(view.netlist, scene.supplies, net, static=True)):
            repair = "; or ".join(f"{words} (then {net} is {term})" for _, words, term in repairs[:3])
            text = f"{net} reads as a precharged gate, though it has as many p as n transistors"
            yield Slip("networks do not match", text, tuple(dict.fromkeys(r[0] for r in repairs[:3])), (net,), repair)
            continue
        if view.root(control)[0] in clocks or control in clocks:
            # one dynamic stage among static ones that are like it, charged by what others read as data, is none
            likes = _whole_term(view, gate)
            alone = sum(g.kind == "precharged" for g in view.gates.values()) == 1
            charging = clocks.get(view.root(control)[0], "").startswith("charges")
            if not (alone and charging and static[likes] >= 1 and len(gate.inputs) < 2):
                continue
        elif len(gate.inputs) > 1 and not static and control in view.ports:
            continue  # a dynamic gate by itself
        whole = _whole_term(view, gate)
        missing = [n for n in _lows(view, net) if n != control]
        evidence = (
            f"; {static[whole]} other{'s' if static[whole] > 1 else ''} of this kind have one for every input"
            if static[whole]
            else ""
        )
        lacks = " and ".join(missing)
        repair = f"look for a p transistor gated by {lacks}, from {_first(scene.supplies.high)} to {net}"
        yield Slip("missing device", f"{net} is pulled up by {control} alone, and {control} is no clock{evidence}",
                   view.names(gate.members), (net,), f"{repair} (then {net} is {whole})")  # fmt: skip


def _even(view: View, gate: Gate) -> bool:
    names = set(view.names(gate.members))
    kinds = Counter(t.kind for t in view.netlist.transistors if t.name in names)
    return kinds[Kind.N] == kinds[Kind.P]


def _first(nets: frozenset[str]) -> str:
    return min(nets) if nets else "the high supply"


def _lows(view: View, net: str) -> tuple[str, ...]:
    low = view.stages[net].pull.get((Kind.N, "low"))
    return variables(low) if low is not None else ()


def _whole_term(view: View, gate: Gate) -> str:
    """Return what the stage would be with all its pull-up."""
    low = view.stages[gate.output].pull.get((Kind.N, "low"))
    return static_term(complement(low)) if low is not None else UNKNOWN


def _missing_loads(scene: Scene, clocks: dict[str, str], owners: dict[str, str]) -> Iterator[Slip]:
    """Yield stages of ratioed logic that have drivers and no load, or a load that never conducts."""
    view = scene.view
    loaded = sum(g.kind == "ratioed" for g in view.gates.values())
    rail = scene.supplies.high if view.one_kind is Kind.N else scene.supplies.low
    away = "high" if view.one_kind is Kind.N else "low"
    outputs = [g for n, g in view.gates.items() if n in view.ports and not view.readers.get(n)]
    open_ports = sum(g.kind in ("pull-down", "pull-up") for g in outputs)
    idle = {n: own for n, g in view.gates.items() if g.kind in _IDLE and (own := _self_gated(view, n))}
    if len(idle) > 1 and not loaded:
        named = ", ".join([*idle.values()][:4]) + " …" * (len(idle) > 4)
        text = (
            f"all {len(idle)} loads ({named}) are enhancement transistors by their model, with the gate on their own "
            "output: so wired they never conduct"
        )
        model = f"{view.one_kind}mosd"
        repair = f"are they depletion loads? Then write {model} for them; else their gates are on {_first(rail)}"
        yield Slip("idle load", text, tuple(idle.values()), tuple(idle), repair)
    for net, gate in view.gates.items():
        if net in scene.dynamic or net in scene.open_drain or (net in idle and not loaded and len(idle) > 1):
            continue
        names = view.names(gate.members)
        if own := idle.get(net, ""):
            text = (
                f"{own}, the load of {net}, has its gate on {net} itself: an enhancement load so wired never conducts"
            )
            repair = f"either it is a depletion load, or its gate is on {_first(rail)}"
            yield Slip("idle load", text, (own,), (net,), repair)
        elif gate.kind in ("precharged", "clocked") and gate.controls:
            control = gate.controls[0]
            if view.root(control)[0] in clocks or loaded < 2:
                continue
            pulls = [i for i in view.stages[net].members if control == view.prepared.switches[i].gate]
            text = f"the load of {net} is switched by {control}, no clock; {loaded} others have one that stays on"
            yield Slip(
                "missing load", text, view.names(pulls), (net,), f"the gate of the load belongs on {_first(rail)}"
            )
        elif gate.kind in ("pull-down", "pull-up") and loaded and not _is_fed(view, net):
            read = net in view.readers or net in view.controlled or net in view.links_at
            if any(n in owners for n in names) and not read:
                continue
            if not read and net not in view.ports:
                continue
            if not read and _open_drain(view, net, gate, open_ports, len(outputs)):
                continue
            if _stack(view, net) and not (read and _decides(view, net)):
                continue
            text = f"{net} has drivers and no load, so it can never go {away}; {loaded} other stages have one"
            yield Slip("missing load", text, names, (net,), f"look for the load between {net} and {_first(rail)}")


_IDLE = ("precharged", "push-pull", "torn")
"""What a stage looks like whose load has its gate on its own output."""


def _self_gated(view: View, net: str) -> str:
    """Return the enhancement transistor on a stage's load side whose gate is its own output, "" where there is none."""
    for i in view.stages[net].members:
        s = view.prepared.switches[i]
        if s.gate == net and net in s.ends and not s.depletion and s.other(net) in view.prepared.supplies.nets:
            return s.names[0]
    return ""


def _is_fed(view: View, net: str) -> bool:
    """Tell whether a switch, or a resistor, brings the net what the stage does not."""
    for k in view.links_at.get(net, ()):
        link = view.links[k]
        if link.source != net and (link.source or link.other(net) in view.gates):
            return True
    rails = view.prepared.supplies.nets
    return any(e.kind == "resistor" and net in e.nodes[:2] and set(e.nodes[:2]) & rails for e in view.netlist.elements)


def _open_drain(view: View, net: str, gate: Gate, open_ports: int, outputs: int) -> bool:
    """
    Tell whether a port that goes one way is an open drain: one transistor, wide, or as most outputs are here.

    One such among outputs that are driven both ways is none unless it is wide.
    """
    if net not in view.ports or view.readers.get(net) or len(gate.members) != 1:
        return False
    if _wide(view, gate.members):
        return True
    if all(t.width for t in view.netlist.transistors):
        return False
    driven = any(n in view.gates for n in gate.inputs)
    return driven and 2 * open_ports > outputs


def _two_loads(scene: Scene) -> Iterator[Slip]:
    """Yield nets with more loads than one, where nearly all have one."""
    view = scene.view
    counts = {net: sum(len(v) for v in stage.loads.values()) for net, stage in view.stages.items() if stage.loads}
    names = {
        net: [n for side in view.stages[net].loads.values() for i in side for n in view.prepared.switches[i].names]
        for net in counts
    }
    single = sum(len(n) == 1 for n in names.values())
    for net, loads in names.items():
        if len(loads) > 1 and 2 * single > len(names):
            parts = [w for _, _, w, _ in view.stages[net].parts]
            two = len(parts) > 1
            why = "two nets taken for one, or a load written twice" if two else "written twice?"
            yield Slip("two loads", f"{net} has {len(loads)} loads ({', '.join(loads)}); {single} others have one",
                       tuple(loads), (net,), why)  # fmt: skip


def _one_way(scene: Scene, owners: dict[str, str]) -> Iterator[Slip]:
    """Yield ports and read nets that are only pulled one way, outside read stacks, keepers and open drains."""
    view = scene.view
    ports = view.ports
    outputs = [g for n, g in view.gates.items() if n in ports and not view.readers.get(n)]
    open_ports = sum(g.kind in ("pull-down", "pull-up") for g in outputs)
    for net, gate in view.gates.items():
        if gate.kind not in ("pull-up", "pull-down") or net in view.tri or view.one_kind is not None:
            continue
        if net in scene.dynamic or net in scene.open_drain:
            continue
        read = net in view.readers or net in view.controlled
        leads = not read and net not in ports and len(view.links_at.get(net, ())) == 1  # it can only be a source
        if not leads and (_is_fed(view, net) or not (read or net in ports)):
            continue
        if any(n in owners for n in view.names(gate.members)):
            continue
        if net in ports and not read and len(view.prepared.netlist.ports) > 3 and _stack(view, net):
            continue
        if _open_drain(view, net, gate, open_ports, len(outputs)) or _many_alike(view, net):
            continue
        missing = "down" if gate.kind == "pull-up" else "up"
        yield Slip(
            "undriven output",
            f"{net} can be pulled {'up' if missing == 'down' else 'down'} but never {missing}",
            view.names(gate.members),
            (net,),
            f"look for the transistors that pull {net} {missing}",
        )


def _many_alike(view: View, net: str) -> bool:
    """Tell whether a net is one of several lines that many stages pull the same way, as the lines of a bus are."""
    return net in view.ports and len(view.stages[net].parts) >= 4


def _stack(view: View, net: str) -> bool:
    """Tell whether a one-way port looks like a bit line: a stack of two with a store behind it."""
    return len(view.gates[net].inputs) == 2 and any(n in view.gates for n in view.gates[net].inputs)


def _decides(view: View, net: str) -> bool:
    """Tell whether a stack of two is read by logic, and by nothing that could be a line's amplifier."""
    readers = [view.gates[n] for n in view.readers.get(net, ())]
    return bool(readers) and all(len(g.inputs) > 1 for g in readers)


def _mismatches(scene: Scene, owners: dict[str, str]) -> Iterator[Slip]:
    view, netlist, supplies = scene.view, scene.view.netlist, scene.supplies
    searched = 0
    enables = {view.root(n)[0] for gates in view.tri.values() for g in gates for n in g.controls}
    for net, gate in view.gates.items():
        if gate.kind != "torn" or net in view.tri or gate.term != UNKNOWN or _crossed(view, net):
            continue
        names = view.names(gate.members)
        kept = {owners[n] for n in names if n in owners}
        if kept and not (kept == {"C-element"} and {view.root(n)[0] for n in gate.inputs} & enables):
            continue
        reason = gate.notes[0] if gate.notes else "pull-up and pull-down are no complements"
        repairs = suggest(netlist, supplies, net) if scene.search and searched < MOST_SEARCHED else []
        searched += 1
        likely = tuple(dict.fromkeys(name for name, _, _ in repairs))
        text = f"the networks of {net} do not match: {reason}"
        repair = "; or ".join(f"{words} (then {net} is {term})" for _, words, term in repairs[:3])
        repair = repair or _missing_switch(view, gate)
        yield Slip("networks do not match", text, likely or names, (net,), repair)


def _missing_switch(view: View, gate: Gate) -> str:
    """Say which network has fewer gates than the other, as where a transistor was left out."""
    stage = view.stages[gate.output]
    low, high = (stage.pull.get(key) for key in ((Kind.N, "low"), (Kind.P, "high")))
    if low is None or high is None:
        return ""
    downs, ups = set(variables(low)), set(variables(high))
    for kind, lacking in (("p", downs - ups), ("n", ups - downs)):
        if lacking and not (downs - ups if kind == "n" else ups - downs):
            return f"look for {'a' if kind == 'p' else 'an'} {kind} transistor gated by {' and '.join(sorted(lacking))}"
    return ""


def _crossed(view: View, net: str) -> bool:
    """Tell whether the stage is half of a level shifter, whose networks are meant to overlap."""
    stage = view.stages[net]
    ups = stage.pull.get((Kind.P, "high"))
    others = [n for n in view.gates[net].inputs if n != net and n in view.stages and net in view.gates[n].inputs]
    return ups is not None and bool(others) and view.gates[net].kind == "torn" and view.gates[others[0]].kind == "torn"


def _unread(scene: Scene) -> Iterator[Slip]:
    """Yield nets inside that a stage drives both ways and that nothing reads."""
    view = scene.view
    nodes = {n for e in view.netlist.elements for n in e.nodes}
    gated = {t.gate for t in view.netlist.transistors}
    likes = Counter((g.term, g.kind, frozenset(view.root(n)[0] for n in g.inputs)) for g in view.gates.values())
    for net, gate in view.gates.items():
        if net in view.ports or net in gated or net in view.links_at or net in nodes:
            continue
        if likes[gate.term, gate.kind, frozenset(view.root(n)[0] for n in gate.inputs)] > 3:
            continue  # a line of a decoder, at which no bit may stand
        if gate.kind in ("static", "ratioed", "precharged", "tri-state", "torn", "push-pull", "clocked"):
            names = view.names(gate.members)
            yield Slip(
                "unread net", f"{net} is driven, and nothing reads it", names, (net,), f"what does {net} lead to?"
            )
