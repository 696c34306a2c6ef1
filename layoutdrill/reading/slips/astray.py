"""Slips of ends: a load that does not lead to its rail, an inverter's transistor that leads to another stage."""

from collections.abc import Iterator

from layoutdrill.netlist.model import Kind
from layoutdrill.reading.slips.model import Scene, Slip
from layoutdrill.reading.slips.one_way import first_of
from layoutdrill.recognise.switches import Switch
from layoutdrill.recognise.view import View

LEAST_LIKES = 2
"""So many others must be wired in one way before one that is not so is odd."""


def stray_ends(scene: Scene, owners: dict[str, str]) -> Iterator[Slip]:
    """Yield transistors that lead to a signal where their likes lead to a rail; `owners` are known structures."""
    if scene.view.one_kind is not None:
        yield from _stray_loads(scene, owners)
    else:
        yield from _stray_halves(scene, owners)


def _stray_loads(scene: Scene, owners: dict[str, str]) -> Iterator[Slip]:
    """Yield always-on transistors wired as loads are, but between two signals."""
    view = scene.view
    rails = scene.supplies.nets
    far = scene.supplies.high if view.one_kind is Kind.N else scene.supplies.low
    loads = [s for s in view.prepared.switches if s.names and _is_load(s, far) and set(s.ends) & far]
    stray = [s for s in view.prepared.switches if s.names and _is_load(s, far) and not set(s.ends) & rails]
    sizes = {s.resistance for s in loads}
    for s in stray if len(stray) <= max(1, len(loads) // 8) else ():
        if len(loads) < LEAST_LIKES or any(n in owners for n in s.names) or s.in_series:
            continue
        if s.gate in rails and (not s.resistance or s.resistance not in sizes):
            continue  # always on between two signals, and sized as no load is
        mine = s.gate if s.gate in s.ends else next((n for n in s.ends if n in view.gates), s.ends[0])
        text = f"{s.names[0]} joins {' and '.join(s.ends)} always; {len(loads)} loads like it lead to {first_of(far)}"
        repair = f"{s.names[0]} with an end on {first_of(far)} instead of {s.other(mine)}"
        yield Slip("loose end", text, s.names, s.ends, repair)


def _is_load(s: Switch, far: frozenset[str]) -> bool:
    return (s.depletion and s.gate in s.ends) or (not s.depletion and s.gate in far)


def _stray_halves(scene: Scene, owners: dict[str, str]) -> Iterator[Slip]:
    """Yield a single switch on the control that pulls one of its ends the other way: half of an inverter."""
    view = scene.view
    whole = sum(g.inverter_of is not None for g in view.gates.values())
    stray: list[tuple[str, Switch, frozenset[str]]] = []
    for net, gate in view.gates.items():
        if gate.kind not in ("pull-up", "pull-down") or len(gate.members) != 1:
            continue
        (own,) = (view.prepared.switches[i] for i in gate.members)
        kind = Kind.N if own.kind is Kind.P else Kind.P
        rail = scene.supplies.low if kind is Kind.N else scene.supplies.high
        mates = [
            s for i in view.prepared.at.get(net, ())
            if (s := view.prepared.switches[i]).kind is kind and s.gate == own.gate and not set(s.ends) & rail
        ]  # fmt: skip
        others = [i for i in view.prepared.at.get(net, ()) if view.prepared.switches[i] not in (own, *mates)]
        if len(mates) == 1 and not others and not any(n in owners for n in (*own.names, *mates[0].names)):
            stray.append((net, mates[0], rail))
    if len(stray) != 1 or whole < LEAST_LIKES:
        return  # several such are filters, or gates of pass transistors
    ((net, s, rail),) = stray
    text = f"{s.names[0]} leads from {net} to {s.other(net)}; {whole} inverters have theirs on {first_of(rail)}"
    repair = f"{s.names[0]} with an end on {first_of(rail)} instead of {s.other(net)} (then {net} is an inverter)"
    yield Slip("undriven output", text, s.names, (net, s.other(net)), repair)


def crossed_pairs(scene: Scene) -> Iterator[Slip]:
    """Yield two nets that hold each other, alike on both sides but for one transistor that holds."""
    view = scene.view
    switches = view.prepared.switches
    rails = scene.supplies.nets
    seen: set[frozenset[str]] = set()
    for i, s in enumerate(switches):
        for a in s.ends:
            b = s.gate
            pair = frozenset((a, b))
            if a in rails or b in rails or a == b or pair in seen:
                continue
            if not any(switches[k].gate == a for k in view.prepared.at.get(b, ()) if k != i):
                continue
            seen.add(pair)
            yield from _lopsided(view, a, b)


def _lopsided(view: View, a: str, b: str) -> Iterator[Slip]:
    rails = view.prepared.supplies.nets
    reach = {n: {m for i in view.prepared.at.get(n, ()) for m in _nets(view.prepared.switches[i])} for n in (a, b)}
    shared = (reach[a] & reach[b]) | rails

    def side(own: str, other: str) -> list[tuple[str, str, str, str]]:
        label = {own: "own", other: "other"}
        made = []
        for i in view.prepared.at.get(own, ()):
            s = view.prepared.switches[i]
            if not s.names:
                continue  # a resistor
            far = s.other(own)
            gate = label.get(s.gate) or (s.gate if s.gate in shared else "?")
            made.append((str(s.kind), gate, label.get(far) or (far if far in rails else "?"), s.names[0]))
        return made

    first, second = side(a, b), side(b, a)
    for mine, theirs, net, mate in ((first, second, a, b), (second, first, b, a)):
        rest = [m[:3] for m in mine]
        extra = []
        for t in theirs:
            if t[:3] in rest:
                rest.remove(t[:3])
            else:
                extra.append(t)
        beside = [t for t in theirs if t[1] != "other" and t not in extra]
        if len(extra) != 1 or rest or not beside or extra[0][1] != "other" or len(theirs) < 3:
            continue
        kind = "a p" if extra[0][0] == "p" else "an n"
        text = f"{net} and {mate} hold each other, and {net} lacks the transistor that {mate} has in {extra[0][3]}"
        repair = f"look for {kind} transistor gated by {mate} that ends on {net}"
        names = tuple(m[3] for m in mine)
        yield Slip("missing device", text, names, (net, mate), repair)


def _nets(s: Switch) -> tuple[str, ...]:
    return (s.gate, *s.ends)
