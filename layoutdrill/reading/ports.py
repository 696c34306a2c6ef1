"""Give ports to a netlist that came without any, as a list of transistors jotted down from a chip does."""

from dataclasses import replace

from layoutdrill.netlist.model import Netlist
from layoutdrill.simulate.supplies import find_supplies


def with_ports(netlist: Netlist) -> tuple[Netlist, str]:
    """
    Return the netlist with its likely ports, and a sentence that says which were taken; "" where it has ports.

    A net that only drives gates is taken for an input, one that at least two channels meet and no gate reads for an
    output; the supplies come first. Two spellings of one name, as `A` and `a`, are not taken: they are a likely slip.
    """
    if netlist.ports or not netlist.transistors:
        return netlist, ""
    supplies = find_supplies(netlist).nets
    reads = {t.gate for t in netlist.transistors}
    meets: dict[str, int] = {}
    for t in netlist.transistors:
        for end in t.ends:
            meets[end] = meets.get(end, 0) + 1
    for element in netlist.elements:
        for node in element.nodes:
            meets[node] = meets.get(node, 0) + 1
    spelt = [net.lower() for net in netlist.nets]
    inputs = [n for n in netlist.nets if n in reads and n not in meets and n not in supplies]
    inputs = [n for n in inputs if spelt.count(n.lower()) == 1]
    outputs = [n for n in netlist.nets if meets.get(n, 0) > 1 and n not in reads and n not in supplies]
    outputs = [n for n in outputs if _is_driven(n, netlist)]
    if not inputs and not outputs:
        return netlist, ""
    ports = (*(n for n in netlist.nets if n in supplies), *inputs, *outputs)
    told = [f"{' '.join(nets)} as {role}" for nets, role in ((inputs, "input"), (outputs, "output")) if nets]
    remark = f"the netlist names no ports; taken: {', '.join(told)} (name your own with .subckt NAME PORT …)"
    return replace(netlist, ports=ports), remark


def _is_driven(net: str, netlist: Netlist) -> bool:
    """Tell whether transistors of both kinds, or a load, meet at the net: the middle of a series stack has neither."""
    here = [t for t in netlist.transistors if net in t.ends]
    return len({(t.kind, t.mode) for t in here}) > 1 or len({t.kind for t in netlist.transistors}) == 1
