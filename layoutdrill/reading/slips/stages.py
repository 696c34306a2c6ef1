"""
Slips that a stage shows: networks that do not match, a device or a load that is missing or one too many.

What looks dynamic is taken so only where something else speaks for it: a clock is a net that opens switches, that
charges several stages, or that comes from outside and is read as no data. Without such a witness, a stage that can go
one way only lacks a device.
"""

from collections import Counter
from collections.abc import Iterator

from layoutdrill.netlist.model import Kind
from layoutdrill.reading.slips.astray import crossed_networks, crossed_pairs, mate_of, stray_ends
from layoutdrill.reading.slips.model import Scene, Slip
from layoutdrill.reading.slips.one_way import first_of, is_fed, is_stack, many_alike, open_drain
from layoutdrill.reading.slips.own_outputs import own_output_slips
from layoutdrill.reading.slips.ratioed import ratioed_slips
from layoutdrill.reading.slips.repairs import suggest
from layoutdrill.recognise.gates import Gate, static_term
from layoutdrill.recognise.terms import UNKNOWN
from layoutdrill.recognise.view import View
from layoutdrill.simulate.expression import And, Expression, Not, Or, Var, variables
from layoutdrill.simulate.minimal import complement

MANY_ALIKE = 3
"""So many stages alike are so by intent."""
MOST_SEARCHED = 12
"""So many stages are searched for the change that mends them; the others are told without."""
KNOWN = (
    "tri-state buffer", "tri-state inverter", "tri-state gate", "level shifter", "Schmitt inverter", "C-element",
    "arbiter", "super buffer", "bootstrap driver", "push-pull pair", "level restorer", "write driver", "memory bit",
    "latch", "register bit", "static RAM cell", "dynamic RAM cell", "precharge", "domino gate", "bus keeper",
    "four-phase stage", "cross-coupled inverters", "shift-register bit", "dynamic latch", "read stack", "pulsed latch",
    "SR latch", "gated SR latch", "sense amplifier",
)  # fmt: skip
"""Structures in which a stage may go one way, or overlap, by intent."""


def stage_slips(scene: Scene) -> Iterator[Slip]:
    """Yield the slips that stages show."""
    owners = scene.owners(*KNOWN)
    clocks = _clocks(scene)
    if scene.view.one_kind is None:
        yield from _missing_halves(scene, clocks, owners)
    else:
        yield from ratioed_slips(scene, clocks, owners)
    yield from stray_ends(scene, owners)
    yield from crossed_pairs(scene)
    yield from crossed_networks(scene)
    yield from own_output_slips(scene, owners)
    yield from _no_foot(scene)
    yield from _uncharged(scene)
    yield from _kept_only(scene)
    yield from _one_way(scene, owners)
    yield from _mismatches(scene, owners, clocks)
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


def _missing_halves(scene: Scene, clocks: dict[str, str], owners: dict[str, str]) -> Iterator[Slip]:
    """Yield complementary stages that look precharged, by a net that nothing treats as a clock."""
    view = scene.view
    static = Counter(g.term for g in view.gates.values() if g.kind == "static" and len(g.inputs) > 1)
    for net, gate in view.gates.items():
        if gate.kind != "precharged" or net in scene.dynamic or not gate.controls:
            continue
        if any(owners.get(n) in ("register bit", "pulsed latch") for n in view.names(gate.members)):
            continue
        control = gate.controls[0]
        if scene.search and _even(view, gate) and (repairs := suggest(view.netlist, scene.supplies, net, static=True)):
            repair = "; or ".join(f"{words} (then {net} is {term})" for _, words, term in repairs[:3])
            text = f"{net} reads as a precharged gate, though it has as many p as n transistors"
            yield Slip("networks do not match", text, tuple(dict.fromkeys(r[0] for r in repairs[:3])), (net,), repair)
            continue
        if (view.root(control)[0] in clocks or control in clocks) and not _loops_back(view, net, control):
            # one dynamic stage among static ones that are like it, charged by what others read as data, is none
            likes = _whole_term(view, gate)
            # and a clock of one stage that has one input besides is no clock, unless the reader says so
            others = [g for g in view.gates.values() if g.kind == "precharged" and g is not gate]
            alone = not others or not any(view.root(g.controls[0]) == view.root(control) for g in others if g.controls)
            charging = clocks.get(view.root(control)[0], "").startswith("charges")
            driver = view.gates.get(control)
            footed = control in _lows(view, net) and (driver is None or net not in (*driver.inputs, *driver.controls))
            if not (charging and alone and len(gate.inputs) < 2 and (footed or (not others and static[likes] >= 1))):
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
        repair = f"look for a p transistor gated by {lacks}, from {first_of(scene.supplies.high)} to {net}"
        or_clock = f"; or note {control} as a clock" if view.root(control)[0] in clocks else ""
        yield Slip("missing device", f"{net} is pulled up by {control} alone, and {control} is no clock{evidence}",
                   view.names(gate.members), (net,), f"{repair} (then {net} is {whole}){or_clock}")  # fmt: skip


def _loops_back(view: View, net: str, control: str) -> bool:
    """Tell whether what charges a net is made of that net by a gate, as no clock is."""
    return control in view.gates and view.gates[control].kind == "static" and net in view.gates[control].inputs


def _no_foot(scene: Scene) -> Iterator[Slip]:
    """Yield charged gates without a foot that read steady levels, where others on the clock have one."""
    view = scene.view
    charged = [(n, g) for n, g in view.gates.items() if g.kind == "precharged" and g.controls and not view.one_kind]
    for net, gate in charged:
        clock = gate.controls[0]
        if clock in _lows(view, net) or net in scene.dynamic:
            continue
        footed = [n for n, g in charged if g.controls[0] == clock and clock in _lows(view, n)]
        steady = [n for n in gate.inputs if not _falls(view, n)]
        if not footed or not steady:
            continue
        text = (
            f"{net} is charged by {clock} and has no foot, so {' and '.join(steady)} may join it to "
            f"{first_of(scene.supplies.low)} meanwhile; others have one: {', '.join(footed[:3])}"
        )
        repair = f"one of its transistors is gated by {clock}"
        yield Slip("missing device", text, view.names(gate.members), (net,), repair)


def _falls(view: View, net: str) -> bool:
    """Tell whether a net is low while charged gates are charged: it is an inverter's, behind one of those."""
    gate = view.gates.get(net)
    before = gate.inverter_of if gate is not None else None
    return before in view.gates and view.gates[before].kind == "precharged"


def _uncharged(scene: Scene) -> Iterator[Slip]:
    """Yield the net of a charged line that nothing charges, where its neighbours through switches are."""
    view = scene.view
    for net, gate in view.gates.items():
        if gate.kind not in ("pull-up", "pull-down") or net in scene.dynamic:
            continue
        near = {view.links[k].other(net) for k in view.links_at.get(net, ())}
        beyond = {view.links[k].other(n) for n in near for k in view.links_at.get(n, ())} | near
        charged = [
            n for n in sorted(beyond - {net}) if n in view.gates and view.gates[n].kind in ("precharged", "clocked")
        ]
        controls = {view.gates[n].controls[0] for n in charged if view.gates[n].controls}
        if len(charged) < 2 or len(controls) != 1:
            continue
        control = controls.pop()
        text = f"{net} is never charged; {', '.join(charged)}, joined to it by switches, are, by {control}"
        repair = f"look for a transistor gated by {control} that ends on {net}"
        yield Slip("missing device", text, view.names(gate.members), (net,), repair)


def _kept_only(scene: Scene) -> Iterator[Slip]:
    """Yield stages that nothing charges: what pulls them up is opened by what they themselves make."""
    view = scene.view
    clocks = {g.controls[0] for g in view.gates.values() if g.kind == "precharged" and g.controls}
    for net, gate in view.gates.items():
        if gate.kind != "precharged" or not gate.controls or net in scene.dynamic or view.links_at.get(net):
            continue
        (kept, *_), lows = gate.controls, _lows(view, net)
        others = [c for c in clocks if c in lows and c != kept]
        if kept in view.gates and view.gates[kept].inverter_of == net and others:
            text = f"{net} is pulled up by {kept} alone, which it makes itself: nothing charges it"
            repair = f"look for a p transistor gated by {others[0]} that ends on {net}"
            yield Slip("missing device", text, view.names(gate.members), (net,), repair)


def _even(view: View, gate: Gate) -> bool:
    names = set(view.names(gate.members))
    kinds = Counter(t.kind for t in view.netlist.transistors if t.name in names)
    return kinds[Kind.N] == kinds[Kind.P]


def _lows(view: View, net: str) -> tuple[str, ...]:
    low = view.stages[net].pull.get((Kind.N, "low"))
    return variables(low) if low is not None else ()


def _whole_term(view: View, gate: Gate) -> str:
    """Return what the stage would be with all its pull-up."""
    low = view.stages[gate.output].pull.get((Kind.N, "low"))
    return static_term(complement(low)) if low is not None else UNKNOWN


def _one_way(scene: Scene, owners: dict[str, str]) -> Iterator[Slip]:
    """Yield ports and read nets that are only pulled one way, outside read stacks, keepers and open drains."""
    if scene.recognition.term == "dynamic RAM cell":
        return  # its bit line is pulled up by what the column has
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
        if not leads and (is_fed(view, net) or not (read or net in ports)):
            continue
        if any(n in owners for n in view.names(gate.members)):
            continue
        if net in ports and not read and len(view.prepared.netlist.ports) > 3 and is_stack(view, net):
            continue
        if open_drain(view, net, gate, open_ports, len(outputs)) or many_alike(view, net):
            continue
        missing = "down" if gate.kind == "pull-up" else "up"
        yield Slip(
            "undriven output",
            f"{net} can be pulled {'up' if missing == 'down' else 'down'} but never {missing}",
            view.names(gate.members),
            (net,),
            f"look for the transistors that pull {net} {missing}" + _unless_open(net in ports and not read),
        )


def _unless_open(at_port: bool) -> str:
    return ", or note it as an open drain" if at_port else ""


def _meant(view: View, net: str, clocks: dict[str, str], shapes: Counter[str]) -> bool:
    """
    Tell whether networks that do not match are so by intent: several stages are alike, one charges or lets go its net
    by a clock, one is a diode that sets the level of other gates.
    """
    stage = view.stages[net]
    low, high = (stage.pull.get(key) for key in ((Kind.N, "low"), (Kind.P, "high")))
    if low is None or high is None:
        return False
    if shapes[_shape(low) + _shape(high)] >= MANY_ALIKE:
        return True
    for one, other in ((low, high), (high, low)):
        source = one.term if isinstance(one, Not) else one
        if not isinstance(source, Var):
            continue
        if view.root(source.name)[0] in clocks and source.name in variables(other):
            return True
        if source.name == net and _sets_others(view, net, Kind.N if one is low else Kind.P):
            return True
    return False


def _sets_others(view: View, net: str, kind: Kind) -> bool:
    """Tell whether a net with a diode gates two transistors or more of that kind, and none of the other, elsewhere."""
    gated = [s for s in view.prepared.switches if s.gate == net and net not in s.ends]
    return len(gated) > 1 and all(s.kind is kind for s in gated)


def _shape(form: Expression) -> str:
    """Return what a network looks like, whatever its nets are called."""
    if isinstance(form, (And, Or)):
        return ("*" if isinstance(form, And) else "+") + "(" + "".join(sorted(map(_shape, form.terms))) + ")"
    return "x"


def _mismatches(scene: Scene, owners: dict[str, str], clocks: dict[str, str]) -> Iterator[Slip]:
    view, netlist, supplies = scene.view, scene.view.netlist, scene.supplies
    searched = 0
    enables = {view.root(n)[0] for gates in view.tri.values() for g in gates for n in g.controls}
    torn = [
        view.stages[n].pull for n, g in view.gates.items()
        if g.kind == "torn" and g.term == UNKNOWN and not any(name in owners for name in view.names(g.members))
    ]  # fmt: skip
    shapes = Counter(
        _shape(pull[Kind.N, "low"]) + _shape(pull[Kind.P, "high"])
        for pull in torn
        if {(Kind.N, "low"), (Kind.P, "high")} <= set(pull)
    )
    for net, gate in view.gates.items():
        if gate.kind != "torn" or net in view.tri or gate.term != UNKNOWN or _crossed(view, net):
            continue
        names = view.names(gate.members)
        kept = {owners[n] for n in names if n in owners}
        enabled = kept == {"C-element"} and {view.root(n)[0] for n in gate.inputs} & enables
        if _meant(view, net, clocks, shapes):
            continue
        if kept and not enabled and not (kept == {"register bit"} and _lacks_one(view, gate)):
            continue
        reason = gate.notes[0] if gate.notes else "pull-up and pull-down are no complements"
        repairs = suggest(netlist, supplies, net) if scene.search and searched < MOST_SEARCHED else []
        searched += 1
        likely = tuple(dict.fromkeys(name for name, _, _ in repairs))
        text = f"the networks of {net} do not match: {reason}"
        repair = "; or ".join(f"{words} (then {net} is {term})" for _, words, term in repairs[:3])
        repair = repair or _missing_switch(view, gate)
        yield Slip("networks do not match", text, likely or names, (net,), repair)


def _lacks_one(view: View, gate: Gate) -> bool:
    """Tell whether a gate among whole ones, none of whose inputs opens a switch, lacks a transistor of one half."""
    opened = {n for link in view.links for n in link.controls}
    opened |= {n for gates in view.tri.values() for stacked in gates for n in stacked.controls}
    beside = {n for i in gate.inputs for n in (i, *view.readers.get(i, ()))} - {gate.output}
    whole = [n for n in beside if n in view.gates and view.gates[n].kind == "static" and len(view.gates[n].inputs) > 1]
    return (
        len(whole) >= 2
        and not opened & set(gate.inputs)
        and gate.output not in view.links_at
        and bool(_missing_switch(view, gate))
    )


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
    return mate_of(view, net) is not None


def _unread(scene: Scene) -> Iterator[Slip]:
    """Yield nets inside that a stage drives both ways and that nothing reads."""
    view = scene.view
    nodes = {n for e in view.netlist.elements for n in e.nodes}
    nodes |= {t.source for t in view.netlist.transistors if t.source == t.drain}  # a capacitor hands it on
    gated = {t.gate for t in view.netlist.transistors if t.gate not in t.ends}
    likes = Counter((g.term, g.kind, frozenset(view.root(n)[0] for n in g.inputs)) for g in view.gates.values())
    for net, gate in view.gates.items():
        if net in view.ports or net in gated or net in view.links_at or net in nodes:
            continue
        alike = likes[gate.term, gate.kind, frozenset(view.root(n)[0] for n in gate.inputs)]
        if len(gate.inputs) > 1 and alike > MANY_ALIKE:
            continue  # a line of a decoder, at which no bit may stand
        if gate.kind in ("static", "ratioed", "precharged", "tri-state", "torn", "push-pull", "clocked"):
            names = view.names(gate.members)
            yield Slip(
                "unread net", f"{net} is driven, and nothing reads it", names, (net,), f"what does {net} lead to?"
            )
