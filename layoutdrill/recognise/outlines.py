"""
Name small wholes by how their structures hang together: clocks, keepers, carry chains, charge stores, open drains.

Names are common practice in textbooks (Mead & Conway; Weste & Harris), from memory.
"""

from collections.abc import Mapping, Sequence
from dataclasses import replace

from layoutdrill.netlist.roles import Role
from layoutdrill.recognise.model import Port, Structure
from layoutdrill.recognise.pads import WIDE
from layoutdrill.recognise.view import View
from layoutdrill.simulate.expression import And, Expression, Not

Name = tuple[str, tuple[str, ...], list[str], tuple[Port, ...]]
"""A name, other names, notes, and the ports, perhaps with better roles."""


def name_outline(view: View, structures: Sequence[Structure], ports: tuple[Port, ...]) -> Name | None:
    """Return the name of the whole, or None where none of these fits."""
    for rule in (_keeper, _two_phases, _carry_chain, _charge_store, _open_drain):
        if (name := rule(view, structures, ports)) is not None:
            return name
    return None


def _with_roles(ports: tuple[Port, ...], roles: Mapping[str, Role]) -> tuple[Port, ...]:
    return tuple(replace(port, role=roles.get(port.net, port.role)) for port in ports)


def _keeper(view: View, structures: Sequence[Structure], ports: tuple[Port, ...]) -> Name | None:
    """Name a loop of two inverters of which one side is a port and the other is read by nothing."""
    if len(structures) != 1 or structures[0].term != "cross-coupled inverters":
        return None
    if sum(port.net in view.ports for port in structures[0].ports) != 1:
        return None
    return "bus keeper", ("cross-coupled inverters",), ["the loop's other side is read by nothing"], ports


def _two_phases(view: View, structures: Sequence[Structure], ports: tuple[Port, ...]) -> Name | None:
    """Name crossed gates that a clock sets and its opposite resets."""
    latches = [s for s in structures if s.term == "SR latch"]
    if len(latches) != 1 or any(s.term not in ("SR latch", "inverter", "buffer") for s in structures):
        return None
    roots = [view.root(net) for net in latches[0].nets(Role.SET, Role.RESET)]
    if len(roots) != 2 or roots[0][0] != roots[1][0] or roots[0][1] == roots[1][1]:
        return None
    clocks = {p.net: Role.CLOCK for p in ports if p.role in (Role.SET, Role.RESET)}
    note = "its two outputs are never 1 together"
    return "two-phase clock generator", ("SR latch",), [note], _with_roles(ports, clocks)


def _carry_chain(view: View, structures: Sequence[Structure], ports: tuple[Port, ...]) -> Name | None:
    """Name two or more AND-ORs, each of which takes the one before it."""
    stages = [s for s in structures if s.term in ("AO21", "AOI21", "OA21", "OAI21")]
    if len(stages) < 2 or any(s not in stages and s.term not in ("inverter", "buffer") for s in structures):
        return None
    outputs = {view.root(net)[0]: s for s in stages for net in s.nets(Role.OUTPUT)}
    links = sum(
        any(outputs.get(view.root(net)[0], stage) is not stage for net in stage.nets(Role.INPUT)) for stage in stages
    )
    if links != len(stages) - 1:
        return None
    return "carry chain", (), [f"{len(stages)} stages, each on the carry of the one before"], ports


def _charge_store(view: View, structures: Sequence[Structure], ports: tuple[Port, ...]) -> Name | None:
    """Name a pass transistor to a gate that, with a second one, pulls a line down: a cell of three transistors."""
    by_term = {s.term: s for s in structures}
    if len(structures) != 2 or set(by_term) != {"pass transistor", "pull-down"}:
        return None
    write, read = by_term["pass transistor"], by_term["pull-down"]
    ends, inputs = write.nets(Role.SIGNAL), read.nets(Role.INPUT)
    stored = [net for net in ends if net in inputs and net not in view.ports]
    outputs = read.nets(Role.OUTPUT)
    if len(stored) != 1 or len(inputs) != 2 or len(outputs) != 1 or not _both(view.gates[outputs[0]].form):
        return None
    words = {net: Role.WORD_LINE for net in (*write.nets(Role.ENABLE), *inputs) if net != stored[0]}
    bits = {net: Role.BIT_LINE for net in (*ends, *outputs) if net != stored[0]}
    note = f"the bit is the charge on {stored[0]}"
    return "dynamic RAM cell", (), [note], _with_roles(ports, {**words, **bits})


def _both(form: Expression) -> bool:
    """Tell whether an output is pulled while two nets are active, however many fingers their transistors have."""
    return isinstance(form, Not) and isinstance(form.term, And) and len(form.term.terms) == 2


def _open_drain(view: View, structures: Sequence[Structure], ports: tuple[Port, ...]) -> Name | None:
    """Name a wide transistor that pulls a port one way, with the inverters before it."""
    last = [s for s in structures if s.term in ("pull-down", "pull-up") and s.nets(Role.OUTPUT)]
    if len(last) != 1 or any(s is not last[0] and s.term not in ("inverter", "buffer") for s in structures):
        return None
    order = {t.name: t for t in view.netlist.transistors}
    fingers = sum(order[name].fingers for name in last[0].transistors)
    if fingers < WIDE or not set(last[0].nets(Role.OUTPUT)) & view.ports:
        return None
    return "open-drain output", (last[0].term,), [f"{fingers} fingers pull one way only"], ports
