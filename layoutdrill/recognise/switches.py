"""Prepare transistors for recognition: fingers merged, the always-on, the never-on and the capacitors set apart."""

from collections import defaultdict
from enum import Enum

from layoutdrill.netlist.model import Kind, Mode, Netlist
from layoutdrill.simulate.expression import Const, Expression, Not, Var
from layoutdrill.simulate.strength import resistance
from layoutdrill.simulate.supplies import Supplies
from layoutdrill.value import value

BUS_ENDS = 9
BUS_SIGNALS = 3
"""
A net with so many channel ends, so many of them to different signals, is a line of its own (a bit line, a bus), never
an inner node of a stack.
"""


class Way(Enum):
    """How a transistor conducts."""

    SWITCHED = 0
    ALWAYS = 1
    NEVER = 2


@value
class Switch:
    """One or more parallel transistors with the same gate and ends; a resistor that serves as a load has no names."""

    kind: Kind
    gate: str
    ends: tuple[str, str]
    names: tuple[str, ...]
    way: Way
    depletion: bool
    resistance: float
    in_series: bool = False
    """Whether an implant has closed it for good within a series."""

    @property
    def literal(self) -> Expression:
        """When it conducts, as an expression over its gate."""
        if self.way is Way.ALWAYS:
            return Const(True)
        return Var(self.gate) if self.kind is Kind.N else Not(Var(self.gate))

    def other(self, net: str) -> str:
        return self.ends[1] if self.ends[0] == net else self.ends[0]


@value
class Prepared:
    """
    The circuit as switches. `signals` are the nets that count as signals: supplies and inner nodes of stacks are not.

    `at` gives the switches by net; `capacitors` and `idle` the transistors that are no switches.
    """

    netlist: Netlist
    supplies: Supplies
    switches: tuple[Switch, ...]
    at: dict[str, list[int]]
    gated: dict[str, list[int]]
    inner: frozenset[str]
    capacitors: tuple[str, ...]
    idle: tuple[str, ...]


def prepare(netlist: Netlist, supplies: Supplies) -> Prepared:
    """Sort the transistors of a netlist into switches and others, and its nets into signals and inner nodes."""
    merged: dict[tuple[Kind, str, tuple[str, str], bool], list[int]] = {}
    capacitors: list[str] = []
    idle: list[str] = []
    transistors = netlist.transistors
    rails = supplies.nets
    for i, t in enumerate(transistors):
        if t.source == t.drain or (t.source in rails and t.drain in rails and t.gate in rails):
            (capacitors if t.source == t.drain else idle).append(t.name)
            continue
        merged.setdefault((t.kind, t.gate, t.ends, t.mode is Mode.DEPLETION), []).append(i)
    switches = []
    for (kind, gate, ends, depletion), members in merged.items():
        names = tuple(transistors[i].name for i in members)
        on, off = (supplies.high, supplies.low) if kind is Kind.N else (supplies.low, supplies.high)
        way = Way.ALWAYS if depletion or gate in on else Way.NEVER if gate in off else Way.SWITCHED
        if way is Way.NEVER:
            idle.extend(names)
            continue
        conductances = [1 / r for i in members if (r := resistance(transistors[i]))]
        total = 1 / sum(conductances) if len(conductances) == len(members) else 0.0
        far = supplies.high if kind is Kind.N else supplies.low
        in_series = transistors[members[0]].is_closed_by_implant(rails, far)
        switches.append(Switch(kind, gate, ends, names, way, depletion, total, in_series))
    switches += _resistor_loads(netlist, supplies, switches)
    at: dict[str, list[int]] = defaultdict(list)
    gated: dict[str, list[int]] = defaultdict(list)
    for i, s in enumerate(switches):
        for end in s.ends:
            at[end].append(i)
        if s.gate not in rails:
            gated[s.gate].append(i)
    ports = set(netlist.ports)
    kinds = {s.kind for s in switches}
    far = (supplies.high if kinds == {Kind.N} else supplies.low) if len(kinds) == 1 else frozenset[str]()
    inner = frozenset(
        net
        for net, ends in at.items()
        if net not in rails
        and net not in ports
        and net not in gated
        and len(ends) >= 2
        and (len(ends) < BUS_ENDS or len(_signals(net, [switches[i] for i in ends], gated, ports)) < BUS_SIGNALS)
        and len({switches[i].kind for i in ends}) == 1
        and not any(_is_load(switches[i], rails) for i in ends)
        and not any(switches[i].gate == switches[i].other(net) for i in ends)  # what charges a net from a phase
        and not _has_clocked_load(net, [switches[i] for i in ends], far)
    )
    return Prepared(netlist, supplies, tuple(switches), at, gated, inner, tuple(capacitors), tuple(idle))


def _resistor_loads(netlist: Netlist, supplies: Supplies, switches: list[Switch]) -> list[Switch]:
    """Return resistors from the far rail to nets that transistors of the one kind pull away from it: loads as well."""
    kinds = {s.kind for s in switches}
    if len(kinds) != 1 or not any(e.kind == "resistor" for e in netlist.elements):
        return []
    (kind,) = kinds
    rails, far = (supplies.low, supplies.high) if kind is Kind.N else (supplies.high, supplies.low)
    pulled = {n for s in switches for n in s.ends if s.other(n) in rails or s.other(n) not in supplies.nets}
    pulled &= {s.gate for s in switches} | set(netlist.ports)
    loads = []
    for e in netlist.elements:
        ends = set(e.nodes[:2])
        if e.kind == "resistor" and len(ends) == 2 and ends & far and ends & pulled:
            (rail,), (net,) = ends & far, ends - far
            loads.append(Switch(kind, rail, (rail, net), (), Way.ALWAYS, False, 0.0))
    return loads


def _has_clocked_load(net: str, switches: list[Switch], far: frozenset[str]) -> bool:
    """Tell whether a switch pulls a net to the load's rail; beside the middle of a Schmitt stack one gate rules all."""
    rest = {s.gate for s in switches if s.other(net) not in far}
    return len(rest) > 1 and any(s.other(net) in far for s in switches)


def _signals(net: str, switches: list[Switch], gated: dict[str, list[int]], ports: set[str]) -> set[str]:
    """Return the nets beside a net that gate something or are ports."""
    return {other for s in switches if (other := s.other(net)) in gated or other in ports}


def _is_load(switch: Switch, rails: frozenset[str]) -> bool:
    """Tell whether a switch is a load: always on, with one end on a rail, and not by an implant in a series."""
    return switch.way is Way.ALWAYS and not switch.in_series and any(end in rails for end in switch.ends)
