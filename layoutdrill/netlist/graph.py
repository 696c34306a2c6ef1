"""
Turn two netlists into one integer graph, in which to look for a match between them.

Devices with the same terminals (parallel fingers of one size) become one node that knows their number, so the nodes
that are left differ in how they are joined.
"""

from collections.abc import Iterable, Sequence
from itertools import count

from layoutdrill.netlist.model import Element, Kind, Mode, Netlist, Transistor
from layoutdrill.value import mutable, value

# A terminal's role; those that may be exchanged share one. A device's type says which roles its terminals have.
END, GATE, BODY = 0, 1, 2
ROLES = 8  # an edge is stored as node * ROLES + role
PLAIN = 3  # terminals of a transistor without body, in the order gate, end, end; no other device has three
_COUNTS = 24  # bits to count edges of one role in
WEIGHT = tuple(1 << (_COUNTS * role) for role in range(ROLES))


@value
class Rules:
    """What counts as a difference besides the connections."""

    lengths: bool = False
    widths: bool = False
    bodies: bool = False
    values: bool = False  # L and W of the other devices
    written: bool = False  # ohms and farads where they are written


@mutable
class Side:
    """One netlist's share: its nets by name, and its devices as types, pins and names, in one order."""

    nets: dict[str, int]
    types: list[int]
    pins: list[tuple[int, ...]]
    names: list[str]
    twins: dict[int, list[str]]  # further names of devices that stand for several


@mutable
class Graph:
    """
    Nodes: nets of A, nets of B, devices of A, devices of B, in this order.

    `edges[node]` holds, for each edge, other node * ROLES + role. `pinned` are pairs of nets known to belong
    together; those have no edges of their own, as the devices at their other ends tell all there is to tell.
    """

    a: Side
    b: Side
    edges: list[Sequence[int]]
    pinned: list[tuple[int, int]]

    @property
    def net_count(self) -> int:
        return len(self.a.nets) + len(self.b.nets)

    @property
    def types(self) -> list[int]:
        return self.a.types + self.b.types

    def nodes_of_a(self) -> tuple[range, range]:
        return range(len(self.a.nets)), range(self.net_count, self.net_count + len(self.a.types))

    def nodes_of_b(self) -> tuple[range, range]:
        return range(len(self.a.nets), self.net_count), range(self.net_count + len(self.a.types), len(self.edges))

    def sides(self) -> bytes:
        """Return 1 for each node of A, 0 for each of B."""
        return b"\1" * len(self.a.nets) + bytes(len(self.b.nets)) + b"\1" * len(self.a.types) + bytes(len(self.b.types))


def build(a: Netlist, b: Netlist, rules: Rules, pairs: Iterable[tuple[str, str]]) -> Graph:
    """Build the graph of A and B; `pairs` are nets (of A, of B) that belong together by name."""
    known: dict[tuple[object, ...], int] = {}
    pairs = list(pairs)
    one = _side(a, rules, known, 0, [x for x, _ in pairs])
    other = _side(b, rules, known, len(one.nets), [y for _, y in pairs])
    pinned = [(one.nets[x], other.nets[y]) for x, y in pairs]
    fixed = bytearray(len(one.nets) + len(other.nets))
    for pair in pinned:
        fixed[pair[0]] = fixed[pair[1]] = 1
    nets = len(one.nets) + len(other.nets)
    of_nets: list[list[int]] = [[] for _ in range(nets)]
    edges: list[Sequence[int]] = [*of_nets, *one.pins, *other.pins]
    for node in range(nets, len(edges)):
        code = node * ROLES
        for pin in edges[node]:
            net = pin // ROLES
            if not fixed[net]:
                of_nets[net].append(code + pin % ROLES)
    return Graph(one, other, edges, pinned)


class _Numbers(dict[str, int]):
    """Names numbered as they are first asked for."""

    first = 0

    def __missing__(self, name: str) -> int:
        number = self[name] = self.first + len(self)
        return number


def _side(netlist: Netlist, rules: Rules, known: dict[tuple[object, ...], int], first: int, named: list[str]) -> Side:
    nets = _Numbers(zip(named, count(first), strict=False))
    nets.first = first
    index: dict[tuple[int, ...], int] = {}
    names: list[str] = []
    twins: dict[int, list[str]] = {}
    key: tuple[int, ...]
    for t in netlist.transistors:
        kind = known.setdefault(transistor_type(t, rules), len(known))
        gate = nets[t.gate] * ROLES + GATE
        one = nets[t.source] * ROLES
        other = nets[t.drain] * ROLES
        key = (kind, gate, one, other) if one <= other else (kind, gate, other, one)
        if rules.bodies and t.body:
            key += (nets[t.body] * ROLES + BODY,)
        at = index.setdefault(key, len(names))
        if at == len(names):
            names.append(t.name)
        else:
            twins.setdefault(at, []).append(t.name)
    for e in netlist.elements:
        kind = known.setdefault(element_type(e, rules), len(known))
        pins = [nets[n] * ROLES + role for n, role in zip(e.nodes, roles(e), strict=True)]
        if len(pins) == PLAIN:
            pins.append(pins[-1])  # told twice, so that it is not taken for a transistor
        at = index.setdefault((kind, *sorted(pins)), len(names))
        if at == len(names):
            names.append(e.name)
        else:
            twins.setdefault(at, []).append(e.name)
    types = [key[0] for key in index]
    for at, more in twins.items():
        types[at] = known.setdefault((types[at], len(more)), len(known))
    return Side(nets, types, [key[1:] for key in index], names, twins)


def transistor_type(t: Transistor, rules: Rules) -> tuple[object, ...]:
    """What two transistors must have in common to be matched, besides their nets."""
    return (
        t.kind is Kind.N,
        t.mode is Mode.ENHANCEMENT,
        t.length if rules.lengths else 0,
        t.width if rules.widths else 0,
        rules.bodies and t.body != "",
    )


def element_type(e: Element, rules: Rules) -> tuple[object, ...]:
    """Likewise for another device: its kind, and its sizes and value when those count; model names never do."""
    sizes = tuple(sorted((k, v) for k, v in e.values if k in {"L", "W"})) if rules.values else ()
    value = (e.value_told,) if rules.written else ()
    return (e.kind, len(e.nodes), *sizes, *value)


def roles(e: Element) -> tuple[int, ...]:
    """Return the role of each node: a diode's are told apart, a resistor's and a capacitor's are not."""
    if e.kind in {"resistor", "capacitor"} and len(e.nodes) == 2:
        return (END, END)
    return tuple(min(at, ROLES - 1) for at in range(len(e.nodes)))
