"""Decoders: which output an address selects, or leads a signal to, by simulating what lies behind each output."""

from collections.abc import Collection, Mapping

from layoutdrill.netlist.model import Netlist, Transistor
from layoutdrill.netlist.roles import Role
from layoutdrill.question.circuit import AtWork, values_of
from layoutdrill.simulate.levels import Level
from layoutdrill.simulate.table import table
from layoutdrill.value import value

MOST_ADDRESSES = 6
MOST_TRANSISTORS = 900
"""A complementary decoder of six addresses has 780."""


@value
class Selector:
    """
    A decoder by its ports: the addresses, which further inputs always have the opposite of one, the outputs, and the
    input that a tree of switches leads to the output addressed ("" of other decoders).
    """

    addresses: tuple[str, ...]
    opposite: Mapping[str, str]
    outputs: tuple[str, ...]
    data: str = ""

    @property
    def led(self) -> dict[str, int]:
        """The level of the input that is led on."""
        return {self.data: 1} if self.data else {}

    def address_of(self, circuit: AtWork, output: str) -> dict[str, int] | None:
        """Return the one address at which an output's level is another than at all others, None where there is none."""
        supplies = values_of(circuit.process, circuit.netlist)
        fixed = {*supplies, *self.addresses, *self.opposite, self.data}
        cone = cone_of(circuit.netlist, output, fixed)
        truth = table(cone, self.addresses, (output,), supplies, self.led, self.opposite)
        rows = [(dict(zip(self.addresses, row.inputs, strict=True)), row.outputs[0]) for row in truth.rows]
        levels = [level for _, level in rows]
        if not all(level.known or (self.data and level is Level.FLOATING) for level in levels):
            return None
        alone = [row for row, level in rows if levels.count(level) == 1]
        return alone[0] if len(alone) == 1 else None


def selector_of(circuit: AtWork) -> Selector | None:
    """Return a circuit as a decoder, by what its ports are for; None for all else, and for more than can be read."""
    if not 4 <= circuit.netlist.count() <= MOST_TRANSISTORS:
        return None
    used = set(circuit.netlist.nets)
    ports = [port for port in circuit.ports if port.name in used]
    lines = {port.name: port.complement_of for port in ports if port.role is Role.ADDRESS}
    outputs = tuple(port.name for port in ports if port.role is Role.OUTPUT)
    signals = tuple(port.name for port in ports if port.role is Role.SIGNAL)
    others = [port for port in ports if port.role not in (Role.ADDRESS, Role.OUTPUT, Role.SIGNAL)]
    addresses = tuple(name for name, of in lines.items() if not of)
    if others or not 2 <= len(addresses) <= MOST_ADDRESSES:
        return None
    opposite = {name: of for name, of in lines.items() if of}
    if not set(opposite.values()) <= set(addresses):
        return None
    every = 1 << len(addresses)
    if len(outputs) in (1, every) and not signals:  # a column, or all of them; what has others is a ROM
        return Selector(addresses, opposite, outputs)
    if not outputs and len(signals) == 1 + every:
        return Selector(addresses, opposite, signals[1:], signals[0])
    return None


def cone_of(netlist: Netlist, output: str, fixed: Collection[str]) -> Netlist:
    """
    Return the transistors that an output can depend on: those whose channels lead to it without passing a fixed net,
    and those that their gates depend on.
    """
    at: dict[str, list[Transistor]] = {}
    for t in netlist.transistors:
        for end in dict.fromkeys(t.ends):
            at.setdefault(end, []).append(t)
    taken: dict[str, Transistor] = {}
    seen, edge = {output}, [output]
    while edge:
        net = edge.pop()
        if net in fixed and net != output:
            continue
        for t in at.get(net, ()):
            taken.setdefault(t.name, t)
            for other in (t.gate, *t.ends):
                if other not in seen:
                    seen.add(other)
                    edge.append(other)
    kept = tuple(t for t in netlist.transistors if t.name in taken)
    return Netlist(netlist.name, netlist.ports, kept)
