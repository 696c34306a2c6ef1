"""
Put a netlist in an order that depends on the circuit alone, so that every order of lines and names reads the same.

Method: colour refinement, as is usual for graphs (Weisfeiler and Leman 1968; from memory), with the ports told apart
by their place, the supplies by their side, and each net by how many gates it stands behind the inputs. What is then
still alike is alike all round it, or so far from anything that differs that nothing here looks so far; it keeps the
order it came in.
"""

from layoutdrill.netlist.model import Kind, Mode, Netlist, Transistor
from layoutdrill.simulate.supplies import Supplies
from layoutdrill.value import value

ROUNDS = 7


@value
class Ordered:
    """A netlist with its transistors in the circuit's own order, and the place of each net in that order."""

    netlist: Netlist
    place: dict[str, int]


def ordered(netlist: Netlist, supplies: Supplies) -> Ordered:
    """Return the netlist in the circuit's own order: ports first as given, then the nets from the inputs on."""
    depth = _depths(netlist, supplies.nets)
    colour = _colours(netlist, supplies, depth)
    ports = set(netlist.ports)
    inner = [n for n in netlist.nets if n not in ports]
    inner.sort(key=lambda n: (depth.get(n, 1 << 30), colour[n]))
    place = {n: i for i, n in enumerate((*netlist.ports, *inner))}

    def key(t: Transistor) -> tuple[int, int, int, int, str]:
        a, b = place[t.source], place[t.drain]
        return (max(a, b), min(a, b), place[t.gate], t.width, t.kind)

    return Ordered(Netlist(netlist.name, netlist.ports, tuple(sorted(netlist.transistors, key=key)),
                           netlist.elements), place)  # fmt: skip


def _depths(netlist: Netlist, rails: frozenset[str]) -> dict[str, int]:
    """Count, for each net, the gates between it and the nearest port that drives gates and is not driven."""
    after: dict[str, set[str]] = {}
    driven: set[str] = set()
    for t in netlist.transistors:
        ends = [e for e in t.ends if e not in rails]
        if len(ends) < len(t.ends):
            driven.update(ends)
        if t.gate not in rails:
            after.setdefault(t.gate, set()).update(ends)
        if len(ends) == 2:
            for a, b in (ends, ends[::-1]):
                after.setdefault(a, set()).add(b)
    front = [p for p in netlist.ports if p in after and p not in driven]
    depth = dict.fromkeys(front, 0)
    level = 0
    while front:
        level += 1
        reached: list[str] = []
        for net in front:
            for other in after.get(net, ()):
                if other not in depth:
                    depth[other] = level
                    reached.append(other)
        front = reached
    return depth


def _colours(netlist: Netlist, supplies: Supplies, depth: dict[str, int]) -> dict[str, int]:
    """Return a number for each net that tells what is round it; hashes of whole numbers are the same in every run."""
    place = {n: i for i, n in enumerate(netlist.ports)}
    number = {n: i for i, n in enumerate(netlist.nets)}
    colour = [
        hash((place.get(n, -1) + 2, 1 if n in supplies.high else 2 if n in supplies.low else 0, depth.get(n, -1) + 2))
        for n in number
    ]
    devices = [
        ((t.kind is Kind.N) + 2 * (t.mode is Mode.DEPLETION), number[t.gate], number[t.source], number[t.drain])
        for t in netlist.transistors
    ]
    elements = [(len(e.kind), [number[n] for n in e.nodes]) for e in netlist.elements]
    told_apart = len(set(colour))
    for _ in range(ROUNDS):
        around = [0] * len(colour)
        for kind, g, s, d in devices:
            gate, a, b = colour[g], colour[s], colour[d]
            around[g] += hash((kind, a + b))
            around[s] += hash((kind, gate, b))
            around[d] += hash((kind, gate, a))
        for size, nodes in elements:
            for node in nodes:
                around[node] += hash((size, sum(colour[n] for n in nodes), 7))
        colour = [hash(pair) for pair in zip(colour, around, strict=True)]
        before, told_apart = told_apart, len(set(colour))
        if told_apart in (before, len(colour)):
            break  # nothing more will differ
    return dict(zip(number, colour, strict=True))
