"""
Merge what a layout draws in several pieces: parallel fingers, channels split in series, the private nodes of parallel
stacks; and see a transistor whose ends are tied as the capacitor that it is.
"""

from collections import Counter
from collections.abc import Hashable
from dataclasses import replace
from math import gcd

from layoutdrill.netlist.model import Element, Netlist, Transistor
from layoutdrill.netlist.split import join_series

_Around = dict[str, list[tuple[Hashable, str, int]]]
"""For each private node, the transistors that lead from it: (what, to, width)."""


def merge_fingers(netlist: Netlist) -> Netlist:
    """
    Return the netlist with transistors in parallel as one: same kind, mode, gate, ends, body and length.

    Width and fingers add up; the one that stands first gives the name, so the order stays.
    """
    first: dict[Hashable, Transistor] = {}
    for t in netlist.transistors:
        key = (t.kind, t.mode, t.gate, t.ends, t.body, t.length)
        old = first.get(key)
        first[key] = t if old is None else replace(old, width=old.width + t.width, fingers=old.fingers + t.fingers)
    return replace(netlist, transistors=tuple(first.values()))


def as_acting(netlist: Netlist) -> Netlist:
    """
    Return the netlist with every transistor whose source and drain are one net as a capacitor from there to its gate.

    That is how a layout makes one (common practice), whether its reader wrote M or C. A device whose terminals are
    all on one net does nothing, as the unused transistors of a gate array do that are tied off whole: it is left out.
    """
    tied = [t for t in netlist.transistors if t.source == t.drain]
    idle = [e for e in netlist.elements if len(set(e.nodes)) < 2]
    if not tied and not idle:
        return netlist
    plates = tuple(Element(t.name, "capacitor", "", (t.gate, t.source)) for t in tied if t.gate != t.source)
    kept = tuple(t for t in netlist.transistors if t.source != t.drain)
    return replace(netlist, transistors=kept, elements=tuple(e for e in netlist.elements if e not in idle) + plates)


def merge_splits(netlist: Netlist) -> Netlist:
    """
    Return the netlist with every device once, however many pieces it is drawn in.

    Fingers in parallel, channels and resistors split in series at a private node, resistors, capacitors and diodes in
    parallel: each becomes one device with the name of its first piece.
    """
    count = -1
    while count != (count := len(netlist.transistors) + len(netlist.elements)):
        netlist = join_series(_merge_elements(merge_fingers(netlist)))
    return netlist


def _merge_elements(netlist: Netlist) -> Netlist:
    """Merge elements of one kind between the same two nets; a diode's two ways round stay apart."""
    first: dict[Hashable, Element] = {}
    for e in netlist.elements:
        key = (e.kind, e.nodes if e.kind == "diode" else tuple(sorted(e.nodes)))
        first[key] = replace(first[key], values=_beside(first[key], e)) if key in first else e
    return replace(netlist, elements=tuple(first.values()))


def _beside(one: Element, other: Element) -> tuple[tuple[str, str], ...]:
    """Return the values of two in parallel where both are written: capacitors add, resistors by their conductances."""
    mine, their = one.value, other.value
    if not mine or not their:
        return ()
    if one.kind == "resistor":
        return (("R", f"{mine * their / (mine + their):.6g}"),)
    return (("C", f"{mine + their:.6g}"),)


def merge_stacks(netlist: Netlist) -> Netlist:
    """
    Return the netlist with corresponding private nodes of parallel stacks joined, and then its fingers merged.

    A private node is no port and drives no gate. Two are joined when the same transistors (kind, mode, length, gate,
    body; widths in the same ratio) lead from both to the same nets, counting nodes that are joined themselves as the
    same: then they divide the voltage alike, and stand at one voltage. So it is right for logic, and equal in steady
    state; the drawing, though, has no wire there. Nodes that no chain of transistors leads to a port or gate net
    stay apart.

    Method: the coarsest partition of the private nodes that agrees with their surroundings, by refinement.
    """
    fixed = set(netlist.ports) | {t.gate for t in netlist.transistors} | {t.body for t in netlist.transistors}
    fixed |= {node for e in netlist.elements for node in e.nodes}
    around: _Around = {}
    for t in netlist.transistors:
        what = (t.kind, t.mode, t.length, t.gate, t.body)
        for here, there in ((t.source, t.drain), (t.drain, t.source)):
            if here not in fixed:
                around.setdefault(here, []).append((what, there, t.width or 1))
    classes = _classes(around)
    heads: dict[int, str] = {}
    joined: dict[str, str] = {}
    barred = {
        classes[net] for net, links in around.items() if any(classes.get(to) == classes[net] for _, to, _ in links)
    }
    anchored = _anchored(around)
    for net in around:
        if net in anchored and classes[net] not in barred:
            joined[net] = heads.setdefault(classes[net], net)
    return merge_fingers(replace(netlist, transistors=tuple(t.renamed(joined) for t in netlist.transistors)))


def _classes(around: _Around) -> dict[str, int]:
    """Refine private nodes from all in one class until every class sees the same surroundings."""
    classes = dict.fromkeys(around, 0)
    count = 1
    while True:
        seen: dict[Hashable, int] = {}
        new: dict[str, int] = {}
        for net, links in around.items():
            view: Counter[Hashable] = Counter()
            for what, to, width in links:
                view[what, classes.get(to, to)] += width
            unit = gcd(*view.values())
            ratios = frozenset((key, width // unit) for key, width in view.items())
            new[net] = seen.setdefault((classes[net], ratios), len(seen))
        if len(seen) == count:
            return new
        classes, count = new, len(seen)


def _anchored(around: _Around) -> set[str]:
    """Return the private nodes that a chain of transistors leads to a net that is not private."""
    reached = {net for net, links in around.items() if any(to not in around for _, to, _ in links)}
    edge = list(reached)
    while edge:
        net = edge.pop()
        for _, to, _ in around[net]:
            if to in around and to not in reached:
                reached.add(to)
                edge.append(to)
    return reached
