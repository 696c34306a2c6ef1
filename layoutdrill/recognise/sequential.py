"""
Name a single register bit by what it does next, and a ring of gates that never settles.

The value that a bit takes next is worked out from the gates before it, as a function of the bit itself and of what
comes from outside. Names are common practice in textbooks of digital design (from memory): a toggle flip-flop takes
q ^ t, a JK flip-flop j*!q + !k*q. Counters of several bits are named in `blocks/counting.py`.
"""

from collections.abc import Iterable, Mapping, Sequence
from itertools import permutations, product

from layoutdrill.netlist.roles import Role
from layoutdrill.recognise.model import Port, Structure
from layoutdrill.recognise.single_phase import is_single_phase
from layoutdrill.recognise.view import View
from layoutdrill.simulate.expression import evaluate
from layoutdrill.value import value

MOST_NAMES = 6
"""A next value that depends on more nets than this is not worked out."""


@value
class Bit:
    """A register bit: its output, and what it takes next, as a truth table over the names of outputs and free nets."""

    output: str
    names: tuple[str, ...]
    ones: tuple[bool, ...]

    def stands(self) -> bool:
        """Tell whether it takes its own level, at every edge."""
        return self.names == (self.output,) and self.ones == (False, True)

    def turns(self) -> bool:
        """Tell whether it takes its own opposite."""
        return self.names == (self.output,) and self.ones == (True, False)


def name_flip_flop(
    view: View, structures: Sequence[Structure], ports: tuple[Port, ...]
) -> tuple[str, tuple[str, ...], list[str], tuple[Port, ...]] | None:
    """Return name, other names, notes and ports of a whole whose only store is one register bit, or None."""
    registers = [s for s in structures if s.term == "register bit"]
    if len(registers) != 1:
        return None
    outputs = set(registers[0].nets(Role.OUTPUT))
    bit = next_of(view, registers[0])
    named = _flip_flop(bit) if bit is not None else None
    if named is None:
        return None
    better = tuple(Port(p.net, Role.OUTPUT, p.complement_of) if p.net in outputs else p for p in ports)
    return (*named, better)


def next_of(view: View, register: Structure) -> Bit | None:
    """Return what a register bit takes next; None where that cannot be followed to outputs and free nets."""
    data = _data(register)
    if data is None:
        return None
    outputs = set(register.nets(Role.OUTPUT))
    names = tuple(dict.fromkeys(_leaves(view, data, outputs, set())))
    if len(names) > MOST_NAMES:
        return None
    rows = product((False, True), repeat=len(names))
    ones = tuple(_level(view, data, dict(zip(names, row, strict=True))) for row in rows)
    own = register.nets(Role.OUTPUT)
    if is_single_phase(register):
        ones = tuple(not level for level in ones)
    return Bit(own[0], *_reduced(names, ones)) if own else None


def _data(register: Structure) -> str | None:
    """Return the net that a register bit takes: its first half's, which its own gates may drive."""
    halves = [part for part in register.parts if part.term in ("latch", "dynamic latch")]
    nets = halves[0].nets(Role.DATA) if halves else register.nets(Role.DATA)
    if not nets and is_single_phase(register):
        nets = register.nets(Role.OUTPUT)  # it takes its own output
    return nets[0] if len(nets) == 1 else None


def _leaves(view: View, net: str, stops: set[str], passed: set[str]) -> Iterable[str]:
    if net in stops or not view.steady(net) or net in passed:
        yield net
        return
    for name in view.gates[net].inputs:
        yield from _leaves(view, name, stops, passed | {net})


def _level(view: View, net: str, levels: Mapping[str, bool]) -> bool:
    if net in levels:
        return levels[net]
    gate = view.gates[net]
    return evaluate(gate.form, {name: _level(view, name, levels) for name in gate.inputs})


def _reduced(names: tuple[str, ...], ones: tuple[bool, ...]) -> tuple[tuple[str, ...], tuple[bool, ...]]:
    """Leave out names on which nothing depends."""
    for i, name in enumerate(names):
        step = 1 << (len(names) - 1 - i)
        if all(ones[row] == ones[row ^ step] for row in range(len(ones))):
            rest = tuple(ones[row] for row in range(len(ones)) if not row & step)
            return _reduced(tuple(n for n in names if n != name), rest)
    return names, ones


def _flip_flop(bit: Bit) -> tuple[str, tuple[str, ...], list[str]] | None:
    q = bit.output
    if bit.turns():
        return "toggle flip-flop", ("register bit",), [f"{q} changes at every edge: half the clock's frequency"]
    others = [name for name in bit.names if name != q]
    if q not in bit.names or not 1 <= len(others) <= 2:
        return None
    for order in permutations(others):
        rows = [dict(zip(bit.names, row, strict=True)) for row in product((False, True), repeat=len(bit.names))]
        if len(order) == 1 and all(new == (row[q] != row[order[0]]) for row, new in zip(rows, bit.ones, strict=True)):
            return "toggle flip-flop", ("register bit",), [f"{q} changes at an edge while {order[0]} is 1"]
        if len(order) == 2 and all(
            new == (not row[order[1]] if row[q] else row[order[0]]) for row, new in zip(rows, bit.ones, strict=True)
        ):
            return "JK flip-flop", ("register bit",), [f"j is {order[0]}, k is {order[1]}"]
    return None


def name_loop(view: View, structures: Sequence[Structure]) -> tuple[str, tuple[str, ...], list[str]] | None:
    """Name gates in a ring that never settles: an odd number of inversions, three or more, and nothing that holds."""
    single = [part for s in structures for part in (s.parts if s.term in ("buffer", "delay") else (s,))]
    gates = {s.nets(Role.OUTPUT)[0]: s for s in single if len(s.nets(Role.OUTPUT)) == 1}
    plain = {"inverter", "NAND2", "NOR2", "Schmitt inverter"}
    if len(gates) != len(single) or any(s.term not in plain for s in single):
        return None
    open_ended: set[str] = set()  # nets whose way back is known to end at an input
    for start in gates:
        ring, inside = [start], {start}
        while before := [n for n in view.gates[ring[-1]].inputs if n in gates and n not in view.ports]:
            if len(before) > 1 or before[0] in open_ended or (before[0] in inside and before[0] != start):
                break
            if before[0] == start:
                odd = len(ring) % 2 and all(view.steady(net) for net in ring)
                note = f"{len(ring)} inversions in a ring"
                return ("ring oscillator", ("oscillator",), [note]) if odd and len(ring) > 2 else None
            ring.append(before[0])
            inside.add(before[0])
        if not before or before[0] in open_ended:
            open_ended |= inside
    return None
