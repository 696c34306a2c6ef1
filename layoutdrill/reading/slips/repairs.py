"""Search for the single change after which a stage is a proper gate."""

from collections import Counter
from collections.abc import Collection, Iterator
from dataclasses import replace

from layoutdrill.netlist.model import Kind, Netlist, Transistor
from layoutdrill.reading.slips.model import article
from layoutdrill.reading.slips.screening import Sieve
from layoutdrill.recognise.gates import static_term
from layoutdrill.recognise.looking import look
from layoutdrill.simulate.effort import OutOfEffortError, leave, part, spend
from layoutdrill.simulate.supplies import Supplies

MOST_WORK = 300_000
"""Units of work for the changes of one stage."""
LOOK = 40
"""Units for a full look at a stage, for each transistor of it, besides what its networks take."""
_FIRST = (1, 0, 2)
"""Ranks of changes in the order in which they are tried: the few of kind come first, the many of ends last."""
LARGEST_GROUP = 36
"""Groups of more transistors are reported without a search for the one at fault."""


def group_of(netlist: Netlist, supplies: Supplies, net: str) -> tuple[Transistor, ...]:
    """Return the transistors joined to a net by channels, stopping at the supplies."""
    rails = supplies.nets
    at: dict[str, list[Transistor]] = {}
    for t in netlist.transistors:
        for end in t.ends:
            at.setdefault(end, []).append(t)
    seen: dict[str, Transistor] = {}
    front = [net]
    nets = {net}
    while front:
        here = front.pop()
        for t in at.get(here, ()):
            seen.setdefault(t.name, t)
            for end in t.ends:
                if end not in nets and end not in rails:
                    nets.add(end)
                    front.append(end)
    return tuple(t for t in netlist.transistors if t.name in seen)


def suggest(
    netlist: Netlist, supplies: Supplies, net: str, *, static: bool = False, turned: Collection[str] = ()
) -> list[tuple[str, str, str]]:
    """
    Return single changes after which the stage of `net` is a proper gate: (transistor, the change in words, the gate).

    Tried are another gate net, another end, the other kind, on each transistor of the channel-connected group. The
    plainest result comes first: a gate with a name, that uses no net twice, and changes a gate rather than an end. Left
    out is what leaves an input unread, or a gate floating, when something else does not. With names in `turned`, only
    these transistors are tried, as the other kind.
    """
    group = group_of(netlist, supplies, net)
    if not group or len(group) > LARGEST_GROUP:
        return []
    gates = list(dict.fromkeys(t.gate for t in group))
    nets = list(dict.fromkeys(end for t in group for end in t.ends))
    nets += [n for n in (*sorted(supplies.high), *sorted(supplies.low)) if n not in nets]
    ports = tuple(dict.fromkeys((*gates, net, *(p for p in netlist.ports if p in nets))))
    driven = {end for t in netlist.transistors for end in t.ends} | set(netlist.ports) | supplies.nets
    wanted = {g for g in gates if g in netlist.ports}
    repairs: list[tuple[tuple[int, ...], str, str, str]] = []
    changes = [
        (i, rank, change, words)
        for i, t in enumerate(group)
        for rank, change, words in _changes(t, gates, nets)
        if not turned or (t.name in turned and change.kind is not t.kind)
    ]
    changes.sort(key=lambda tried: _FIRST.index(tried[1]))
    rails = supplies.nets
    sieve = Sieve(group, net, [g for g in gates if g not in rails], frozenset(ports), supplies)
    try:
        with part(MOST_WORK):
            for i, rank, change, words in changes:
                if not sieve.may_pass(i, change):
                    continue
                changed = (*group[:i], change, *group[i + 1 :])
                spend(LOOK * len(group))
                term = _proper(Netlist(netlist.name, ports, changed), supplies, net)
                if term is not None and not (static and term[0] == "precharged gate"):
                    plain = 0 if term[0] not in ("complex gate", "precharged gate") else 1
                    read = {other.gate for other in changed}
                    lost = len(wanted - read) + len(read - driven)
                    repairs.append(((plain, lost, term[1], rank, i), change.name, words, term[0]))
    except OutOfEffortError:
        leave(f"some of the changes that might mend {net}, of {len(group)} transistors")
    repairs.sort()
    repairs = [f for f in repairs if f[0][:2] == repairs[0][0][:2]]
    return [(name, words, term) for _, name, words, term in repairs]


def _changes(t: Transistor, gates: list[str], nets: list[str]) -> Iterator[tuple[int, Transistor, str]]:
    for gate in gates:
        if gate != t.gate:
            yield 0, replace(t, gate=gate), f"{t.name} with its gate on {gate} instead of {t.gate}"
    other = Kind.P if t.kind is Kind.N else Kind.N
    yield 1, replace(t, kind=other), f"{t.name} as {article(other)} transistor"
    for net in nets:
        if net not in t.ends:
            yield 2, replace(t, source=net), f"{t.name} with an end on {net} instead of {t.source}"
            yield 2, replace(t, drain=net), f"{t.name} with an end on {net} instead of {t.drain}"


def _proper(trial: Netlist, supplies: Supplies, net: str) -> tuple[str, int] | None:
    """Return (term, unused inputs and repeats) where the whole group is one proper stage on `net`, else None."""
    view = look(trial, supplies, brief=True)
    gate = view.gates.get(net)
    if (
        gate is None
        or net in gate.inputs
        or gate.kind not in ("static", "tri-state", "precharged")
        or view.links
        or len(view.gates) != 1
    ):
        return None
    if len(gate.members) != len(view.prepared.switches) or view.prepared.idle or view.prepared.capacitors:
        return None
    counts = Counter(t.gate for t in trial.transistors)
    kinds = Counter((t.gate, t.kind) for t in trial.transistors)
    uneven = sum(1 for g in counts if kinds[g, Kind.N] != kinds[g, Kind.P])
    term = gate.term if gate.kind != "static" else static_term(gate.form)
    repeats = sum(n - 2 for n in counts.values() if n > 2)
    return term, uneven + repeats
