"""
Name what is made of register bits: flip-flops by what they do next, counters and registers that feed themselves.

The value that a bit takes next is worked out from the gates before it, as a function of the bits themselves and of what
comes from outside. Names are common practice in textbooks of digital design (from memory): a toggle flip-flop takes
q ^ t, a JK flip-flop j*!q + !k*q; a ring counter passes its last bit to its first, a Johnson counter the opposite.
"""

from collections.abc import Iterable, Mapping, Sequence
from itertools import permutations, product

from layoutdrill.netlist.roles import Role
from layoutdrill.recognise.model import Port, Structure
from layoutdrill.recognise.view import View
from layoutdrill.simulate.expression import evaluate
from layoutdrill.value import value

MOST_NAMES = 6
"""A next value that depends on more nets than this is not worked out."""


@value
class Bit:
    """A register bit: its output, and what it takes next, as a truth table over the names of outputs and free nets."""

    structure: Structure
    output: str
    names: tuple[str, ...]
    ones: tuple[bool, ...]

    def takes(self, net: str, *, straight: bool = True) -> bool:
        """Tell whether it takes what another net is, or the opposite."""
        return self.names == (net,) and self.ones == ((False, True) if straight else (True, False))


def name_sequential(
    view: View, structures: Sequence[Structure], ports: tuple[Port, ...]
) -> tuple[str, tuple[str, ...], list[str], tuple[Port, ...]] | None:
    """Return name, other names, notes and ports of a whole whose only stores are register bits, or None."""
    rows = [s for s in structures if s.term in ("shift register", "register row")]
    inside = [part for row in rows for part in row.parts]
    registers = [s for s in (*structures, *inside) if s.term == "register bit"]
    if not registers:
        return None
    outputs = {net for s in registers for net in s.nets(Role.OUTPUT)}
    bits = [_bit(view, s, outputs) for s in registers]
    known = [bit for bit in bits if bit is not None]
    if len(known) < len(bits):
        return None
    better = tuple(Port(p.net, Role.OUTPUT, p.complement_of) if p.net in outputs else p for p in ports)
    if len(known) == 1:
        named = _flip_flop(known[0])
        return None if named is None else (*named, better)
    named = _ripple(view, known) or _fed_back(known)
    return None if named is None else (*named, better)


def _bit(view: View, register: Structure, outputs: set[str]) -> Bit | None:
    """Return what a register bit takes next; None where that cannot be followed to outputs and free nets."""
    data = _data(register)
    if data is None:
        return None
    names = tuple(dict.fromkeys(_leaves(view, data, outputs, set())))
    if len(names) > MOST_NAMES:
        return None
    rows = product((False, True), repeat=len(names))
    ones = tuple(_level(view, data, dict(zip(names, row, strict=True))) for row in rows)
    own = register.nets(Role.OUTPUT)
    return Bit(register, own[0], *_reduced(names, ones)) if own else None


def _data(register: Structure) -> str | None:
    """Return the net that a register bit takes: its first half's, which its own gates may drive."""
    halves = [part for part in register.parts if part.term in ("latch", "dynamic latch")]
    nets = halves[0].nets(Role.DATA) if halves else register.nets(Role.DATA)
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
    if bit.takes(q, straight=False):
        return "toggle flip-flop", ("register bit",), [f"{q} changes at every edge: half the clock's frequency"]
    others = [name for name in bit.names if name != q]
    if q not in bit.names or not 1 <= len(others) <= 2:
        return None
    for order in permutations(others):
        rows = [dict(zip(bit.names, row, strict=True)) for row in product((False, True), repeat=len(bit.names))]
        if len(order) == 1 and all(one == (row[q] != row[order[0]]) for row, one in zip(rows, bit.ones, strict=True)):
            return "toggle flip-flop", ("register bit",), [f"{q} changes at an edge while {order[0]} is 1"]
        if len(order) == 2 and all(
            one == (not row[order[1]] if row[q] else row[order[0]]) for row, one in zip(rows, bit.ones, strict=True)
        ):
            return "JK flip-flop", ("register bit",), [f"j is {order[0]}, k is {order[1]}"]
    return None


def _ripple(view: View, bits: list[Bit]) -> tuple[str, tuple[str, ...], list[str]] | None:
    """Name bits that all toggle, each at an edge of the one before it."""
    if not all(bit.takes(bit.output, straight=False) for bit in bits):
        return None
    roots = {view.root(bit.output)[0]: bit.output for bit in bits}
    clocked = [{view.root(net)[0] for net in bit.structure.nets(Role.CLOCK)} & set(roots) for bit in bits]
    if sorted(map(len, clocked)) != [0] + [1] * (len(bits) - 1) or len(set().union(*clocked)) != len(bits) - 1:
        return None
    return "ripple counter", (), [f"counts to {2 ** len(bits)}: each of {len(bits)} bits is the next one's clock"]


def _fed_back(bits: list[Bit]) -> tuple[str, tuple[str, ...], list[str]] | None:
    """Name bits on one clock that pass their values on in a row, the first of which takes a function of the others."""
    outputs = {bit.output for bit in bits}
    after = {bit.names[0]: bit for bit in bits if len(bit.names) == 1 and bit.takes(bit.names[0])}
    if not all(set(bit.names) <= outputs for bit in bits):
        return None
    if len(after) == len(bits) and _length(after, bits[0]) == len(bits):
        return "ring counter", ("shift register",), [f"{len(bits)} bits in a ring"]
    heads = [bit for bit in bits if bit not in after.values()]
    if len(heads) != 1 or _length(after, heads[0]) != len(bits):
        return None
    last = heads[0]
    while last.output in after:
        last = after[last.output]
    if heads[0].takes(last.output, straight=False):
        return (
            "Johnson counter",
            ("shift register",),
            [f"{2 * len(bits)} states: the last bit's opposite goes in again"],
        )
    if last.output in heads[0].names:
        taps = ", ".join(heads[0].names)
        return "feedback shift register", ("shift register",), [f"{len(bits)} bits; {taps} make what goes in"]
    return None


def _length(after: Mapping[str, Bit], first: Bit) -> int:
    """Return how many bits a row has from one on."""
    seen = {first.output}
    bit = first
    while (following := after.get(bit.output)) is not None and following.output not in seen:
        bit = following
        seen.add(bit.output)
    return len(seen)


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
        while before := [n for n in view.gates[ring[-1]].inputs if n in gates and n not in view.netlist.ports]:
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
