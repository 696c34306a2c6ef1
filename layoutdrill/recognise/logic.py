"""Gather gates and switches that compute one named function: AND, XOR, multiplexer, adder, decoder."""

from collections.abc import Sequence
from itertools import product

from layoutdrill.netlist.roles import Role
from layoutdrill.recognise.functions import Named, decoder_address, name_function, name_pair
from layoutdrill.recognise.gates import Roots, static_term, substitute
from layoutdrill.recognise.model import Port
from layoutdrill.recognise.work import Work, literal
from layoutdrill.simulate.expression import (
    And,
    Const,
    Expression,
    Not,
    Or,
    Var,
    column_of,
    evaluated,
    text,
    truth,
    variables,
)
from layoutdrill.simulate.minimal import complement, minimal
from layoutdrill.value import mutable

MOST_LEAVES = 6
DEEPEST = 8


@mutable
class Node:
    """A net that logic drives: its function over root nets, the nets it reads, its gates and links."""

    net: str
    form: Expression
    reads: tuple[str, ...]
    gates: set[str]
    links: set[int]


def find_logic(work: Work) -> None:
    """Gather all free steady gates and complete switch networks, outputs first."""
    nodes = _nodes(work)
    claimed = control_inverters(work)
    _adders(work, nodes, claimed)
    for net in _order(nodes):
        if net in claimed or net not in nodes:
            continue
        members, named = _grow(work, nodes, net, claimed)
        _take(work, nodes, net, members, named, claimed)


def control_inverters(work: Work) -> set[str]:
    """Return the free inverters that feed nothing but controls of switches and stages, or other such inverters."""
    view = work.view
    found: set[str] = set()
    changed = True
    while changed:
        changed = False
        for net in work.free_gates - found:
            gate = view.gates[net]
            if gate.inverter_of is None or net in view.netlist.ports or net in view.links_at:
                continue
            readers = view.readers.get(net, [])
            if not readers and net not in view.controlled:
                continue
            if all(r in found or net in view.gates[r].controls for r in readers):
                found.add(net)
                changed = True
    return found


def _nodes(work: Work) -> dict[str, Node]:
    view = work.view
    nodes = {}
    for net in sorted(work.free_gates, key=view.place.__getitem__):
        gate = view.gates[net]
        if (view.steady(net) and gate.kind != "Schmitt" and net not in view.links_at) or (
            view.steady(net)
            and gate.kind != "Schmitt"
            and all(view.links[k].source == net or k not in work.free_links for k in view.links_at[net])
        ):
            nodes[net] = Node(net, view.rooted(gate.form), gate.inputs, {net}, set())
    sinks: dict[str, list[int]] = {}
    for k in sorted(work.free_links):
        link = view.links[k]
        if link.source:
            sinks.setdefault(link.sink, []).append(k)
    for net, ks in sinks.items():
        if len(ks) >= 2 and net not in view.gates and len(view.links_at[net]) - len(ks) == _outgoing(work, net):
            node = _switched(work, net, ks)
            if node is not None:
                nodes[net] = node
    return nodes


def _outgoing(work: Work, net: str) -> int:
    return sum(1 for k in work.view.links_at[net] if work.view.links[k].source == net)


def _switched(work: Work, net: str, ks: list[int]) -> Node | None:
    """Return the function of a net behind switches, where for every input one is closed and none disagree."""
    view = work.view
    ones: list[Expression] = []
    zeros: list[Expression] = []
    reads: dict[str, None] = {}
    roots = dict(view.roots)
    alone = [literal(view.links[k].when) for k in ks]
    if len(ks) == 2 and alone[0] and alone[1] and alone[0][1] == alone[1][1]:
        first, second = alone[0][0], alone[1][0]
        if not {first, second} & (set(view.gates) | set(roots)) and first != second:
            low, high = sorted((first, second), key=view.place.__getitem__)
            roots[high] = (low, False)
            view.roots[high] = (low, False)
            view.assumed.append((low, high))
    for k in sorted(ks):
        link = view.links[k]
        when, data = view.rooted(link.when), view.rooted(Var(link.source))
        ones.append(And((when, data)))
        zeros.append(And((when, complement(data))))
        reads.update(dict.fromkeys((link.source, *link.controls)))
    up, down = Or((*ones, ones[0])), Or((*zeros, zeros[0]))
    names = tuple(sorted({*variables(up), *variables(down)}))
    if len(names) > 10:
        return None
    full = (1 << (1 << len(names))) - 1
    high_rows, low_rows = truth(up, names), truth(down, names)
    if high_rows & low_rows or high_rows | low_rows != full:
        return None
    return Node(net, minimal(high_rows, names), tuple(reads), set(), set(ks))


def _order(nodes: dict[str, Node]) -> list[str]:
    """Return the nets, readers before what they read."""
    seen: set[str] = set()
    done: list[str] = []
    for top in nodes:
        stack = [(top, 0)]
        while stack:
            net, at = stack.pop()
            if at == 0:
                if net in seen:
                    continue
                seen.add(net)
            reads = [n for n in nodes[net].reads if n in nodes and n not in seen]
            if reads:
                stack.append((net, 1))
                stack.append((reads[0], 0))
            else:
                done.append(net)
    return done[::-1]


def _users(work: Work, nodes: dict[str, Node], net: str) -> set[str]:
    """Return the nets whose nodes read a net; something else that reads it counts as "<other>"."""
    view = work.view
    found = set(view.readers.get(net, ()))
    for k in (*view.controlled.get(net, ()), *view.links_at.get(net, ())):
        link = view.links[k]
        found.add(link.sink if link.source and (link.sink != net) else "<other>")
        if link.sink == net and link.source:
            found.discard("<other>")
    found.discard(net)
    return {n if n in nodes else "<other>" for n in found} or {"<other>"}


def _grow(work: Work, nodes: dict[str, Node], net: str, claimed: set[str]) -> tuple[set[str], Named | None]:
    """Return the largest cone of gates behind `net`, used by nothing else, whose function has a name."""
    ports = work.view.netlist.ports
    members = [net]
    best: tuple[set[str], Named | None] = ({net}, None)
    inverting_end = isinstance(nodes[net].form, Not) and len(nodes[net].reads) == 1
    for _ in range(DEEPEST):
        form, leaves = expand(nodes, net, set(members))
        if len(leaves) > MOST_LEAVES + 2:
            break
        nameless = len(leaves) > MOST_LEAVES or (len(leaves) == 1 and len(members) > 1)  # of inverters in a row, none
        named = None if nameless else name_function(truth(form, leaves), leaves)
        if named is not None and (len(members) == 1 or _worth(named, inverting_end, members)):
            best = (set(members), named)
            if named.term in _UNITS:
                break  # larger ones are trees of these
        inside = set(members)
        nxt = [
            n
            for m in members
            for n in nodes[m].reads
            if n in nodes and n not in inside and n not in claimed and n not in ports
            and _users(work, nodes, n) <= inside
        ]  # fmt: skip
        if not nxt or len(members) > 24:
            break
        members.extend(dict.fromkeys(nxt))
    return best


_UNITS = ("XOR2", "XNOR2", "2:1 multiplexer")


def _worth(named: Named, inverting_end: bool, members: list[str]) -> bool:
    """Tell whether a name is one that several gates go by, not one that any logic happens to fit."""
    kind = named.term.rstrip("0123456789")
    if named.inverted:
        return False
    if kind in ("XOR", "XNOR", "majority gate", "minority gate") or "multiplexer" in kind:
        return True
    return inverting_end and len(members) == 2 and kind in ("AND", "OR", "AO", "OA")


def expand(nodes: dict[str, Node], net: str, inside: set[str]) -> tuple[Expression, tuple[str, ...]]:
    """Return the function of a net over the roots of what its cone reads."""
    memo: dict[str, Expression] = {}

    def of(name: str) -> Expression:
        if name not in memo:
            memo[name] = Var(name)  # a loop stops at itself
            memo[name] = _insert(nodes[name].form, {n: of(n) for n in variables(nodes[name].form) if n in inside})
        return memo[name]

    form = of(net)
    return form, tuple(sorted(variables(form)))


def _insert(form: Expression, values: dict[str, Expression]) -> Expression:
    if isinstance(form, Var):
        return values.get(form.name, form)
    if isinstance(form, Not):
        return complement(_insert(form.term, values))
    if not isinstance(form, Const):
        return type(form)(tuple(_insert(t, values) for t in form.terms))
    return form


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
    named = _as_read(work, nodes, members, named)
    single = view.gates.get(net) if len(members) == 1 and not links else None
    term = single.term if single is not None else named.term if named is not None else "complex gate"
    if single is not None and named is not None and "multiplexer" in named.term:
        term = named.term
    selects = set(named.selects) if named is not None else set()
    reads = dict.fromkeys(n for m in members for n in nodes[m].reads if n not in members)
    ports = []
    for n in sorted(reads, key=view.place.__getitem__):
        role = Role.SELECT if view.root(n)[0] in selects else Role.INPUT
        ports.append(Port(n, role, view.partner(n, tuple(sorted(reads, key=view.place.__getitem__)))))
    ports.append(Port(net, Role.OUTPUT))
    form = single.form if single is not None else named.form if named is not None else nodes[net].form
    also = (single.term,) if single is not None and term != single.term else ()
    notes = tuple(single.notes) if single is not None else ()
    if single is not None and single.kind == "ratioed":
        notes = (*notes, "ratioed: a load against the drivers")
    work.build(term, gates, links, ports, f"{net} = {text(form)}", notes, also)


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


def _adders(work: Work, nodes: dict[str, Node], claimed: set[str]) -> None:
    """Take sum and carry of the same two or three inputs together."""
    ports = set(work.view.netlist.ports)
    forms: dict[tuple[str, ...], list[tuple[str, Expression, set[str]]]] = {}
    order = _order(nodes)[::-1]
    for net, cuts in _all_cuts(nodes, order, ports).items():
        for leaves, table in cuts:
            if len(leaves) in (2, 3) and _adds(table, len(leaves)):
                inside = _inside(work, nodes, net, leaves)
                if len(inside) > 1 or len(nodes[net].reads) > 2:
                    forms.setdefault(leaves, []).append((net, minimal(table, leaves), inside))
    for leaves, group in sorted(forms.items(), key=lambda item: (-len(item[0]), item[0])):
        _pair_up(work, nodes, leaves, group, claimed)


Cut = tuple[tuple[str, ...], int]
"""Leaves in order, and the function over them as a truth table."""
MOST_CUTS = 24


def _all_cuts(nodes: dict[str, Node], order: list[str], ports: set[str], most: int = 3) -> dict[str, list[Cut]]:
    """
    Return, for each net, the ways to see it as a function of at most `most` nets behind it.

    Method: enumeration of cuts as in technology mapping (Cong and Ding 1994; from memory), the smallest kept.
    """
    cuts: dict[str, list[Cut]] = {}
    for net in order:
        form = nodes[net].form
        names = variables(form)
        if len(names) > 2 * most:
            cuts[net] = []
            continue
        choices: list[list[Cut]] = []
        for name in names:
            inner = cuts.get(name, []) if name not in ports else []
            choices.append([((name,), 0b10), *inner])
        found: dict[Cut, None] = {}
        for combination in product(*choices):
            leaves = tuple(sorted({leaf for part, _ in combination for leaf in part}))
            if len(leaves) <= most:
                table = _composed(form, names, combination, leaves)
                found[leaves, table] = None
        cuts[net] = sorted(found, key=lambda cut: len(cut[0]))[:MOST_CUTS]
    return cuts


def _composed(form: Expression, names: tuple[str, ...], parts: Sequence[Cut], leaves: tuple[str, ...]) -> int:
    """Return the table over the leaves of a form whose variables are given as tables over theirs."""
    count = len(leaves)
    columns = {}
    for name, (inner, table) in zip(names, parts, strict=True):
        if inner == (name,):
            columns[name] = column_of(leaves.index(name), count)
            continue
        places = [count - 1 - leaves.index(leaf) for leaf in inner]
        column = 0
        for row in range(1 << count):
            at = 0
            for place in places:
                at = at << 1 | row >> place & 1
            column |= (table >> at & 1) << row
        columns[name] = column
    return evaluated(form, columns, (1 << (1 << count)) - 1)


def _inside(work: Work, nodes: dict[str, Node], net: str, leaves: tuple[str, ...]) -> set[str]:
    """Return the nets between a net and the leaves of a cut."""
    view = work.view
    inside = {net}
    front = [net]
    for here in front:
        for n in nodes[here].reads:
            if n not in inside and n in nodes and view.root(n)[0] not in leaves:
                inside.add(n)
                front.append(n)
    return inside


def _adds(table: int, count: int) -> bool:
    """Tell whether a table is a parity, or a carry up to inverted inputs."""
    if count == 2:
        return table in (0b0110, 0b1001) or table.bit_count() in (1, 3)
    return table in (0b10010110, 0b01101001) or (table.bit_count() == 4 and table in _CARRIES)


_CARRIES = frozenset(
    sum(1 << r for r in range(8) if sum((r >> i & 1) ^ (flips >> i & 1) for i in range(3)) >= 2) for flips in range(8)
)


def _one_each(work: Work, group: list[tuple[str, Expression, set[str]]]) -> list[tuple[str, Expression, set[str]]]:
    """Leave of nets that copy or invert each other the one that other things read, ports first."""
    view = work.view
    ports = set(view.netlist.ports)
    classes: dict[str, list[tuple[str, Expression, set[str]]]] = {}
    for item in group:
        classes.setdefault(view.root(item[0])[0], []).append(item)
    within = {net for _, _, inside in group for net in inside}
    chosen = []
    for alike in classes.values():

        def outside(net: str) -> int:
            readers = [r for r in view.readers.get(net, ()) if r not in within]
            onward = [k for k in view.links_at.get(net, ()) if view.links[k].sink != net]
            return len(readers) + len(view.controlled.get(net, ())) + len(onward)

        listed = [item for item in alike if item[0] in ports]
        chosen += listed or [min(alike, key=lambda item: (outside(item[0]) == 0, len(item[2]), view.place[item[0]]))]
    return chosen


def _own_inverters(work: Work, nodes: dict[str, Node], members: set[str], others: set[str]) -> set[str]:
    """Return the inverters whose outputs only these members read, but for those that end the gate before."""
    own: set[str] = set()
    read = {n for m in members for n in nodes[m].reads}
    front = set(members)
    while front:
        reads = {n for m in front for n in nodes[m].reads if n in nodes and n not in members | own | others}
        front = {
            n for n in reads
            if (gate := work.gate(n)) is not None and gate.inverter_of and _users(work, nodes, n) <= members | own
            and (gate.inverter_of not in nodes or gate.inverter_of in read)
        }  # fmt: skip
        own |= front
    return own


def _read_inverted(work: Work, nodes: dict[str, Node], members: set[str], leaves: tuple[str, ...]) -> Roots:
    """Return the leaves that the members read only by their inverse, each with that sense."""
    senses: dict[str, set[bool]] = {}
    for m in members:
        for net in nodes[m].reads:
            root, straight = work.view.root(net)
            if net not in members and root in leaves:
                senses.setdefault(root, set()).add(straight)
    return {leaf: (leaf, False) for leaf in leaves if senses.get(leaf) == {False}}


def _pair_up(
    work: Work,
    nodes: dict[str, Node],
    leaves: tuple[str, ...],
    group: list[tuple[str, Expression, set[str]]],
    claimed: set[str],
) -> None:
    view = work.view
    ports = set(view.netlist.ports)
    group = _one_each(work, group)
    tops = [g for g in group if g[0] in ports or not any(g[0] in other[2] and other[0] != g[0] for other in group)]
    for i, (first, form, inside) in enumerate(tops):
        for second, other, inside_too in tops[i + 1 :]:
            if first == second or {first, second} & claimed:
                continue
            members = inside | inside_too
            turned = _read_inverted(work, nodes, members, leaves)
            pair = name_pair(substitute(form, turned), substitute(other, turned), leaves)
            if pair is None or members & claimed:
                continue
            if any(not _users(work, nodes, m) <= members for m in members - {first, second}):
                continue
            members = members | _own_inverters(work, nodes, members, ports | claimed)
            gates = {g for m in members for g in nodes[m].gates}
            links = {k for m in members for k in nodes[m].links}
            if not work.free(gates, links):
                continue
            claimed |= members
            term, place = pair
            total, carry = (first, second) if place == 0 else (second, first)
            reads = sorted({n for m in members for n in nodes[m].reads if n not in members}, key=view.place.__getitem__)
            found = [Port(n, Role.INPUT, view.partner(n, tuple(reads))) for n in reads]
            found += [Port(total, Role.OUTPUT), Port(carry, Role.OUTPUT)]
            forms = {first: form, second: other}
            shown = {n: text(minimal(truth(f, leaves), leaves)) for n, f in forms.items()}
            function = f"sum {total} = {shown[total]}, carry {carry} = {shown[carry]}"
            work.build(term, gates, links, found, function)


def address_of(work: Work, inputs: tuple[str, ...], form: Expression) -> tuple[tuple[str, ...], tuple[int, ...]] | None:
    """Return the address lines (root nets) and the code that a gate answers, or None where it answers several."""
    rooted = work.view.rooted(form)
    names = tuple(sorted(variables(rooted), key=work.view.place.__getitem__))
    if len(names) != len(inputs) or not 2 <= len(names) <= 8 or static_term(form) == "complex gate":
        return None
    code = decoder_address(rooted, names)
    return (names, code) if code is not None else None
