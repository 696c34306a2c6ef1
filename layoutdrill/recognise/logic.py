"""Gather gates and switches that compute one named function: AND, XOR, multiplexer, adder, decoder."""

from layoutdrill.netlist.roles import Role
from layoutdrill.recognise.adding import find_adders
from layoutdrill.recognise.functions import Named, decoder_address, name_function
from layoutdrill.recognise.gates import static_term, substitute
from layoutdrill.recognise.model import Port
from layoutdrill.recognise.nodes import Node, clock_ports, expand, find_nodes, readers_first, users
from layoutdrill.recognise.work import Called, Work, literal
from layoutdrill.simulate.expression import Expression, Not, text, truth, variables

MOST_LEAVES = 6
ENABLED = 7
"""Inputs of a 4:1 multiplexer that can be held."""
DEEPEST = 8


def find_logic(work: Work) -> None:
    """Gather all free steady gates and complete switch networks, outputs first."""
    nodes = find_nodes(work)
    claimed = control_inverters(work)
    find_adders(work, nodes, claimed)
    for net in readers_first(nodes):
        if net in claimed or net not in nodes:
            continue
        members, named = _grow(work, nodes, net, claimed)
        _take(work, nodes, net, members, named, claimed)


def control_inverters(work: Work) -> set[str]:
    """Return the free inverters that feed nothing but controls of switches and stages, or other such inverters."""
    view = work.view
    inverters: set[str] = set()
    changed = True
    while changed:
        changed = False
        for net in work.free_gates - inverters:
            gate = view.gates[net]
            if gate.inverter_of is None or net in view.ports or net in view.links_at:
                continue
            readers = view.readers.get(net, [])
            if not readers and net not in view.controlled:
                continue
            if all(r in inverters or net in view.gates[r].controls for r in readers):
                inverters.add(net)
                changed = True
    return inverters


def _grow(work: Work, nodes: dict[str, Node], net: str, claimed: set[str]) -> tuple[set[str], Named | None]:
    """Return the largest cone of gates behind `net`, used by nothing else, whose function has a name."""
    ports = work.view.ports
    members = [net]
    inside = {net}
    beyond = dict.fromkeys(nodes[net].reads)
    row = literal(nodes[net].form) is not None  # inverters one after the other, which have no name together
    best: tuple[set[str], Named | None] = ({net}, None)
    inverting_end = isinstance(nodes[net].form, Not) and len(nodes[net].reads) == 1
    for _ in range(DEEPEST):
        named = None
        if len(members) == 1 or not row:
            form, leaves = expand(nodes, net, inside)
            if len(leaves) > MOST_LEAVES + 2:
                break
            wide = len(leaves) > MOST_LEAVES + (len(leaves) == ENABLED)
            nameless = wide or (len(leaves) == 1 and len(members) > 1)
            named = None if nameless else name_function(truth(form, leaves), leaves)
            if named is None and not nameless:
                named = _chosen_as_read(work, nodes, inside, form)
        if named is not None and (len(members) == 1 or _worth(named, inverting_end, members)):
            best = (set(members), named)
            if named.term in _UNITS:
                break  # larger ones are trees of these
        nearer = [
            n
            for n in beyond
            if n in nodes and n not in claimed and n not in ports and users(work, nodes, n) <= inside
        ]  # fmt: skip
        if not nearer or len(members) > 24:
            break
        members.extend(nearer)
        inside.update(nearer)
        for member in nearer:
            row = row and literal(nodes[member].form) is not None
            beyond.update(dict.fromkeys(nodes[member].reads))
        beyond = {n: None for n in beyond if n not in inside}
    return best


def _chosen_as_read(work: Work, nodes: dict[str, Node], inside: set[str], form: Expression) -> Named | None:
    """Return a multiplexer over the nets that it reads, where it is one but for what it reads by an inverse alone."""
    leaves = variables(form)
    instead: dict[str, tuple[str, bool]] = {}
    senses: dict[str, set[tuple[str, bool]]] = {}
    for m in inside:
        for net in nodes[m].reads:
            root, straight = work.view.root(net)
            if net not in inside and root in leaves:
                senses.setdefault(root, set()).add((net, straight))
    for root, read in senses.items():
        if len(read) == 1 and not next(iter(read))[1]:
            instead[root] = next(iter(read))
    if not instead:
        return None
    turned = substitute(form, instead)
    names = tuple(sorted(variables(turned), key=work.view.place.__getitem__))
    named = name_function(truth(turned, names), names)
    return named if named is not None and "multiplexer" in named.term else None


_UNITS = ("XOR2", "XNOR2", "2:1 multiplexer")


def _worth(named: Named, inverting_end: bool, members: list[str]) -> bool:
    """Tell whether a name is one that several gates go by, not one that any logic happens to fit."""
    kind = named.term.rstrip("0123456789")
    if named.inverted:
        return False
    if kind in ("XOR", "XNOR", "majority gate", "minority gate") or "multiplexer" in kind:
        return True
    return inverting_end and len(members) == 2 and kind in ("AND", "OR", "AO", "OA")


def _take(
    work: Work,
    nodes: dict[str, Node],
    net: str,
    members: set[str],
    named: Named | None,
    claimed: set[str],
) -> None:
    view = work.view
    gates = {g for m in members for g in nodes[m].gates}
    links = {k for m in members for k in nodes[m].links}
    if not work.free(gates, links):
        return
    claimed |= members
    if len(members) == 1 and not links and view.gates[net].kind == "clocked":
        s = view.gate_structure(view.gates[net])
        work.build(Called(s.term, s.also, s.notes), gates, links, list(s.ports), s.function)
        return
    named = _as_read(work, nodes, members, named)
    single = view.gates.get(net) if len(members) == 1 and not links else None
    term = single.term if single is not None else named.term if named is not None else "complex gate"
    if single is not None and named is not None and (term == "complex gate" or named.term in _UNITS):
        term = named.term
    selects = set(named.selects) if named is not None else set()
    reads = dict.fromkeys(n for m in members for n in nodes[m].reads if n not in members)
    ports = []
    for n in sorted(reads, key=view.place.__getitem__):
        role = Role.SELECT if view.root(n)[0] in selects else Role.INPUT
        ports.append(Port(n, role, view.partner(n, tuple(sorted(reads, key=view.place.__getitem__)))))
    ports += clock_ports(work, gates)
    ports.append(Port(net, Role.OUTPUT))
    form = single.form if single is not None else named.form if named is not None else nodes[net].form
    also = (single.term,) if single is not None and term != single.term else ()
    notes = tuple(single.notes) if single is not None else ()
    if single is not None and single.kind == "ratioed":
        notes = (*notes, "ratioed: a load against the drivers")
    work.build(Called(term, also, notes), gates, links, ports, f"{net} = {text(form)}")


def _as_read(work: Work, nodes: dict[str, Node], members: set[str], named: Named | None) -> Named | None:
    """Return an XOR or XNOR over the nets that it reads, where it reads one by its inverse alone."""
    if named is None or named.term.rstrip("0123456789") not in ("XOR", "XNOR"):
        return named
    leaves = variables(named.form)
    instead: dict[str, tuple[str, bool]] = {}
    for m in members:
        for net in nodes[m].reads:
            root, straight = work.view.root(net)
            if net not in members and root in leaves:
                before = instead.setdefault(root, (net, straight))
                if before != (net, straight):
                    return named
    if all(straight for _, straight in instead.values()):
        return named
    form = substitute(named.form, instead)
    names = tuple(sorted(variables(form), key=work.view.place.__getitem__))
    return name_function(truth(form, names), names) or named


def address_of(work: Work, inputs: tuple[str, ...], form: Expression) -> tuple[tuple[str, ...], tuple[int, ...]] | None:
    """Return the address lines (root nets) and the code that a gate answers, or None where it answers several."""
    rooted = work.view.rooted(form)
    names = tuple(sorted(variables(rooted), key=work.view.place.__getitem__))
    if len(names) != len(inputs) or not 2 <= len(names) <= 8 or static_term(form) == "complex gate":
        return None
    code = decoder_address(rooted, names)
    return (names, code) if code is not None else None
