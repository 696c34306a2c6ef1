"""
Slips of strength: loads and pulls that what fights them cannot win against, whatever else the circuit has.

In ratioed logic the load is some four times as long for its width as the way to the other rail, eight times behind a
pass transistor (Mead & Conway 1980). A load no longer for its width than its drivers lets no level come, even where it
is the only one. A p transistor counts by how much worse it conducts.
"""

from collections.abc import Iterator, Sequence
from statistics import median

from layoutdrill.netlist.model import Kind
from layoutdrill.netlist.roles import Role
from layoutdrill.reading.slips.model import Scene, Slip, article
from layoutdrill.recognise.gates import Gate
from layoutdrill.recognise.view import View
from layoutdrill.value import value

STRONG = 1.5
"""A load of so little is odd where others are in order."""
TOO_STRONG = 1.0
"""A load of so little is odd by itself."""
USUAL = 3.0
"""A load of that many times its drivers' length over width and more is in order (four: Mead & Conway 1980)."""
MOST_WAYS = 64
_SKEWED = (
    "super buffer", "bootstrap driver", "level restorer", "level shifter", "C-element", "bus keeper", "bus with keeper",
    "sense amplifier", "cross-coupled inverters", "push-pull pair", "power-on reset", "substrate-bias generator",
)  # fmt: skip
"""Structures in which a stage has no load of its own, or one that is strong by intent."""


@value
class Pair:
    """Two groups of transistors in some proportion: the names and the length over width of each, and where they are."""

    net: str
    first: tuple[str, ...]
    second: tuple[str, ...]
    sizes: tuple[float, float]
    what: str

    @property
    def proportion(self) -> float:
        return self.sizes[0] / self.sizes[1]


def strong_slips(scene: Scene) -> Iterator[Slip]:
    """Yield loads that their drivers cannot pull against, lifted ones as well, and pulls at pads that are no weaker."""
    yield from _loads(scene)
    yield from _lifted(scene)
    yield from _pulls(scene)
    yield from _never_on(scene)


def _never_on(scene: Scene) -> Iterator[Slip]:
    """Yield the transistor of a circuit of both kinds that is never on, and of the other kind would hold its net."""
    view = scene.view
    if view.one_kind is not None:
        return
    rails = scene.supplies
    for t in view.netlist.transistors:
        off, own = (rails.low, rails.high) if t.kind is Kind.N else (rails.high, rails.low)
        net = next((e for e in t.ends if e not in rails.nets), "")
        if t.gate in off and net and set(t.ends) & own and (net in view.readers or net in view.controlled):
            other = Kind.P if t.kind is Kind.N else Kind.N
            text = f"{t.name}, with its gate on {t.gate}, is never on; {article(other)} transistor would hold {net}"
            yield Slip("other kind", text, (t.name,), (net,), f"{t.name} as {article(other)} transistor")


def _loads(scene: Scene) -> Iterator[Slip]:
    view = scene.view
    skewed = scene.owners(*_SKEWED)
    ratios: list[tuple[Pair, float]] = []
    for gate in view.gates.values():
        pair = ways(view, gate) if gate.kind == "ratioed" else None
        if pair is None or any(n in skewed for n in (*pair.first, *pair.second)) or not all(pair.sizes):
            continue
        high = bool(view.stages[gate.output].loads.get("high"))
        ratio = pair.proportion if high else 1 / pair.proportion
        ratios.append((pair, ratio))
    strong = [(pair, ratio) for pair, ratio in ratios if ratio < STRONG]
    usual = any(ratio >= USUAL for _, ratio in ratios) and 4 * len(strong) <= len(ratios) + 2
    for pair, ratio in strong:
        if not usual and (ratio >= TOO_STRONG or 2 * len(strong) > len(ratios) + 1):
            continue
        high = bool(view.stages[pair.net].loads.get("high"))
        names, mates = (pair.first, pair.second) if high else (pair.second, pair.first)
        text = (
            f"the load of {pair.net} ({named(names)}) has {ratio:.2g} times the length over width of its drivers; "
            "four times is usual, and less than one lets no level come"
        )
        yield Slip("odd proportion", text, (*names, *mates), (pair.net,), f"measure {named(names)} again")


def _lifted(scene: Scene) -> Iterator[Slip]:
    """Yield the upper transistor of a bootstrapped stage that is as strong as the lower one: both conduct at once."""
    view = scene.view
    for s in [s for s in scene.recognition.all() if s.term == "bootstrap driver"]:
        for net in s.nets(Role.OUTPUT):
            gate = view.gates.get(net)
            pair = ways(view, gate) if gate is not None else None
            if pair is None or not all(pair.sizes):
                continue
            ratio = pair.proportion if view.one_kind is not Kind.P else 1 / pair.proportion
            if ratio < STRONG:
                names, mates = (pair.first, pair.second) if view.one_kind is not Kind.P else (pair.second, pair.first)
                text = f"{named(names)}, lifted, has {ratio:.2g} times the length over width of {named(mates)} below it"
                repair = f"measure {named(names)} again: both conduct while {net} is low"
                yield Slip("odd proportion", text, (*names, *mates), (net,), repair)


def _pulls(scene: Scene) -> Iterator[Slip]:
    """Yield transistors that are always on at a pad that is read, and no weaker than what drives inside."""
    view = scene.view
    switched = [s.resistance for s in view.prepared.switches if s.names and s.resistance and not _always(s.way.value)]
    if len(switched) < 2:
        return
    usual = median(switched)
    for net, gate in view.gates.items():
        stage = view.stages[net]
        if (gate.kind != "load" and gate.term != "tie cell") or not (net in view.readers or net in view.controlled):
            continue
        if net not in view.ports and not any(net in e.nodes for e in view.netlist.elements if e.kind == "resistor"):
            continue
        for i in [i for side in stage.loads.values() for i in side]:
            s = view.prepared.switches[i]
            if s.names and s.resistance and s.resistance < usual:
                text = f"{s.names[0]} holds {net}, a pad, by a transistor as strong as what drives inside"
                repair = f"measure {s.names[0]} again: what only holds a pad is long and narrow"
                yield Slip("odd proportion", text, s.names, (net,), repair)


def _always(way: int) -> bool:
    return way == 1


def ways(view: View, gate: Gate) -> Pair | None:
    """Return the two sides of a stage by the worst way to each rail; None where there are too many ways."""
    rails = view.prepared.supplies
    up, down = (_worst(view, gate, nets) for nets in (rails.high, rails.low))
    if up is None or down is None:
        return None
    return Pair(gate.output, up[1], down[1], (up[0], down[0]), "stage")


def _worst(view: View, gate: Gate, rail: frozenset[str]) -> tuple[float, tuple[str, ...]] | None:
    """Return the greatest resistance of a way from a stage's output to a rail, and its transistors."""
    members = set(gate.members)
    best: tuple[float, tuple[str, ...]] | None = None
    stack: list[tuple[str, float, tuple[int, ...]]] = [(gate.output, 0.0, ())]
    count = 0
    while stack:
        net, total, way = stack.pop()
        if net in rail:
            best = max(best or (0.0, ()), (total, tuple(n for i in way for n in view.prepared.switches[i].names)))
            count += 1
            if count > MOST_WAYS:
                return None
            continue
        if net in view.prepared.supplies.nets:
            continue
        been = {gate.output, *(n for i in way[:-1] for n in view.prepared.switches[i].ends)}
        for i in view.prepared.at.get(net, ()):
            s = view.prepared.switches[i]
            if i in members and i not in way and s.resistance and s.other(net) not in been:
                stack.append((s.other(net), total + s.resistance, (*way, i)))
    return best


def named(names: Sequence[str]) -> str:
    return " and ".join(names[:3]) + (" …" if len(names) > 3 else "")
