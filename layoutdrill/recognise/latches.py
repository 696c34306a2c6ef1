"""Find stores: nets behind switches whose level comes back to them by a loop, or stays as charge."""

from layoutdrill.recognise.gates import Gate
from layoutdrill.recognise.pairing import opposite
from layoutdrill.recognise.view import View
from layoutdrill.recognise.work import Store, Work, literal
from layoutdrill.simulate.expression import Expression, Not, Or, truth, variables
from layoutdrill.simulate.minimal import minimal

LONGEST = 3
"""A latch's loop has at most this many steady gates (one inverter each way, and one for a set or a reset)."""


def find_latches(work: Work) -> list[Store]:
    """Find every store: nets behind switches whose level comes back to them by a loop, or stays as charge."""
    view = work.view
    stores = []
    candidates = dict.fromkeys([*(link.sink for link in view.links if link.source), *view.tri])
    facing = facing_stages(view)
    for node in candidates:
        store = _latch(work, node) if node not in facing else None
        if store is not None:
            stores.append(store)
    for store in stores:  # complements may have been found on the way
        if store.enable is not None:
            store.enable = view.rooted(store.enable)
    return stores


def facing_stages(view: View) -> dict[str, str]:
    """Return ports that a tri-state stage drives from one another, by what each is driven from: two ways, no store."""
    source: dict[str, str] = {}
    for net, gates in view.tri.items():
        if len(gates) == 1 and len(gates[0].inputs) == 1 and net in view.ports and not view.links_at.get(net):
            source[net] = view.root(gates[0].inputs[0])[0]
    return {a: b for a, b in source.items() if a != b and source.get(b) == a}


def _incoming(work: Work, node: str) -> list[tuple[tuple[str, ...], Expression, Gate | int]]:
    """Return the switched drivers of a net: data nets, enable over roots, and the tri-state gate or link."""
    view = work.view
    drivers: list[tuple[tuple[str, ...], Expression, Gate | int]] = []
    for k in view.links_at.get(node, ()):
        link = view.links[k]
        if k in work.free_links and link.source and link.sink == node:
            drivers.append(((link.source,), view.rooted(link.when), k))
    for gate in view.tri.get(node, ()) if node in work.free_gates else ():
        assert gate.enable is not None
        drivers.append((gate.inputs, gate.enable, gate))
    return drivers


def _latch(work: Work, node: str) -> Store | None:
    view = work.view
    incoming = _incoming(work, node)
    if not incoming or _always_driven(view, node, incoming):
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


def _always_driven(view: View, node: str, incoming: list[tuple[tuple[str, ...], Expression, Gate | int]]) -> bool:
    """Tell whether a constant is switched in where nothing else is: then nothing is kept."""
    pull = view.pulled(node)
    if pull is None or len(incoming) != 1:
        return False
    return opposite(incoming[0][1], view.rooted(pull[1]))


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
    controls: dict[str, None] = {}
    for gate in view.tri.get(node, ()):
        controls.update(dict.fromkeys(gate.controls))
    for k in sorted(links):
        controls.update(dict.fromkeys(view.links[k].controls))
    for g in gates:
        for other in view.tri.get(g, ()):
            controls.update(dict.fromkeys(other.controls))
    return tuple(controls)


def _follow(work: Work, node: str) -> dict[str, tuple[bool, str]]:
    """Return the nets that follow `node` through steady gates: sense, and the net before."""
    view = work.view
    after: dict[str, tuple[bool, str]] = {}
    front = [(node, True)]
    for _ in range(LONGEST):
        nxt = []
        for net, sense in front:
            for reader in view.readers.get(net, ()):
                gate = view.gates[reader]
                if reader in after or reader == node or reader not in work.free_gates or not view.steady(reader):
                    continue
                after[reader] = (sense != isinstance(gate.form, Not), net)
                nxt.append((reader, after[reader][0]))
        front = nxt
    return after


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
    forced = _gated_reader(work, node, data[0], enable) if not first and isinstance(driver, int) else {}
    first += (forced and [view.readers[node][0]]) or []
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
    return Store(node, data, enable, outputs, controls, gates, links, static=False, forced=forced, holds=tuple(holds))


def _gated_reader(work: Work, node: str, data: str, enable: Expression) -> dict[str, tuple[str, int]]:
    """
    Return what forces the gate that alone reads a charged net, by that net and the level, where it is a second half.

    Such a gate inverts the net unless it is forced; what the net takes comes from one that another phase charges.
    """
    view = work.view
    readers = view.readers.get(node, ())
    gate = work.gate(readers[0]) if len(readers) == 1 else None
    if gate is None or gate.term not in ("NOR2", "NAND2") or node not in gate.inputs or view.links_at[node][1:]:
        return {}
    before = [view.links[k] for k in view.links_at.get(view.root(data)[0], ())]
    if len(before) != 1 or before[0].sink != view.root(data)[0] or view.rooted(before[0].when) == enable:
        return {}
    (other,) = (n for n in gate.inputs if n != node)
    level = _forces(gate.form, other)
    return {other: (gate.output, level)} if level is not None and other in view.ports else {}


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
