"""Slips at phases: stores in a row that open together, nets that a phase lets go and never charges."""

from collections import Counter, defaultdict
from collections.abc import Iterator

from layoutdrill.reading.slips.model import Scene, Slip
from layoutdrill.recognise.cones import Cones
from layoutdrill.recognise.view import Link, View
from layoutdrill.recognise.work import literal
from layoutdrill.simulate.effort import spend
from layoutdrill.simulate.minimal import complement

MOST_DECIDING = 6
"""Nets by which a control is decided, where it is compared with another."""


def phase_slips(scene: Scene) -> Iterator[Slip]:
    """Yield the slips that show in the order of phases."""
    yield from _phases(scene)
    yield from _stage_phases(scene)
    yield from _unlike_phases(scene)
    yield from _turns(scene)


def _phases(scene: Scene) -> Iterator[Slip]:
    """Yield stores in a row on one phase, where most in this circuit take turns."""
    view = scene.view
    opens: dict[str, list[Link]] = defaultdict(list)
    for link in view.links:
        here = view.links_at[link.sink] if link.source else []
        spend(len(here))
        whens = {view.rooted(view.links[k].when) for k in here}
        driven = any(complement(when) in whens for when in whens)  # chosen or held at all times, it stores no charge
        let_in = all(view.links[k].sink == link.sink for k in here) and not driven
        if link.source and literal(link.when) and let_in and link.sink not in view.gates:
            opens[link.sink].append(link)
    pairs: list[tuple[Link, Link]] = []
    for first in [link for links in opens.values() for link in links]:
        for net in view.readers.get(first.sink, ()):
            gate = view.gates[net]
            if gate.kind != "ratioed" and not view.steady(net) and gate.kind != "precharged":
                continue
            pairs += [(first, view.links[k]) for k in view.links_at.get(net, ())
                      if view.links[k].source == net and view.links[k].sink in opens]  # fmt: skip
    cones = Cones(view)
    same = [(a, b) for a, b in pairs if _within(view, cones, a, b)]
    if not same or len(same) * 2 >= len(pairs):
        return
    uses: Counter[str] = Counter(net for pair in same for k in pair for net in view.names(k.members))
    names = tuple(n for n, count in uses.most_common() if count == max(uses.values()))
    if len(same) == 1:
        names = tuple(n for k in same[0] for n in view.names(k.members))
    nets = tuple(dict.fromkeys(k.sink for pair in same for k in pair))
    controls = [k.controls[0] for _, k in pairs]
    other = next((c for c in dict.fromkeys(controls) if c not in same[0][0].controls), "the other phase")
    text = f"{' and '.join(nets)} are open together, on {same[0][0].controls[0]}; the others take turns"
    yield Slip("phase out of turn", text, names, nets, f"{names[0]} with its gate on {other}?")


def _within(view: View, cones: Cones, first: Link, second: Link) -> bool:
    """Tell whether of two switches one is open only while the other is: on one control, or on a gate of it."""
    if view.rooted(first.when) == view.rooted(second.when):
        return True
    plain = [literal(k.when) for k in (first, second)]
    if plain[0] is None or plain[1] is None:
        return False
    leaves = sorted(cones.leaves(plain[0][0]) | cones.leaves(plain[1][0]))
    if len(leaves) > MOST_DECIDING or len(leaves) < 2:
        return False
    full = (1 << (1 << len(leaves))) - 1
    one, other = (
        cones.table(net, leaves) if straight else full ^ cones.table(net, leaves)
        for net, straight in (p for p in plain if p is not None)
    )
    return not one & (full ^ other) or not other & (full ^ one)


def _stage_phases(scene: Scene) -> Iterator[Slip]:
    """Yield clocked stages in a row that are let through together, where most in this circuit take turns."""
    view = scene.view
    single = {net: gates[0] for net, gates in view.tri.items() if len(gates) == 1 and gates[0].enable is not None}
    pairs = [
        (net, after) for after, gate in single.items() for net in single
        if len(gate.inputs) == 1 and view.root(gate.inputs[0])[0] == net != after
    ]  # fmt: skip
    same = [(a, b) for a, b in pairs if single[a].enable == single[b].enable]
    if not same or len(same) * 2 >= len(pairs):
        return
    uses = Counter(net for pair in same for net in pair)
    odd = [net for net, count in uses.items() if count == max(uses.values())]
    names = tuple(n for net in odd for n in view.names(single[net].members))
    first, second = same[0]
    text = f"{first} and {second}, one after the other, are let through together; the others take turns"
    yield Slip("phase out of turn", text, names, (first, second), "the two gates of one of them are exchanged?")


def _unlike_phases(scene: Scene) -> Iterator[Slip]:
    """Yield nets that are let go to a phase and never charged by it, where others between the same are both."""
    view = scene.view
    charged: dict[tuple[str, str], bool] = {}
    for link in view.links:
        for phase, net in (link.ends, link.ends[::-1]):
            if phase in view.ports and net not in view.gates and phase not in view.gates:
                by_itself = literal(link.when) is not None and phase in link.controls
                charged[phase, net] = charged.get((phase, net), False) or by_itself
    phases = Counter(phase for (phase, _), is_charged in charged.items() if is_charged)
    for (phase, net), is_charged in charged.items():
        if is_charged or not phases[phase] or not (net in view.readers or net in view.controlled or net in view.ports):
            continue
        if net in phases or any(charged.get((other, net)) for other in phases):
            continue
        names = tuple(
            n for k in view.links_at[net] if phase in view.links[k].ends for n in view.names(view.links[k].members)
        )
        text = f"{net} is let go to {phase} and never charged; {phases[phase]} more on {phase} are both"
        repair = f"look for a transistor between {phase} and {net}, gated by {phase}"
        yield Slip("missing device", text, names, (net,), repair)


def _turns(scene: Scene) -> Iterator[Slip]:
    """Yield nets that the wrong phase lets go: the one that charges them, or that of nets charged by another."""
    view = scene.view
    charging = {
        link.other(link.controls[0]): link.controls[0]
        for link in view.links
        if literal(link.when) and link.controls[0] in view.ports and link.controls[0] in link.ends
    }
    charging = {net: phase for net, phase in charging.items() if view.pulled(net)}
    outer = {net: [n for n in view.gates[net].inputs if n in view.ports and n not in view.gates] for net in charging}
    pairs = Counter((charging[net], n) for net, nets in outer.items() for n in nets)
    for net, phase in charging.items():
        likes = [n for n in charging if n != net and charging[n] == phase]
        usual = list(dict.fromkeys(n for like in likes for n in outer[like] if n != phase))
        for lets in outer[net] if usual else ():
            others = [q for (q, n), count in pairs.items() if n == lets and q != phase and count > 1]
            if lets != phase and (not others or pairs[phase, lets] > 1):
                continue
            own = [view.prepared.switches[i] for i in view.gates[net].members]
            names = tuple(n for switch in own if switch.gate == lets for n in switch.names)
            as_well = "at once" if lets == phase else f"by {lets}, as nets are that {others[0]} charges"
            text = f"{net} is charged by {phase} and let go {as_well}"
            repair = f"{names[0]} with its gate on {' or '.join(usual)}?"
            yield Slip("phase out of turn", text, names, (net, lets), repair)
