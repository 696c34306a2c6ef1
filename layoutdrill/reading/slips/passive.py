"""Slips at diodes and capacitors: clamps that carry current all the time, a multiplier that stands out of its row."""

from collections import defaultdict
from collections.abc import Iterator
from itertools import pairwise

from layoutdrill.reading.slips.model import Scene, Slip
from layoutdrill.recognise.blocks.lifting import diodes_by_ends, lifts_of
from layoutdrill.recognise.view import View

LEAST_DIODES = 4
"""In a row so long, with capacitors at the joints, one that differs is odd."""


def passive_slips(scene: Scene) -> Iterator[Slip]:
    """Yield the slips at diodes and capacitors."""
    yield from _clamps(scene)
    for nets, names, onward in _rows(scene.view):
        yield from _out_of_row(scene, nets, names, onward)


def _clamps(scene: Scene) -> Iterator[Slip]:
    """Yield a clamp that stands the other way round than the one to the other rail: current flows from rail to rail."""
    high, low = scene.supplies.high, scene.supplies.low
    diodes = [(e.name, e.nodes[0], e.nodes[1]) for e in scene.view.netlist.elements if e.kind == "diode"]
    # A diode conducts at all times to the low rail and from the high one.
    clamps = [(name, anode, cathode, low) for name, anode, cathode in diodes]
    clamps += [(name, cathode, anode, high) for name, anode, cathode in diodes]
    met: dict[str, tuple[list[str], list[str]]] = {}
    for name, net, rail, always in clamps:
        if rail in high | low and net not in high | low:
            met.setdefault(net, ([], []))[rail not in always].append(name)
    for net, (wrong, right) in met.items():
        if wrong and right:
            text = f"{wrong[0]} conducts at all times; {right[0]}, the other clamp of {net}, does only beyond a rail"
            yield Slip("diode turned round", text, (), (net,), f"{wrong[0]} the other way round")


def _rows(view: View) -> Iterator[tuple[list[str], list[str], list[bool]]]:
    """Yield diodes in a row, whichever way round: their nets in order, their names, and whether each leads onward."""
    ways = diodes_by_ends(view)
    at: dict[str, list[str]] = defaultdict(list)
    for name, pair in ways.items():
        for net in pair:
            at[net].append(name)
    for start in [n for n, names in at.items() if len(names) == 1]:
        nets, names, onward = [start], list[str](), list[bool]()
        while more := [n for n in at[nets[-1]] if n not in names]:
            if len(at[nets[-1]]) > 2:
                break
            anode, cathode = ways[more[0]]
            onward.append(anode == nets[-1])
            names.append(more[0])
            nets.append(cathode if anode == nets[-1] else anode)
        if len(names) >= LEAST_DIODES and 2 * sum(onward) > len(onward) and len(at[nets[-1]]) == 1:
            yield nets, names, onward


def _out_of_row(scene: Scene, nets: list[str], names: list[str], onward: list[bool]) -> Iterator[Slip]:
    view = scene.view
    lifts, joints = lifts_of(view), nets[1:-1]
    bare = [n for n in joints if n not in lifts]
    if len(joints) - len(bare) < LEAST_DIODES - 2:
        return
    turned = [(name, pair) for name, pair, way in zip(names, pairwise(nets), onward, strict=True) if not way]
    if len(turned) == 1 and not bare:
        ((name, pair),) = turned
        text = f"{name} leads back from {pair[1]} to {pair[0]}; the {len(names) - 1} other diodes of the row lead on"
        gate = pair[0] if any(t.name == name for t in view.netlist.transistors) else ""
        repair = f"{name} with its gate on {gate}" if gate else f"{name} the other way round"
        yield Slip("diode turned round", text, (name,), pair, repair)
    elif len(bare) == 1 and not turned:
        text = f"no capacitor lifts {bare[0]}; the {len(joints) - 1} other joints of the row have one"
        yield Slip("missing device", text, (), (bare[0],), f"look for a capacitor at {bare[0]}")
    elif not bare and not turned:
        swings = [view.root(lifts[n][0]) for n in joints]
        odd = [i for i in range(len(joints)) if _meets(swings, i)]
        if odd and len(set(swings)) > 1:
            at = max(odd, key=lambda i: (_meets(swings, i), -i))
            (name,), phase = lifts[joints[at]][1], lifts[joints[at]][0]
            text = f"{name} lifts {joints[at]} by {phase}, at once with the joint beside it"
            own = (name,) if name in view.order else ()
            yield Slip("phase out of turn", text, own, (joints[at], phase), f"{name} on the other phase")


def _meets(swings: list[tuple[str, bool]], at: int) -> int:
    """Return how many neighbours of a joint are lifted together with it."""
    return sum(swings[at] == swings[i] for i in (at - 1, at + 1) if 0 <= i < len(swings))
