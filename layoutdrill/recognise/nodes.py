"""See free gates and complete switch networks as a graph of functions, a node a net."""

from layoutdrill.netlist.roles import Role
from layoutdrill.recognise.model import Port
from layoutdrill.recognise.view import View
from layoutdrill.recognise.work import Work, literal
from layoutdrill.simulate.expression import And, Const, Expression, Not, Or, Var, truth, variables
from layoutdrill.simulate.minimal import complement, minimal
from layoutdrill.value import mutable


@mutable
class Node:
    """A net that logic drives: its function over root nets, the nets it reads, its gates and links."""

    net: str
    form: Expression
    reads: tuple[str, ...]
    gates: set[str]
    links: set[int]
    users: frozenset[str] | None = None
    """Who reads the net, once it was asked (`users`)."""


def find_nodes(work: Work) -> dict[str, Node]:
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
        pulled = net in work.free_gates and view.pulled(net) is not None
        ways = len(ks) + pulled
        if (
            ways >= 2
            and (net not in view.gates or pulled)
            and len(view.links_at[net]) - len(ks) == _outgoing(work, net)
        ):
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
        ends = {n for k in ks for n in view.links[k].ends}  # a phase that charges from its own line is no partner
        if not {first, second} & (set(view.gates) | set(roots) | ends) and first != second:
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
    pull = view.pulled(net)
    if pull is not None:  # a constant that is switched in
        level, when = pull[0], view.rooted(pull[1])
        (ones if level else zeros).append(when)
        reads.update(dict.fromkeys(view.gates[net].inputs))
    up, down = Or((*ones, ones[0])), Or((*zeros, zeros[0]))
    names = tuple(sorted({*variables(up), *variables(down)}))
    if len(names) > 10:
        return None
    full = (1 << (1 << len(names))) - 1
    high_rows, low_rows = truth(up, names), truth(down, names)
    if high_rows & low_rows or high_rows | low_rows != full:
        return None
    return Node(net, minimal(high_rows, names), tuple(reads), {net} if pull else set(), set(ks))


def readers_first(nodes: dict[str, Node]) -> list[str]:
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


def users(work: Work, nodes: dict[str, Node], net: str) -> frozenset[str]:
    """Return the nets whose nodes read a node's net; something else that reads it counts as "<other>"."""
    node = nodes[net]
    if node.users is None:
        node.users = _users_now(work.view, nodes, net)
    return node.users


def _users_now(view: View, nodes: dict[str, Node], net: str) -> frozenset[str]:
    users = set(view.readers.get(net, ()))
    for k in (*view.controlled.get(net, ()), *view.links_at.get(net, ())):
        link = view.links[k]
        users.add(link.sink if link.source and (link.sink != net) else "<other>")
        if link.sink == net and link.source:
            users.discard("<other>")
    users.discard(net)
    return frozenset(n if n in nodes else "<other>" for n in users) or frozenset(("<other>",))


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


def clock_ports(work: Work, gates: set[str]) -> list[Port]:
    """Return the phases that switch the loads of some gates, as ports."""
    view = work.view
    phases = {n for net in gates if view.gates[net].kind == "clocked" for n in view.gates[net].controls}
    return [Port(n, Role.CLOCK) for n in sorted(phases, key=view.place.__getitem__)]
