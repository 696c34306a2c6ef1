"""
Put a netlist in an order that depends on the circuit alone, so that every order of lines and names reads the same.

Method: colour refinement, as is usual for graphs (Weisfeiler and Leman 1968; from memory), with the ports told apart
by their place, the supplies by their side, and each net by how many gates it stands behind the inputs. What is then
still alike is alike all round it, or so far from anything that differs that nothing here looks so far; it keeps the
order it came in.
"""

from layoutdrill.netlist.model import Mode, Netlist, Transistor
from layoutdrill.simulate.supplies import Supplies
from layoutdrill.value import value

ROUNDS = 7
_MASK = (1 << 64) - 1
_A, _B = 0x9E3779B97F4A7C15, 0xC2B2AE3D27D4EB4F


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


def _mix(a: int, b: int) -> int:
    a = (a * _A + b * _B + 0x165667B19E3779F9) & _MASK
    a ^= a >> 29
    a = (a * _B) & _MASK
    return a ^ a >> 32


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
    place = {n: i for i, n in enumerate(netlist.ports)}
    colour = {}
    for n in netlist.nets:
        side = 1 if n in supplies.high else 2 if n in supplies.low else 0
        colour[n] = _mix(place.get(n, -1) + 2, _mix(side, depth.get(n, -1) + 2))
    kinds = {t.name: _mix(t.kind == "n", 3 * (t.mode is Mode.DEPLETION)) for t in netlist.transistors}
    for _ in range(ROUNDS):
        seen = dict.fromkeys(colour, 0)
        for t in netlist.transistors:
            gate, a, b = colour[t.gate], colour[t.source], colour[t.drain]
            kind = kinds[t.name]
            both = _mix(kind, a + b & _MASK)
            seen[t.gate] += _mix(both, 5)
            along = _mix(kind, gate)
            seen[t.source] += _mix(along, b)
            seen[t.drain] += _mix(along, a)
        for e in netlist.elements:
            for node in e.nodes:
                seen[node] += _mix(len(e.kind), sum(colour[n] for n in e.nodes) & _MASK)
        colour = {n: _mix(colour[n], seen[n] & _MASK) for n in colour}
    return colour
