"""Pair stores as the two halves of a register bit, the master before the slave."""

from layoutdrill.recognise.work import Store, Work, literal
from layoutdrill.simulate.expression import Expression, equivalent
from layoutdrill.simulate.minimal import complement

MOST_BEHIND = 60
"""So many nets are looked at for the marker behind a load line."""


def pair_registers(work: Work, stores: list[Store]) -> list[tuple[Store, Store]]:
    """
    Pair each store with the one it feeds, master before slave, where their enables are opposite or two phases.

    Chains are walked from their heads, so that a slave is never taken for the master of the next bit; in a ring, the
    store that nothing outside sees is the master.
    """
    by_output: dict[str, Store] = {}
    for store in stores:
        for net in store.outputs:
            by_output.setdefault(net, store)
    pairs: list[tuple[Store, Store]] = []
    taken: set[Store] = set()
    for direct in (True, False):  # a store that feeds the other straight is the master, whatever runs back
        fed = {s: before for s in stores if (before := _masters(work, by_output, s, direct=direct))}
        followers: dict[Store, list[Store]] = {}
        for store in stores:
            for master in fed.get(store, ()):
                followers.setdefault(master, []).append(store)
        front = [s for s in stores if s not in fed]
        rest = sorted(stores, key=lambda s: (_is_seen(work, s), work.view.place[s.node]))
        queued = set(front)
        while True:
            for master in front:
                slave = _slave_of(work, master, followers.get(master, []), taken)
                if slave is not None:
                    pairs.append((master, slave))
                    taken |= {master, slave}
                    behind = followers.get(slave, [])
                else:
                    behind = followers.get(master, []) if master in taken else []
                front += [s for s in behind if s not in queued]
                queued |= set(behind)
            front = [s for s in rest if s not in queued | taken and s in followers][:1]
            if not front:
                break
            queued.add(front[0])
    return pairs


def _masters(work: Work, by_output: dict[str, Store], slave: Store, *, direct: bool) -> list[Store]:
    """Return the stores that feed a store, straight or through logic."""
    masters = [by_output.get(net) if direct else _behind(work, by_output, net) for net in slave.data]
    return [master for master in masters if master is not None and master is not slave]


def _slave_of(work: Work, master: Store, followers: list[Store], taken: set[Store]) -> Store | None:
    """Return the store that takes over from a master."""
    if master in taken:
        return None
    for slave in followers:
        if slave in taken:
            continue
        unread = len(slave.gates) == 1 and slave.node in slave.gates and not slave.static
        if opposite(master.enable, slave.enable) or not (unread or _loaded_apart(work, master, slave)):
            return slave
    return None


def _is_seen(work: Work, store: Store) -> bool:
    """Tell whether a port, or more than one gate or switch outside, takes a store's outputs."""
    view = work.view
    readers = {r for net in store.outputs for r in view.readers.get(net, ())} - set(store.outputs)
    links = {k for net in store.outputs for k in view.links_at.get(net, ())} - store.links
    return bool(set(store.outputs) & view.ports) or len(readers) + len(links) > 1


def _loaded_apart(work: Work, master: Store, slave: Store) -> bool:
    """
    Tell whether two latches are words of two stages and no pair: each is let in by a gate, and behind the two gates
    stand other set-reset pairs, the markers of the stages. Two phases from one generator have the same pair behind.
    """
    if not (master.static and slave.static):
        return False
    behind = []
    for store in (master, slave):
        phase = literal(store.enable)
        gate = work.view.gates.get(phase[0]) if phase else None
        if gate is None or not work.view.steady(gate.output) or len(gate.inputs) < 2:
            return False
        behind.append(_pairs_behind(work, gate.output))
    return all(behind) and behind[0] != behind[1]


def _pairs_behind(work: Work, net: str) -> frozenset[frozenset[str]]:
    """Return the set-reset pairs behind a net, through at most a few dozen gates and switches."""
    view = work.view
    pairs: set[frozenset[str]] = set()
    seen = {net}
    queue = [net]
    for here in queue:
        gate = view.gates.get(here)
        sources = list(gate.inputs) if gate is not None else []
        crossed = [n for n in sources if here in getattr(view.gates.get(n), "inputs", ())]
        if gate is not None and len(gate.inputs) > 1 and crossed:
            pairs |= {frozenset((here, n)) for n in crossed}
            continue
        sources += [view.links[k].source for k in view.links_at.get(here, ()) if view.links[k].sink == here]
        new = [n for n in sources if n and n not in seen]
        seen |= set(new)
        queue += new
        if len(queue) > MOST_BEHIND:
            return frozenset()
    return frozenset(pairs)


def _behind(work: Work, by_output: dict[str, Store], net: str) -> Store | None:
    """Look through up to two steady gates that stand between two halves."""
    view = work.view
    for _ in range(2):
        gate = view.gates.get(net)
        if gate is None or not view.steady(net):
            return None
        for source in gate.inputs:
            if source in by_output:
                return by_output[source]
        if len(gate.inputs) != 1:
            return None
        net = gate.inputs[0]
    return None


def opposite(first: Expression | None, second: Expression | None) -> bool:
    return first is not None and second is not None and equivalent(first, complement(second))
