"""Find stores that hold by a loop or by charge: cross-coupled pairs, RAM cells, latches, register bits."""

from layoutdrill.netlist.roles import Role
from layoutdrill.recognise.gates import Gate
from layoutdrill.recognise.model import Port
from layoutdrill.recognise.view import View
from layoutdrill.recognise.work import Store, Work, literal
from layoutdrill.simulate.expression import Expression, Not, Or, equivalent, text, truth, variables
from layoutdrill.simulate.minimal import complement, minimal

LONGEST = 3
"""A latch's loop has at most this many steady gates (one inverter each way, and one for a set or a reset)."""

MOST_BEHIND = 60
"""So many nets are looked at for the marker behind a load line."""


def find_ram_cells(work: Work) -> None:
    """Take cross-coupled inverters with what gives access to them."""
    view = work.view
    for q in list(view.gates):
        gate = work.gate(q)
        qn = gate.inverter_of if gate else None
        if qn is None or not q < qn:
            continue
        other = work.gate(qn)
        if other is None or other.inverter_of != q:
            continue
        _ram_cell(work, q, qn)


def _ram_cell(work: Work, q: str, qn: str) -> None:
    view = work.view
    sides: dict[str, list[int]] = {q: [], qn: []}
    for net in (q, qn):
        for k in view.links_at.get(net, ()):
            if k in work.free_links and view.links[k].other(net) not in (q, qn):
                sides[net].append(k)
    links = {k for ks in sides.values() for k in ks}
    gates = {q, qn}
    stacks = [
        net
        for side in (q, qn)
        for net in view.readers.get(side, ())
        if net in work.free_gates and view.gates[net].kind == "pull-down" and len(view.gates[net].inputs) == 2
    ]
    simple = all(view.links[k].term == "pass transistor" and literal(view.links[k].when) for k in links)
    if not links and not stacks:
        if view.readers.get(q) == [qn] and view.readers.get(qn) == [q] and _alone(view, q, qn):
            ports = [Port(q, Role.SIGNAL), Port(qn, Role.SIGNAL, q)]
            work.build("cross-coupled inverters", gates, set(), ports, f"{q} and {qn} hold opposite levels")
        return
    if not simple or not links:
        return
    words = {net: [view.links[k].controls[0] for k in sides[net]] for net in (q, qn)}
    ports = []
    for net in (q, qn):
        for k in sides[net]:
            ports.append(Port(view.links[k].controls[0], Role.WORD_LINE))
            ports.append(Port(view.links[k].other(net), Role.BIT_LINE))
    if words[q] and sorted(words[q]) == sorted(words[qn]):
        for line, pair in ((k, j) for k in sides[q] for j in sides[qn]):
            if view.links[line].controls == view.links[pair].controls:
                first, second = view.links[line].other(q), view.links[pair].other(qn)
                if first > second:
                    first, second = second, first
                ports = [p if p.net != second else Port(second, Role.BIT_LINE, first) for p in ports]
        for net in stacks:
            stack = view.gates[net]
            gates.add(net)
            ports.append(Port(next(n for n in stack.inputs if n not in (q, qn)), Role.WORD_LINE))
            ports.append(Port(net, Role.BIT_LINE))
        word = " or ".join(sorted(set(words[q])))
        note = (f"with a read stack on {', '.join(stacks)}",) if stacks else ()
        work.build("static RAM cell", gates, links, ports, f"holds a bit; {word} joins it to its bit lines", note)
    elif len(words[q]) == len(words[qn]) == 1:
        work.build("memory bit", gates, links, ports, "holds a bit; one line writes it, another reads it",
                   also=("static RAM cell",))  # fmt: skip
    elif len(links) == 1:
        k = next(iter(links))
        inside = q if sides[q] else qn
        out = [n for n in (q, qn) if n != inside]
        ports = [Port(view.links[k].other(inside), Role.DATA), Port(view.links[k].controls[0], Role.ENABLE)]
        ports += [Port(n, Role.OUTPUT) for n in out]
        work.build("latch", gates, links, ports, "holds a bit written through one transistor against a weak loop",
                   also=("static RAM cell", "memory bit"))  # fmt: skip


def _alone(view: View, q: str, qn: str) -> bool:
    return not any(net in view.controlled or net in view.links_at for net in (q, qn))


def find_latches(work: Work) -> list[Store]:
    """Find every store: nets behind switches whose level comes back to them by a loop, or stays as charge."""
    view = work.view
    stores = []
    candidates = dict.fromkeys([*(link.sink for link in view.links if link.source), *view.tri])
    for node in candidates:
        store = _latch(work, node)
        if store is not None:
            stores.append(store)
    for store in stores:  # complements may have been found on the way
        if store.enable is not None:
            store.enable = view.rooted(store.enable)
    return stores


def _incoming(work: Work, node: str) -> list[tuple[tuple[str, ...], Expression, Gate | int]]:
    """Return the switched drivers of a net: data nets, enable over roots, and the tri-state gate or link."""
    view = work.view
    found: list[tuple[tuple[str, ...], Expression, Gate | int]] = []
    for k in view.links_at.get(node, ()):
        link = view.links[k]
        if k in work.free_links and link.source and link.sink == node:
            found.append(((link.source,), view.rooted(link.when), k))
    for gate in view.tri.get(node, ()) if node in work.free_gates else ():
        assert gate.enable is not None
        found.append((gate.inputs, gate.enable, gate))
    return found


def _latch(work: Work, node: str) -> Store | None:
    view = work.view
    incoming = _incoming(work, node)
    if not incoming:
        return None
    gates, links = set[str](), set[int]()
    steady = work.gate(node) if view.steady(node) and node not in view.tri else None
    after = _follow(work, node)
    if steady is not None:
        back = [n for n in steady.inputs if n in after]
        if not back:
            return None
        loop = _path(after, back[0])
        inputs = incoming
        gates |= {node, *loop}
    else:
        feedback = [item for item in incoming if any(n in after for n in item[0])]
        inputs = [item for item in incoming if item not in feedback]
        if not inputs:
            return None
        if not feedback:
            return _dynamic(work, node, inputs, after)
        if len(inputs) == len(feedback) == 1:
            _oppose(view, inputs[0][2], feedback[0][2])
        loop = [n for item in feedback for d in item[0] if d in after for n in _path(after, d)]
        gates |= set(loop)
        for _, _, driver in feedback:
            _add(driver, node, gates, links)
    for _, _, driver in inputs:
        _add(driver, node, gates, links)
    data = tuple(dict.fromkeys(d for item in inputs for d in item[0]))
    enable = inputs[0][1]
    for item in inputs[1:]:
        enable = Or((enable, item[1]))
    if len(inputs) > 1:
        names = tuple(sorted(variables(enable)))
        enable = minimal(truth(enable, names), names) if len(names) <= 8 else enable
    outputs = {n: sense for n, (sense, _) in after.items() if n in gates}
    controls = _controls(view, node, gates, links)
    forced = {net: (node, level) for net, level in view.overrides.get(node, {}).items()}
    for g in gates:
        if view.steady(g):
            for n in view.gates[g].inputs:
                level = _forces(view.gates[g].form, n)
                if n not in gates and n != node and n not in controls and level is not None:
                    forced.setdefault(n, (g, level))
    for net in forced:
        data = tuple(d for d in data if d != net)
    return Store(node, data, enable, {node: True, **outputs}, controls, gates, links, static=True, forced=forced)


def _forces(form: Expression, net: str) -> int | None:
    """Return the level that a gate takes for one value of an input whatever the others are, or None."""
    names = (net, *(n for n in variables(form) if n != net))
    if len(names) < 2:
        return None
    ones = truth(form, names)
    half = 1 << (len(names) - 1)
    full = (1 << half) - 1
    for part in (ones & full, ones >> half):
        if part in (0, full):
            return int(part == full)
    return None


def _oppose(view: View, first: Gate | int, second: Gate | int) -> None:
    """Take the controls of two pass transistors, one that lets in and one that holds, for complements."""
    if not isinstance(first, int) or not isinstance(second, int):
        return
    mine, other = literal(view.links[first].when), literal(view.links[second].when)
    if mine is None or other is None or mine[1] != other[1] or mine[0] == other[0]:
        return
    if any(net in view.gates or net in view.roots for net in (mine[0], other[0])):
        return
    a, b = sorted((mine[0], other[0]), key=view.place.__getitem__)
    view.roots[b] = (a, False)
    view.assumed.append((a, b))


def _add(driver: Gate | int, node: str, gates: set[str], links: set[int]) -> None:
    if isinstance(driver, int):
        links.add(driver)
    else:
        gates.add(node)


def _controls(view: View, node: str, gates: set[str], links: set[int]) -> tuple[str, ...]:
    found: dict[str, None] = {}
    for gate in view.tri.get(node, ()):
        found.update(dict.fromkeys(gate.controls))
    for k in sorted(links):
        found.update(dict.fromkeys(view.links[k].controls))
    for g in gates:
        for other in view.tri.get(g, ()):
            found.update(dict.fromkeys(other.controls))
    return tuple(found)


def _follow(work: Work, node: str) -> dict[str, tuple[bool, str]]:
    """Return the nets that follow `node` through steady gates: sense, and the net before."""
    view = work.view
    found: dict[str, tuple[bool, str]] = {}
    front = [(node, True)]
    for _ in range(LONGEST):
        nxt = []
        for net, sense in front:
            for reader in view.readers.get(net, ()):
                gate = view.gates[reader]
                if reader in found or reader == node or reader not in work.free_gates or not view.steady(reader):
                    continue
                found[reader] = (sense != isinstance(gate.form, Not), net)
                nxt.append((reader, found[reader][0]))
        front = nxt
    return found


def _path(after: dict[str, tuple[bool, str]], net: str) -> list[str]:
    path = []
    while net in after:
        path.append(net)
        net = after[net][1]
    return path


def _dynamic(
    work: Work,
    node: str,
    inputs: list[tuple[tuple[str, ...], Expression, Gate | int]],
    after: dict[str, tuple[bool, str]],
) -> Store | None:
    """Return a store by charge: one switched driver, and something that reads the net."""
    view = work.view
    back = [item for item in inputs if isinstance(item[2], int) and _comes_back(work, node, item[0][0])]
    back = back if len(back) < len(inputs) else []
    fresh = [item for item in inputs if item not in back]
    if len(fresh) != 1 or not literal(fresh[0][1]):
        return None
    data, enable, driver = fresh[0]
    first = [n for n, (_, before) in after.items() if before == node and _inverts(view.gates[n], node)]
    reads_tri = [n for n in view.readers.get(node, ()) if n in view.tri]
    outgoing = [k for k in view.links_at.get(node, ()) if view.links[k].source == node]
    if len(first) != 1 and not reads_tri and not (isinstance(driver, Gate) and node in view.ports):
        return None
    if outgoing and not first:
        return None
    gates, links = set[str](first), set[int]()
    _add(driver, node, gates, links)
    outputs = {node: True} | dict.fromkeys(first, False)
    controls = _controls(view, node, gates, links)
    holds: list[str] = []
    for _, _, link in back:
        assert isinstance(link, int)
        links.add(link)
        holds += [n for n in view.links[link].controls if n not in controls]
    return Store(node, data, enable, outputs, controls, gates, links, static=False, holds=tuple(holds))


def _inverts(gate: Gate, node: str) -> bool:
    """Tell whether a gate inverts a net, always or, with a load on a phase, while that phase is on."""
    return gate.inverter_of == node or (gate.kind in ("push-pull", "clocked") and gate.inputs == (node,))


def _comes_back(work: Work, node: str, net: str) -> bool:
    """Tell whether a net follows `node` through steady gates and one more switch: the second half of a bit."""
    view = work.view
    for here in (node, *_follow(work, node)):
        for k in view.links_at.get(here, ()):
            link = view.links[k]
            if link.source == here and link.sink != node and net in _follow(work, link.sink):
                return True
    return False


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
    found = [by_output.get(net) if direct else _behind(work, by_output, net) for net in slave.data]
    return [master for master in found if master is not None and master is not slave]


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
        found = literal(store.enable)
        gate = work.view.gates.get(found[0]) if found else None
        if gate is None or not work.view.steady(gate.output) or len(gate.inputs) < 2:
            return False
        behind.append(_pairs_behind(work, gate.output))
    return all(behind) and behind[0] != behind[1]


def _pairs_behind(work: Work, net: str) -> frozenset[frozenset[str]]:
    """Return the set-reset pairs behind a net, through at most a few dozen gates and switches."""
    view = work.view
    found: set[frozenset[str]] = set()
    seen = {net}
    queue = [net]
    for here in queue:
        gate = view.gates.get(here)
        sources = list(gate.inputs) if gate is not None else []
        crossed = [n for n in sources if here in getattr(view.gates.get(n), "inputs", ())]
        if gate is not None and len(gate.inputs) > 1 and crossed:
            found |= {frozenset((here, n)) for n in crossed}
            continue
        sources += [view.links[k].source for k in view.links_at.get(here, ()) if view.links[k].sink == here]
        new = [n for n in sources if n and n not in seen]
        seen |= set(new)
        queue += new
        if len(queue) > MOST_BEHIND:
            return frozenset()
    return frozenset(found)


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


def enable_words(enable: Expression | None) -> str:
    found = literal(enable)
    if found:
        return f"{found[0]} is {int(found[1])}"
    return text(enable) if enable is not None else "enabled"


def clock_of(enable: Expression | None) -> tuple[str, ...]:
    return variables(enable) if enable is not None else ()
