"""Slips of ends: what leads to a signal and not to its rail; pairs that hold each other, and lack a transistor."""

from collections.abc import Iterator

from layoutdrill.netlist.model import Kind
from layoutdrill.reading.slips.model import Scene, Slip
from layoutdrill.reading.slips.one_way import first_of
from layoutdrill.recognise.gates import static_term, substitute
from layoutdrill.recognise.switches import Switch
from layoutdrill.recognise.view import View
from layoutdrill.recognise.work import literal
from layoutdrill.simulate.expression import Or, truth, variables
from layoutdrill.simulate.minimal import complement

LEAST_OPENED = 3
"""So many transistors of a pair must one line open before a fellow of theirs on another line is odd."""
LEAST_BESIDE = 3
"""So many transistors must end on each of two nets before one gate of them is odd."""
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
    """Yield the switch of a stage that makes it a static gate once its far end is on a rail."""
    view = scene.view
    whole = sum(g.kind == "static" for g in view.gates.values())
    stray: list[tuple[str, Switch, str, frozenset[str], str]] = []
    for net, gate in view.gates.items():
        if gate.kind in _UNLIKE and not any(n in owners for n in view.names(gate.members)) and net not in scene.dynamic:
            stray += [(net, *moved) for moved in _moved(view, net, owners)]
    if not whole or len({net for net, *_ in stray}) != 1:
        return  # several such are filters, or gates of pass transistors
    net, s, far, rail, term = stray[0]
    text = f"{s.names[0]} leads from {net} to {far}; on {first_of(rail)} it would make {net} a whole gate"
    repair = f"{s.names[0]} with an end on {first_of(rail)} instead of {far} (then {net} is {term})"
    yield Slip("networks do not match", text, s.names, (net, far), repair)


_UNLIKE = ("pull-up", "pull-down", "precharged", "torn", "tri-state")
MOST_INPUTS = 10


def _moved(view: View, net: str, owners: dict[str, str]) -> Iterator[tuple[Switch, str, frozenset[str], str]]:
    """Yield switches between a stage's net and another that, led to their rail, complement the other network."""
    low, high = (view.stages[net].pull.get(key) for key in ((Kind.N, "low"), (Kind.P, "high")))
    for k in view.links_at.get(net, ()):
        link = view.links[k]
        mates = [view.prepared.switches[i] for i in link.members]
        last = [s for s in mates if link.other(net) in s.ends]
        if link.term != "pass transistor" or len(last) != 1 or any(n in owners for s in mates for n in s.names):
            continue
        (s,) = last
        down = s.kind is Kind.N
        mine, other = (low, high) if down else (high, low)
        if other is None or net in link.controls:
            continue
        joined = Or((mine, link.when)) if mine is not None else link.when
        names = tuple(sorted({*variables(joined), *variables(other)}))
        if len(names) > MOST_INPUTS or net in names:
            continue
        if truth(joined, names) == (1 << (1 << len(names))) - 1 ^ truth(other, names):
            rail = view.prepared.supplies.low if down else view.prepared.supplies.high
            yield s, link.other(net), rail, static_term(complement(joined if down else other))


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
    yield from _unlike_gate(view, a, b, first, second)
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


Side = list[tuple[str, str, str, str]]
"""What ends on a net: kind, gate and far end as seen from there, and the transistor."""


def _unlike_gate(view: View, a: str, b: str, first: Side, second: Side) -> Iterator[Slip]:
    """Yield the one transistor of two nets that hold each other whose gate is not where its fellow's is."""
    if len(first) != len(second) or len(first) < LEAST_BESIDE:
        return
    rest, extra = [m[:3] for m in first], []
    for t in second:
        if t[:3] in rest:
            rest.remove(t[:3])
        else:
            extra.append(t)
    if len(extra) != 1 or not any(m[1] == "other" for m in first) or not any(m[1] == "other" for m in second):
        return
    here = next(m for m in first if m[:3] == rest[0])
    (there,) = extra
    odd, fellow, net, mate = (there, here, b, a) if there[1] in ("own", "?") else (here, there, a, b)
    opened = sum(m[1] == fellow[1] for m in (*first, *second))
    lines = fellow[1] not in ("own", "?", "other") and opened >= LEAST_OPENED and odd[1] == fellow[2] == "?"
    if here[0] != there[0] or here[2] != there[2] or not (lines or (odd[1], fellow[1]) == ("own", "other")):
        return
    ends = {t.name: set(t.ends) for t in view.netlist.transistors}
    beside = [m for m in (second if odd is there else first) if m[:3] == odd[:3]]
    odd = next((m for m in beside if ends[m[3]] & ends[fellow[3]] - {a, b}), odd)
    text = f"{odd[3]}, at {net}, has its gate elsewhere than {fellow[3]} at {mate}, where all else is alike"
    repair = f"{odd[3]} with its gate on {mate if fellow[1] == 'other' else fellow[1]}?"
    yield Slip("networks do not match", text, (odd[3],), (net, mate), repair)


def mate_of(view: View, net: str) -> str | None:
    """Return the net that alone holds a stage at one rail, and that this one holds so: half of a level shifter."""
    for side in ((Kind.P, "high"), (Kind.N, "low")):
        held = view.stages[net].pull.get(side) if net in view.stages else None
        plain = literal(held)
        mate = view.stages.get(plain[0]) if plain is not None else None
        if plain is None or mate is None or plain[0] == net or literal(mate.pull.get(side)) != (net, plain[1]):
            continue
        if {view.gates[n].kind for n in (net, plain[0])} <= {"torn", "precharged"}:
            return plain[0]
    return None


def crossed_networks(scene: Scene) -> Iterator[Slip]:
    """
    Yield two nets that hold each other at one rail, and that are not brought to the other in turn.

    What brings them there must be opposites wherever they read the same signals; both are held at one rail.
    """
    view = scene.view
    for net in view.stages:
        mate = mate_of(view, net)
        if mate is None or view.place[mate] < view.place[net]:
            continue
        ups = literal(view.stages[net].pull.get((Kind.P, "high")))
        side = (Kind.N, "low") if ups is not None and ups[0] == mate else (Kind.P, "high")
        forms = [substitute(f, view.roots) for n in (net, mate) if (f := view.stages[n].pull.get(side)) is not None]
        names = tuple(sorted({n for f in forms for n in variables(f)} - {net, mate}))
        own = [set(variables(f)) for f in forms]
        held = [_holding(view, n, m) for n, m in ((net, mate), (mate, net))]
        if len(forms) == 2 and len(names) <= MOST_INPUTS and own[0] & own[1] and not {net, mate} & (own[0] | own[1]):
            first, second = (truth(f, names) for f in forms)
            if first != second ^ ((1 << (1 << len(names))) - 1):
                way = "at once" if first & second else "for some inputs not at all"
                text = f"{net} and {mate} hold each other, and are brought away from that {way}"
                members = [i for n in (net, mate) for i in view.gates[n].members]
                yield Slip("networks do not match", text, view.names(members), (net, mate), "one gate is elsewhere")
        if held[0] is not None and held[1] is not None and held[0][1] != held[1][1]:
            text = f"{net} and {mate} hold each other, {net} at {held[0][1]} and {mate} at {held[1][1]}"
            yield Slip("wrong rail", text, (held[0][0], held[1][0]), (net, mate), "both lead to one rail")


def _holding(view: View, net: str, mate: str) -> tuple[str, str] | None:
    """Return the transistor by which a net's mate holds it, and the rail that this leads to."""
    for i in view.prepared.at.get(net, ()):
        s = view.prepared.switches[i]
        if s.gate == mate and s.other(net) in view.prepared.supplies.nets:
            return s.names[0], s.other(net)
    return None


def _nets(s: Switch) -> tuple[str, ...]:
    return (s.gate, *s.ends)
