"""Give ports to a netlist that came without any, as a list of transistors jotted down from a chip does."""

from dataclasses import replace

from layoutdrill.netlist.model import Netlist
from layoutdrill.netlist.roles import Role
from layoutdrill.recognise.model import Recognition
from layoutdrill.simulate.supplies import find_supplies

MOST_TOLD = 16
_NO_STORES = ("pull-up", "pull-down", "pass transistor", "transmission gate", "unknown structure")


def with_ports(netlist: Netlist) -> Netlist:
    """
    Return the netlist with its likely ports, or as it is where it has some or none can be told.

    A net that only drives gates, or that one transmission gate alone meets, is taken for an input, one that at least
    two channels meet and no gate reads for an output, unless it is handed on through a channel; the supplies come
    first. A pad behind a resistor stands for the net before it. A load whose gate is tied to its own end reads
    nothing. Two spellings of one name, as `A` and `a`, are not taken: they are a likely slip.
    """
    if netlist.ports or not netlist.transistors:
        return netlist
    supplies = find_supplies(netlist).nets
    reads = {t.gate for t in netlist.transistors if t.gate not in t.ends}
    meets: dict[str, int] = {}
    for t in netlist.transistors:
        for end in t.ends:
            meets[end] = meets.get(end, 0) + 1
    for element in netlist.elements:
        for node in element.nodes:
            meets[node] = meets.get(node, 0) + 1
    spelt = [net.lower() for net in netlist.nets]
    inputs = [n for n in netlist.nets if n in reads and n not in meets and n not in supplies]
    inputs += [n for n in netlist.nets if meets.get(n) == 2 and n not in reads and _lets_in(n, netlist, reads)]
    pads = _pads(netlist, supplies)
    driven = {net for net in pads.values() if _is_driven(net, netlist)}
    inputs += [pad for pad, net in pads.items() if net in reads and net not in driven]
    inputs = [n for n in inputs if spelt.count(n.lower()) == 1]
    outputs = [n for n in netlist.nets if meets.get(n, 0) > 1 and n not in reads and n not in supplies]
    outputs = [n for n in outputs if _is_driven(n, netlist) and not _hands_on(n, netlist, reads)]
    outputs = [n for n in outputs if n not in pads.values()] + [pad for pad, net in pads.items() if net in driven]
    if not inputs and not outputs:
        return netlist
    return replace(netlist, ports=(*(n for n in netlist.nets if n in supplies), *inputs, *outputs))


def _pads(netlist: Netlist, supplies: frozenset[str]) -> dict[str, str]:
    """Return each net that one resistor joins to a net of transistors, itself meeting none, and that net."""
    if not netlist.elements:
        return {}
    met = {net for t in netlist.transistors for net in t.terminals} | supplies
    beyond: dict[str, list[str]] = {}
    for e in netlist.elements:
        for net, other in (e.nodes[:2], e.nodes[1::-1]):
            if e.kind == "resistor" and net not in met:
                beyond.setdefault(net, []).append(other)
    return {pad: nets[0] for pad, nets in beyond.items() if len(nets) == 1 and nets[0] in met - supplies}


def with_more_ports(recognition: Recognition) -> Netlist:
    """
    Return the netlist with those nets as ports, too, that its stores and arrays turn to the outside.

    A bit line, the data of a latch behind one pass transistor or the outputs of a latch that read each other look, by
    themselves, like loose or inner nets; the structure found round them tells what they are.
    """
    netlist = recognition.netlist
    more: list[str] = []
    behind = set(_pads(netlist, recognition.supplies.nets).values())
    for structure in recognition.structures:
        if structure.term in _NO_STORES:
            continue
        own = set(structure.transistors)
        others = {net for t in netlist.transistors if t.name not in own for net in t.terminals}
        for net in sorted(structure.nets(Role.DATA, Role.BIT_LINE, Role.INPUT, Role.OUTPUT)):
            gates = any(t.gate == net for t in netlist.transistors)
            role_is_input = net in structure.nets(Role.INPUT)
            if net in (*netlist.ports, *more) or net in others or net in behind:
                continue
            if not (role_is_input and gates):
                more.append(net)
    return replace(netlist, ports=(*netlist.ports, *more)) if more else netlist


def told_ports(netlist: Netlist) -> str:
    """Return a sentence that says which ports were taken."""
    supplies = find_supplies(netlist).nets
    nets = [n for n in netlist.ports if n not in supplies]
    rest = f" and {len(nets) - MOST_TOLD} more" if len(nets) > MOST_TOLD else ""
    return (
        f"the netlist names no ports; taken as ports: {' '.join(nets[:MOST_TOLD])}{rest} "
        "(name your own with .subckt NAME PORT …)"
    )


def _is_driven(net: str, netlist: Netlist) -> bool:
    """Tell whether transistors of both kinds, or a load, meet at the net: the middle of a series stack has neither."""
    here = [t for t in netlist.transistors if net in t.ends]
    return len({(t.kind, t.mode) for t in here}) > 1 or len({t.kind for t in netlist.transistors}) == 1


def _lets_in(net: str, netlist: Netlist, reads: set[str]) -> bool:
    """Tell whether the two halves of a transmission gate, and nothing else, lead from a net to one that gates read."""
    here = [t for t in netlist.transistors if net in t.ends]
    beyond = {end for t in here for end in t.ends} - {net}
    whole = len(here) == 2 and len({t.kind for t in here}) == len({t.gate for t in here}) == 2
    return whole and len(beyond) == 1 and beyond <= reads


def _hands_on(net: str, netlist: Netlist, reads: set[str]) -> bool:
    """Tell whether a channel leads from the net to one that gates read, as a pass transistor between stages does."""
    return any((set(t.ends) - {net}) & reads for t in netlist.transistors if net in t.ends and t.gate not in t.ends)
