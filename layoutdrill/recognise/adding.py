"""Take the gates of a sum and a carry of the same inputs together: half and full adders, and subtractors."""

from collections.abc import Sequence
from functools import cache
from itertools import product

from layoutdrill.netlist.roles import Role
from layoutdrill.recognise.functions import name_pair
from layoutdrill.recognise.gates import Roots, substitute
from layoutdrill.recognise.model import Port
from layoutdrill.recognise.nodes import Node, clock_ports, readers_first, users
from layoutdrill.recognise.work import Work
from layoutdrill.simulate.expression import Expression, column_of, evaluated, text, truth, variables
from layoutdrill.simulate.minimal import minimal
from layoutdrill.value import value


def find_adders(work: Work, nodes: dict[str, Node], claimed: set[str]) -> None:
    """Take sum and carry of the same two or three inputs together."""
    ports = work.view.ports
    forms: dict[tuple[str, ...], list[tuple[str, Expression, set[str]]]] = {}
    controls = frozenset(claimed)  # inverters of switches, which an adder may take with these
    order = readers_first(nodes)[::-1]
    every = _all_cuts(nodes, order, ports)
    half_sums = {net for net, cuts in every.items() if any(len(c[0]) == 2 and c[1] in (0b0110, 0b1001) for c in cuts)}
    for net, cuts in every.items():
        for leaves, table in cuts:
            if len(leaves) in (2, 3) and _adds(table, len(leaves)):
                inside = _inside(work, nodes, net, leaves)
                if len(inside) > 1 or len(nodes[net].reads) > 2:
                    forms.setdefault(leaves, []).append((net, _shortest(table, leaves), inside))
    for leaves, group in sorted(forms.items(), key=lambda item: (-len(item[0]), item[0])):
        _pair_up(work, nodes, _Sharing(leaves, group), claimed, half_sums, controls)


Cut = tuple[tuple[str, ...], int]
"""Leaves in order, and the function over them as a truth table."""
MOST_CUTS = 24


def _all_cuts(nodes: dict[str, Node], order: list[str], ports: frozenset[str], most: int = 3) -> dict[str, list[Cut]]:
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
        own: dict[Cut, None] = {}
        for combination in product(*choices):
            leaves = tuple(sorted({leaf for part, _ in combination for leaf in part}))
            if len(leaves) <= most:
                table = _composed(form, names, combination, leaves)
                own[leaves, table] = None
        cuts[net] = sorted(own, key=lambda cut: len(cut[0]))[:MOST_CUTS]
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
    ports = view.ports
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


def _shortest(table: int, leaves: tuple[str, ...]) -> Expression:
    """Return the shortest form of a table; most tables come again, over other nets."""
    count = len(leaves)
    return substitute(_shortest_of(table, count), {str(i): (leaves[i], True) for i in range(count)})


@cache
def _shortest_of(table: int, count: int) -> Expression:
    return minimal(table, tuple(str(i) for i in range(count)))


def _own_inverters(work: Work, nodes: dict[str, Node], members: set[str], claimed: set[str]) -> set[str]:
    """Return the inverters inside whose outputs only these members read, but for those that end the gate before."""
    ports = work.view.ports
    own: set[str] = set()
    read = {n for m in members for n in nodes[m].reads}
    front = set(members)
    while front:
        inside = members | own
        reads = {
            n for m in front for n in nodes[m].reads
            if n in nodes and n not in inside and n not in ports and n not in claimed
        }  # fmt: skip
        front = {
            n for n in reads
            if (gate := work.gate(n)) is not None and gate.inverter_of and users(work, nodes, n) <= inside
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


@value
class _Sharing:
    """Nets that are functions of the same leaves: each with its function and the nets inside it."""

    leaves: tuple[str, ...]
    group: list[tuple[str, Expression, set[str]]]


def _pair_up(
    work: Work,
    nodes: dict[str, Node],
    sharing: "_Sharing",
    claimed: set[str],
    half_sums: set[str],
    controls: frozenset[str],
) -> None:
    """Build the adders among the nets of one set of leaves; a half sum inside may be read outside, as its propagate."""
    view = work.view
    ports, leaves = view.ports, sharing.leaves
    group = _one_each(work, sharing.group)
    within = {net for _, _, inside in group for net in inside}
    tops = [
        g for g in group
        if g[0] in ports
        or not any(g[0] in other[2] and other[0] != g[0] for other in group)
        or any(view.links[k].source == g[0] and view.links[k].sink not in within for k in view.links_at.get(g[0], ()))
    ]  # fmt: skip
    for i, (first, form, inside) in enumerate(tops):
        for second, other, inside_too in tops[i + 1 :]:
            if first == second or {first, second} & claimed:
                continue
            members = inside | inside_too
            turned = _read_inverted(work, nodes, members, leaves)
            pair = name_pair(substitute(form, turned), substitute(other, turned), leaves)
            if pair is None or any(m in claimed and m not in controls for m in members):
                continue
            seen = {m for m in members - {first, second} if not users(work, nodes, m) <= members}
            if not seen <= half_sums or len(seen) > 2:
                continue
            members = members | _own_inverters(work, nodes, members, claimed)
            gates = {g for m in members for g in nodes[m].gates}
            links = {k for m in members for k in nodes[m].links}
            if not work.free(gates, links):
                continue
            claimed |= members
            term, place = pair
            total, carry = (first, second) if place == 0 else (second, first)
            reads = sorted({n for m in members for n in nodes[m].reads if n not in members}, key=view.place.__getitem__)
            outer = [Port(n, Role.INPUT, view.partner(n, tuple(reads))) for n in reads]
            outer += [*clock_ports(work, gates), Port(total, Role.OUTPUT), Port(carry, Role.OUTPUT)]
            outer += [Port(n, Role.OUTPUT) for n in sorted(seen, key=view.place.__getitem__)]
            forms = {first: form, second: other}
            shown = {n: text(_shortest(truth(f, leaves), leaves)) for n, f in forms.items()}
            function = f"sum {total} = {shown[total]}, carry {carry} = {shown[carry]}"
            work.build(term, gates, links, outer, function)
