"""Join diodes in a row whose joints capacitors lift in turn: a voltage multiplier (Dickson 1976; from memory)."""

from itertools import pairwise

from layoutdrill.netlist.model import Kind, Mode
from layoutdrill.recognise.blocks.neighbours import Neighbours, block, replaced
from layoutdrill.recognise.model import Structure
from layoutdrill.recognise.view import View

FEWEST = 2
"""Joints that are lifted; one alone is the pump of a substrate bias, or a bootstrap."""


def join_multipliers(view: View, structures: list[Structure]) -> list[Structure]:
    """Return the structures with voltage multipliers joined: diodes, the capacitors between, what swings them."""
    result = structures
    onward, from_rail = _diodes(view)
    into = {after: at for at, (after, _) in onward.items()}
    lifts = lifts_of(view)
    for start in [at for at in onward if at not in into]:
        nets, names = [start], list[str]()
        if start in from_rail:
            nets, names = [from_rail[start][0], start], [from_rail[start][1]]
        while nets[-1] in onward and len(names) <= len(onward):
            after, name = onward[nets[-1]]
            nets.append(after)
            names.append(name)
        joints = [n for n in nets[1:-1] if n in lifts]
        swings = [lifts[n][0] for n in joints]
        if len(joints) < FEWEST or len(joints) != len(nets) - 2 or not _in_turn(view, swings):
            continue
        near = Neighbours.of(view, result)
        mine = {*names, *(name for n in nets if n in lifts for name in lifts[n][1])}
        parts = [s for s in result if s.transistors and set(s.transistors) <= mine]
        drivers = list(dict.fromkeys(d for n in swings if (d := near.driver(n)) is not None))
        parts += [d for d in drivers if d.term in ("inverter", "buffer") and d not in parts]
        parts += [p for p in near.feeders(parts) if p not in parts]
        words = f"{len(names)} diodes from {nets[0]} to {nets[-1]}, {len(joints)} joints lifted in turn"
        result = replaced(result, parts, block(view, "voltage multiplier", parts, words))
    return result


Ways = dict[str, tuple[str, str]]


def _diodes(view: View) -> tuple[Ways, Ways]:
    """
    Return, for each net, the net that a transistor with its gate on an end lets current on to, and its name.

    Those from a supply come apart, by the net that they lead to; a load with its gate on its supply is one of them.
    """
    onward: Ways = {}
    from_rail: Ways = {}
    for name, (anode, cathode) in diodes_by_ends(view).items():
        if anode in view.prepared.supplies.nets:
            from_rail[cathode] = (anode, name)
        else:
            onward[anode] = (cathode, name)
    return onward, from_rail


def diodes_by_ends(view: View) -> dict[str, tuple[str, str]]:
    """Return the n transistors whose gate lies on an end, by name: the end that current enters, that it leaves by."""
    return {
        t.name: (t.gate, t.source if t.gate == t.drain else t.drain)
        for t in view.netlist.transistors
        if t.source != t.drain and t.gate in t.ends and t.kind is Kind.N and t.mode is not Mode.DEPLETION
    }


def lifts_of(view: View) -> dict[str, tuple[str, tuple[str, ...]]]:
    """Return, for each net that a capacitor joins to one that swings, that net, and the transistor that is it."""
    rails = view.prepared.supplies.nets
    pairs = [(e.nodes[0], e.nodes[1], (e.name,)) for e in view.netlist.elements if e.kind == "capacitor"]
    pairs += [(t.gate, t.source, (t.name,)) for t in view.netlist.transistors if t.source == t.drain]
    lifts: dict[str, tuple[str, tuple[str, ...]]] = {}
    for a, b, names in pairs:
        for net, other in ((a, b), (b, a)):
            if net not in rails and other not in rails and (view.steady(other) or other in view.ports):
                lifts[net] = (other, names)
    return lifts


def _in_turn(view: View, swings: list[str]) -> bool:
    """Tell whether each of several nets swings against the one before it."""
    for first, second in pairwise(swings):
        (a, up), (b, other) = view.root(first), view.root(second)
        ports = {first, second} <= view.ports and first != second and not {first, second} & set(view.gates)
        if not (ports or (a == b and up != other)):
            return False
    return True
