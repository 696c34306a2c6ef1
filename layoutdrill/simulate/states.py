"""
Tell what a netlist remembers: count its stable states, find the nets that hold, tell latch from flip-flop.

More than one stable state for the same inputs means memory. A latch has one state while it is open and two while it
holds; a flip-flop has two at both levels of its clock, and takes its input at one edge (common definitions, as in
Weste & Harris).
"""

from collections.abc import Iterator, Mapping, Sequence
from enum import StrEnum
from itertools import product

from layoutdrill.dice import Dice
from layoutdrill.netlist.model import Netlist
from layoutdrill.simulate.circuit import Circuit
from layoutdrill.simulate.settle import State, X, settle_codes
from layoutdrill.simulate.shape import FLOATS
from layoutdrill.simulate.stable import stable_states
from layoutdrill.simulate.supplies import SuppliesLike
from layoutdrill.value import value

MOST_ROWS = 512
"""With more input rows than this, a fixed sample of them is tried."""


class Memory(StrEnum):
    """What a netlist keeps from one moment to the next."""

    STATELESS = "stateless"
    TRI_STATE = "tri-state"  # some output floats for some inputs, and nothing is remembered
    STATEFUL = "stateful"


@value
class Behaviour:
    """
    `most` is the largest number of stable states that one row of inputs has.

    `holding` are the nets that differ between them, `dynamic` those among them that hold by charge alone.
    """

    memory: Memory
    most: int
    holding: tuple[str, ...]
    dynamic: tuple[str, ...]
    rows: int


@value
class StoreBehaviour:
    """An output that remembers: `kind` latch or flip-flop, its control, and the level (0, 1) or edge (rise, fall)."""

    output: str
    kind: str
    control: str
    when: str


def input_rows(
    inputs: Sequence[str], complements: Mapping[str, str] | None = None, most: int = MOST_ROWS
) -> Iterator[dict[str, int]]:
    """Yield rows of input values; a key of `complements` always has the opposite of its value."""
    tied = complements or {}
    free = [i for i in inputs if i not in tied]
    if 1 << len(free) <= most:
        rows: Iterator[tuple[int, ...]] = product((0, 1), repeat=len(free))
    else:
        dice = Dice(len(free))
        rows = (tuple(dice.below(2) for _ in free) for _ in range(most))
    for values in rows:
        row = dict(zip(free, values, strict=True))
        row.update({net: 1 - row[other] for net, other in tied.items() if net in inputs and other in row})
        yield row


def behaviour(
    netlist: Netlist,
    inputs: Sequence[str],
    outputs: Sequence[str],
    supplies: SuppliesLike = None,
    complements: Mapping[str, str] | None = None,
) -> Behaviour:
    """Count the stable states of every row of inputs."""
    circuit = Circuit(netlist, inputs, supplies)
    most, rows = 1, 0
    holding: set[int] = set()
    dynamic: set[int] = set()
    floats = False
    watched = [i for i, net in enumerate(circuit.nets) if circuit.fanout[i] or net in outputs]
    for row in input_rows(inputs, complements):
        rows += 1
        states = distinct(circuit, {circuit.number[net]: value for net, value in row.items()})
        most = max(most, len(states))
        floats = floats or any(s[1][circuit.number[o]] & FLOATS for s in states for o in outputs)
        for net in watched:
            if len({codes[net] for codes, _ in states}) > 1:
                holding.add(net)
                if all(flags[net] & FLOATS for _, flags in states):
                    dynamic.add(net)
    memory = Memory.STATEFUL if most > 1 else Memory.TRI_STATE if floats else Memory.STATELESS
    names = circuit.nets
    return Behaviour(
        memory, most, tuple(names[i] for i in sorted(holding)), tuple(names[i] for i in sorted(dynamic)), rows
    )


def distinct(circuit: Circuit, row: Mapping[int, int]) -> list[tuple[list[int], list[int]]]:
    """Return the stable states of one row that differ in a net that gates something."""
    states, _ = stable_states(circuit, row)
    seen: dict[tuple[int, ...], tuple[list[int], list[int]]] = {}
    for codes, flags in states:
        key = tuple(codes[net] for net in range(len(codes)) if circuit.fanout[net])
        seen.setdefault(key, (codes, flags))
    return list(seen.values())


def edge_test(
    netlist: Netlist,
    inputs: Sequence[str],
    outputs: Sequence[str],
    supplies: SuppliesLike = None,
    complements: Mapping[str, str] | None = None,
) -> tuple[StoreBehaviour, ...]:
    """Return, for each output that remembers, whether a level or an edge of which input lets it change."""
    tied = complements or {}
    circuit = Circuit(netlist, inputs, supplies)
    free = [i for i in inputs if i not in tied]
    stores: list[StoreBehaviour] = []
    for control in free:
        rest = [i for i in free if i != control]
        seen = _try_control(circuit, control, rest, outputs, tied)
        stores.extend(s for s in seen if all(s.output != f.output for f in stores))
    return tuple(sorted(stores, key=lambda s: list(outputs).index(s.output)))


def _try_control(
    circuit: Circuit, control: str, rest: list[str], outputs: Sequence[str], tied: Mapping[str, str]
) -> list[StoreBehaviour]:
    free = [*rest, control]
    number = circuit.number
    levels: dict[str, dict[int, set[int]]] = {o: {0: set(), 1: set()} for o in outputs}
    loads: dict[str, dict[str, set[int]]] = {o: {"rise": set(), "fall": set()} for o in outputs}
    keeps: dict[str, dict[str, bool]] = {o: {"rise": True, "fall": True} for o in outputs}
    for base in input_rows(rest, None, 64):
        rows = []
        for level in (0, 1):
            row = {**base, control: level}
            row.update({net: 1 - row[other] for net, other in tied.items() if other in free})
            rows.append({number[net]: v for net, v in row.items()})
        states = [distinct(circuit, row) for row in rows]
        for o in outputs:
            at = number[o]
            values = [{codes[at] for codes, _ in group} for group in states]
            for level in (0, 1):
                if values[1 - level] == {0, 1} and len(values[level]) == 1 and X not in values[level]:
                    levels[o][level] |= values[level]
            if values[0] != {0, 1} or values[1] != {0, 1}:
                continue
            for level, edge in ((1, "rise"), (0, "fall")):
                after = []
                for codes, flags in states[1 - level]:
                    before = State(circuit, tuple(codes), tuple(flags))
                    new, _ = settle_codes(circuit, rows[level], before)
                    after.append((codes[at], new[at]))
                taken = {new for _, new in after}
                if len(taken) == 1 and X not in taken:
                    loads[o][edge] |= taken
                if any(old != new for old, new in after):
                    keeps[o][edge] = False
    result = []
    for o in outputs:
        for edge, other in (("rise", "fall"), ("fall", "rise")):
            if loads[o][edge] == {0, 1} and keeps[o][other]:
                result.append(StoreBehaviour(o, "flip-flop", control, edge))
        result.extend(StoreBehaviour(o, "latch", control, str(level)) for level in (0, 1) if levels[o][level] == {0, 1})
    return result
