"""Tell what is pulled one way by intent: an open drain, a bit line, a net that a switch or a resistor feeds."""

from layoutdrill.netlist.model import Kind
from layoutdrill.recognise.gates import Gate
from layoutdrill.recognise.view import View
from layoutdrill.simulate.expression import And

WIDE = 3.0
"""A transistor so many times as wide as most drives a pad (common practice: output devices are the widest)."""


def is_fed(view: View, net: str) -> bool:
    """Tell whether a switch, or a resistor, brings the net what the stage does not."""
    for k in view.links_at.get(net, ()):
        link = view.links[k]
        if link.source != net and (link.source or link.other(net) in view.gates):
            return True
    rails = view.prepared.supplies.nets
    return any(e.kind == "resistor" and net in e.nodes[:2] and set(e.nodes[:2]) & rails for e in view.netlist.elements)


def open_drain(view: View, net: str, gate: Gate, open_ports: int, outputs: int) -> bool:
    """
    Tell whether a port that goes one way is an open drain: one transistor, wide, or as most outputs are here.

    One such among outputs that are driven both ways is none unless it is wide.
    """
    if net not in view.ports or len(gate.members) != 1:
        return False
    if _wide(view, gate.members):
        return True
    if view.readers.get(net) or all(t.width for t in view.netlist.transistors):
        return False
    driven = any(n in view.gates for n in gate.inputs)
    return driven and 2 * open_ports > outputs


def many_alike(view: View, net: str) -> bool:
    """Tell whether a net is one of several lines that many stages pull the same way, as the lines of a bus are."""
    return net in view.ports and len(view.stages[net].parts) >= 4


def is_stack(view: View, net: str) -> bool:
    """
    Tell whether a one-way net looks like a bit line: a stack of two with a store behind it, one of it or more.

    A stage with a load that reads one of the two speaks against it: what opens a stack reads no logic.
    """
    inputs = view.gates[net].inputs
    if len(inputs) != 2 or not any(_keeps(view, n) for n in inputs):
        return False
    if not any(isinstance(form, And) for form in view.stages[net].pull.values()):
        return False
    readers = [view.gates[n] for i in inputs for n in view.readers.get(i, ())]
    return not any(g.kind == "ratioed" and len(g.inputs) > 1 for g in readers)


def _keeps(view: View, net: str) -> bool:
    """Tell whether a net inside may hold a level: its stage is in a loop of two, or a switch leads to it."""
    if net not in view.gates or net in view.links_at or not view.steady(net):
        return net in view.gates
    return any(b in view.gates and net in view.gates[b].inputs for b in view.gates[net].inputs)


def decides(view: View, net: str) -> bool:
    """Tell whether a stack of two is read by logic, and by nothing that could be a line's amplifier."""
    readers = [view.gates[n] for n in view.readers.get(net, ())]
    return bool(readers) and all(len(g.inputs) > 1 for g in readers)


def _median_width(view: View, kind: Kind) -> float:
    widths = sorted(t.width for t in view.netlist.transistors if t.kind is kind and t.width)
    return widths[len(widths) // 2] if widths else 0.0


def _wide(view: View, members: tuple[int, ...]) -> bool:
    """Tell whether a stage's transistors are several times as wide as most of their kind."""
    names = set(view.names(members))
    mine = [t for t in view.netlist.transistors if t.name in names]
    return all(t.width and t.width >= WIDE * _median_width(view, t.kind) for t in mine)


def first_of(nets: frozenset[str]) -> str:
    return min(nets) if nets else "the high supply"
