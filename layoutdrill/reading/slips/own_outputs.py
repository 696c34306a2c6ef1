"""Slips of what hangs on itself: a gate on its own output, a bit that takes its own level, a gate on an end."""

from collections.abc import Iterator

from layoutdrill.netlist.model import Mode
from layoutdrill.netlist.roles import Role
from layoutdrill.reading.slips.model import Scene, Slip
from layoutdrill.recognise.sequential import next_of
from layoutdrill.recognise.view import View


def own_output_slips(scene: Scene, owners: dict[str, str]) -> Iterator[Slip]:
    """Yield them; `owners` are the structures whose stages may do so by intent, by transistor."""
    yield from _own_outputs(scene, owners)
    yield from _standing_bits(scene)
    yield from _diodes_on_gates(scene)


def _own_outputs(scene: Scene, owners: dict[str, str]) -> Iterator[Slip]:
    """Yield stages one of whose own inputs is their output, without a resistor that sets the point where they rest."""
    view = scene.view
    nodes = {n for e in view.netlist.elements for n in e.nodes}
    for net, gate in view.gates.items():
        if gate.kind not in ("static", "ratioed") or net not in gate.inputs or net in nodes or net in scene.dynamic:
            continue
        mine = [view.prepared.switches[i] for i in gate.members]
        kept = {view.prepared.switches[i].names for side in view.stages[net].loads.values() for i in side}
        names = tuple(n for s in mine if s.gate == net and s.names not in kept for n in s.names)
        if not names or any(n in owners for n in names):
            continue
        text = (
            f"{net} is an input of the stage that makes it: {', '.join(names)} {'has' if len(names) == 1 else 'have'}"
        )
        yield Slip("own output", f"{text} the gate on {net}", names, (net,), "the gate belongs on another net")


def _standing_bits(scene: Scene) -> Iterator[Slip]:
    """Yield register bits that take their own level at every edge: from their output, where its inverse was meant."""
    for s in scene.recognition.all():
        bit = next_of(scene.view, s) if s.term == "register bit" else None
        if bit is not None and bit.stands() and not s.nets(Role.SET, Role.RESET, Role.ENABLE):
            data = s.nets(Role.DATA) or s.nets(Role.OUTPUT)
            names = tuple(n for n in s.transistors if data[0] in _ends_of(scene.view, n))
            text = f"the bit of {bit.output} takes its own level at every edge, from {data[0]}, and never changes"
            yield Slip("own output", text, names, data[:1], "its input belongs on the inverse, or on another net")


def _ends_of(view: View, name: str) -> tuple[str, ...]:
    return view.netlist.transistors[view.order[name]].ends


def _diodes_on_gates(scene: Scene) -> Iterator[Slip]:
    """
    Yield transistors with the gate on an end that a static gate drives, where another on it joins the rest to a rail.

    By itself one is a switch that lets a 1, or a 0, through; with the other the net has one level only.
    """
    view, rails = scene.view, scene.supplies.nets
    for t in view.netlist.transistors if view.one_kind is None else ():
        driver = view.gates.get(t.gate)
        if t.source == t.drain or t.gate not in t.ends or driver is None or driver.kind != "static":
            continue
        if t.mode is Mode.DEPLETION or t.name in view.names(driver.members) or set(t.ends) & rails:
            continue
        other = t.drain if t.gate == t.source else t.source
        mates = [view.prepared.switches[i] for i in view.prepared.gated.get(t.gate, ())]
        if not any(s.kind is not t.kind and other in s.ends and set(s.ends) & rails for s in mates):
            continue
        text = f"{t.name}, between {t.gate} and {other}, has its gate on {t.gate} too, which {driver.term} drives"
        yield Slip("own output", text, (t.name,), (t.gate, other), "its gate, or that end, belongs on another net")
