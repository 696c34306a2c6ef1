"""Slips that one transistor or one net shows by itself: ends, gates, bodies, supplies."""

from collections import Counter
from collections.abc import Iterator

from layoutdrill.netlist.model import Kind, Mode, Netlist, Transistor
from layoutdrill.reading.slips.model import Scene, Slip, article
from layoutdrill.recognise.view import View
from layoutdrill.simulate.supplies import Supplies

LARGE = 8
"""A gate so many times as large as most is a capacitor by intent (common practice)."""


_HALVES = ("load", "pull-up", "pull-down")
_CAPACITORS = ("RC oscillator", "crystal oscillator", "power-on reset", "bootstrap driver", "dynamic RAM cell",
               "substrate-bias generator", "delay", "supply pad")  # fmt: skip
"""Structures that have a transistor with tied ends for a capacitor."""


def missing_supplies(netlist: Netlist, supplies: Supplies, view: View) -> Iterator[Slip]:
    if not netlist.transistors or not view.gates:
        if {t.kind for t in netlist.transistors} == {Kind.N, Kind.P} and not supplies.nets and not view.links:
            yield Slip("no supply", "neither supply was found", repair="label them, as VDD and VSS")
        return
    kinds = {t.kind for t in netlist.transistors}
    if len(kinds) == 1 and all(g.kind in _HALVES for g in view.gates.values()):
        return  # a load or a driver by itself uses one supply
    for side, nets in (("high", supplies.high), ("low", supplies.low)):
        if not nets:
            yield Slip("no supply", f"the {side} supply was not found", repair="label it, as VDD or VSS")


def ends(scene: Scene) -> Iterator[Slip]:
    """Yield transistors with both ends on one net, and those that join the supplies."""
    netlist, supplies, view = scene.recognition.netlist, scene.supplies, scene.view
    meant = scene.owners(*_CAPACITORS)
    areas = sorted(t.width * t.length for t in netlist.transistors if t.width and t.length)
    usual = areas[len(areas) // 2] if areas else 0
    for t in netlist.transistors:
        if t.source == t.drain:
            if t.source in supplies.nets and t.gate in supplies.nets and t.gate != t.source:
                continue  # a capacitor between the supplies
            if t.name in meant or _is_capacitor(view, t) or (usual and t.width * t.length >= LARGE * usual):
                continue
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


def _is_capacitor(view: View, t: Transistor) -> bool:
    """Tell whether a transistor with tied ends lifts the gate of the switch that raises those ends: a bootstrap."""
    switches = (view.prepared.switches[i] for i in view.prepared.gated.get(t.gate, ()))
    return any(t.source in s.ends and s.other(t.source) in view.prepared.supplies.nets for s in switches)


def untouched(scene: Scene) -> Iterator[Slip]:
    """Yield ports that no transistor and no other device touches."""
    view, netlist = scene.view, scene.recognition.netlist
    reached = set(view.prepared.at) | set(view.prepared.gated) | scene.supplies.nets
    reached |= {t.body for t in netlist.transistors} | {n for e in netlist.elements for n in e.nodes}
    reached |= {n for t in netlist.transistors for n in t.terminals}
    for net in netlist.ports:
        if net not in reached:
            output = net.lower().rstrip("0123456789_nb") in ("y", "q", "z", "x", "out", "co", "s", "sum", "cout")
            if output:
                repair = "look for the stage that ends on it"
                yield Slip("undriven output", f"nothing drives {net}", (), (net,), repair)
            else:
                yield Slip("unused port", f"nothing touches {net}", (), (net,))


def floating(netlist: Netlist, supplies: Supplies) -> Iterator[Slip]:
    driven = {end for t in netlist.transistors if t.source != t.drain for end in t.ends}
    driven |= {n for e in netlist.elements if e.kind != "capacitor" for n in e.nodes}
    driven |= set(netlist.ports) | supplies.nets
    gates: dict[str, list[str]] = {}
    for t in netlist.transistors:
        if t.gate not in driven:
            gates.setdefault(t.gate, []).append(t.name)
    alike = _alike(netlist)
    for net, names in gates.items():
        what = f"the gate of {names[0]}" if len(names) == 1 else f"the gates of {', '.join(names)}"
        near = _nearest_name(net, alike)
        yield Slip(
            "floating gate",
            f"{net} drives {what}, but nothing drives {net}",
            tuple(names),
            (net,),
            f"is {net} the same net as {near}?" if near else "look for the contact that joins it",
        )


def _alike(netlist: Netlist) -> dict[str, list[str]]:
    """Return the nets by their names without capitals."""
    alike: dict[str, list[str]] = {}
    for net in netlist.nets:
        alike.setdefault(net.lower(), []).append(net)
    return alike


def _nearest_name(net: str, alike: dict[str, list[str]]) -> str:
    return next((other for other in alike[net.lower()] if other != net), "")


def loose(scene: Scene) -> Iterator[Slip]:
    """
    Yield nets that one channel, or several in parallel, lead to and nothing else.

    In a plane programmed by contacts, among the transistors of a gate array that are tied off, and at the plate of a
    cell that stores by charge, that is how it is.
    """
    netlist, supplies = scene.recognition.netlist, scene.supplies
    meant = {n for s in scene.recognition.all() if s.term == "ROM plane" for n in s.transistors} | _tied_off(scene)
    plates = {n for s in scene.recognition.all() if s.term == "capacitor" for n in s.transistors}
    meets: dict[str, list[Transistor]] = {}
    for t in netlist.transistors:
        if t.source != t.drain:
            for end in t.ends:
                meets.setdefault(end, []).append(t)
    gates = {t.gate for t in netlist.transistors}
    held = set(netlist.ports) | supplies.nets | gates | {n for e in netlist.elements for n in e.nodes}
    held |= {end for t in netlist.transistors if t.name in plates for end in t.ends}
    alike = _alike(netlist)
    for net, here in meets.items():
        if net in held or len({frozenset(t.ends) for t in here}) > 1 or all(t.name in meant for t in here):
            continue
        names = tuple(t.name for t in here)
        lead = f"{names[0]} leads" if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]} lead"
        near = _nearest_name(net, alike)
        port = f"which net does {net} meet? If it leads in from outside, name it as a port"
        repair = f"is it the same net as {near}?" if near else port
        yield Slip("loose end", f"{lead} to {net}, and nothing else does", names, (net,), repair)
    touched = set(netlist.ports) | supplies.nets | {n for t in netlist.transistors for n in t.terminals}
    uses = Counter(n for e in netlist.elements for n in set(e.nodes))
    for e in netlist.elements:
        for net in dict.fromkeys(e.nodes):
            if uses[net] == 1 and net not in touched:
                text = f"{e.name} leads to {net}, and nothing else does"
                yield Slip("loose end", text, (), (net,), f"which net does {net} meet?")


def _tied_off(scene: Scene) -> set[str]:
    """Return the transistors that their own supply keeps off for good, where there are both kinds of them."""
    netlist, supplies = scene.recognition.netlist, scene.supplies
    off = {Kind.N: supplies.low, Kind.P: supplies.high}
    tied = [t for t in netlist.transistors if t.gate in off[t.kind] and t.mode is not Mode.DEPLETION]
    return {t.name for t in tied} if len({t.kind for t in tied}) > 1 else set()


def wrong_bodies(netlist: Netlist, supplies: Supplies) -> Iterator[Slip]:
    for t in netlist.transistors:
        wrong = supplies.high if t.kind is Kind.N else supplies.low
        if t.body and t.body in wrong:
            side = "high" if t.kind is Kind.N else "low"
            own = article(t.kind)
            text = f"{t.name}, {own} transistor, has its body on the {side} supply {t.body}"
            yield Slip("wrong body", text, (t.name,), (t.body,), f"is {t.name} really {own} transistor?")
