"""Slips at nets that a clock charges: one that nothing charges beside its likes, one let go while it is charged."""

from collections import Counter, defaultdict
from collections.abc import Iterator

from layoutdrill.reading.slips.model import Scene, Slip
from layoutdrill.recognise.switches import Switch
from layoutdrill.recognise.view import View
from layoutdrill.value import mutable

LEAST_LIKES = 2
"""So many nets that are opened by the same lines must be charged before one that is not is odd."""
LEAST_ROW = 3
"""Charged nets of a carry line."""


@mutable
class Reach:
    """What switches lead to each net: to a rail, by the net that gates them, and to other nets."""

    rail: dict[str, dict[str, Switch]]
    beside: dict[str, list[tuple[str, str]]]

    @classmethod
    def of(cls, view: View) -> "Reach":
        rails = view.prepared.supplies.nets
        rail: dict[str, dict[str, Switch]] = defaultdict(dict)
        beside: dict[str, list[tuple[str, str]]] = defaultdict(list)
        for s in view.prepared.switches:
            a, b = s.ends
            if a in rails or b in rails:
                if not s.depletion:
                    rail[b if a in rails else a][s.gate] = s
                continue
            beside[a].append((b, s.gate))
            beside[b].append((a, s.gate))
        return cls(rail, beside)

    def gates(self, net: str) -> frozenset[str]:
        return frozenset((*self.rail.get(net, ()), *(g for _, g in self.beside.get(net, ()))))


def charging_slips(scene: Scene) -> Iterator[Slip]:
    """Yield the slips at charged nets."""
    reach = Reach.of(scene.view)
    clocks: dict[str, list[str]] = defaultdict(list)
    for net, ways in reach.rail.items():
        for clock in ways:
            if clock in scene.view.ports and clock not in scene.view.gates and clock not in scene.supplies.nets:
                clocks[clock].append(net)
    for clock, nets in clocks.items():
        if len(nets) >= LEAST_LIKES:
            yield from _unlike(scene, reach, clock, nets)
            yield from _in_a_row(scene, reach, clock, nets)
    yield from _let_go_at_once(scene)


def _charges(scene: Scene, net: str) -> bool:
    """Tell whether nothing steady drives a net: what pulls it one way, or joins it to others, is all there is."""
    gate = scene.view.gates.get(net)
    return (gate is None or gate.kind in ("pull-up", "pull-down")) and net not in scene.dynamic


def _unlike(scene: Scene, reach: Reach, clock: str, nets: list[str]) -> Iterator[Slip]:
    """Yield the one net that the same lines open as several which a clock charges, and that nothing charges."""
    likes: dict[frozenset[str], list[str]] = defaultdict(list)
    for net in nets:
        if rest := reach.gates(net) - {clock}:
            likes[rest].append(net)
    for rest, charged in likes.items():
        if len(charged) < LEAST_LIKES:
            continue
        some = next(iter(rest))
        near = {n for s in scene.view.prepared.switches if s.gate == some for n in s.ends}
        odd = [
            n for n in sorted(near - scene.supplies.nets - set(charged))
            if reach.gates(n) == rest and _charges(scene, n) and (len(rest) > 1 or n in scene.view.gates)
        ]  # fmt: skip
        if len(odd) == 1:
            yield _uncharged(scene, clock, odd[0], f"{', '.join(charged[:3])}, opened by the same lines, are")


def _in_a_row(scene: Scene, reach: Reach, clock: str, nets: list[str]) -> Iterator[Slip]:
    """Yield the net within a carry line that nothing charges: it has its own way to the rail, as its neighbours."""
    row = {n for n in nets if len(reach.rail[n]) > 1}
    alone = Counter(gate for ways in reach.rail.values() for gate in ways)
    odd = [
        n for n, ways in reach.rail.items()
        if clock not in ways and len(ways) == 1 and alone[next(iter(ways))] == 1 and _charges(scene, n)
        and len({m for m, _ in reach.beside.get(n, ())} & row) > 1
    ]  # fmt: skip
    if len(odd) == 1 and len(row) >= LEAST_ROW:
        yield _uncharged(scene, clock, odd[0], "its neighbours in the row are")


def _uncharged(scene: Scene, clock: str, net: str, others: str) -> Slip:
    names = tuple(n for s in scene.view.prepared.switches if net in s.ends for n in s.names)
    repair = f"look for a transistor gated by {clock} that ends on {net}"
    return Slip("missing device", f"{net} is never charged; {others}, by {clock}", names, (net,), repair)


def _let_go_at_once(scene: Scene) -> Iterator[Slip]:
    """Yield a net that may be let go only while it is charged, where others are let go in another phase."""
    view = scene.view
    if view.one_kind is None:
        return
    charged = {n: g for n, g in view.gates.items() if g.kind == "precharged" and g.controls and n not in scene.dynamic}
    at_once = [n for n, g in charged.items() if g.controls[0] in g.inputs]
    if len(at_once) != 1 or len(charged) <= LEAST_LIKES:
        return
    (net,) = at_once
    clock = charged[net].controls[0]
    lets = [s for s in view.prepared.switches if s.gate == clock and s.names[0] in view.names(charged[net].members)]
    inner = [s for s in lets if not set(s.ends) & scene.supplies.nets or len(lets) == 1]
    names = tuple(n for s in inner for n in s.names)
    others = sorted({c for n, g in charged.items() if n != net for c in g.controls[1:]} - {clock})
    repair = f"{names[0]} with its gate on {' or '.join(others[:3])}?" if names and others else ""
    text = f"{net} is let go by {clock}, which charges it: both at once; {len(charged) - 1} others take turns"
    yield Slip("phase out of turn", text, names, (net, clock), repair)
