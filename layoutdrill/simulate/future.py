"""Find what a store takes next: the next value of an output as an expression over the inputs and the value before."""

from collections.abc import Mapping, Sequence

from layoutdrill.netlist.model import Netlist
from layoutdrill.simulate.circuit import Circuit
from layoutdrill.simulate.expression import Expression, Var
from layoutdrill.simulate.minimal import minimal
from layoutdrill.simulate.settle import State, settle_codes
from layoutdrill.simulate.states import StoreBehaviour, distinct
from layoutdrill.simulate.supplies import SuppliesLike

MOST_NAMES = 8


def next_value(
    netlist: Netlist,
    inputs: Sequence[str],
    store: StoreBehaviour,
    supplies: SuppliesLike = None,
    complements: Mapping[str, str] | None = None,
) -> Expression | None:
    """
    Return the output's value after the edge, or while a latch is open, over the other inputs and its old value.

    None for too many inputs, or where nothing definite is found.
    """
    tied = complements or {}
    rest = [i for i in inputs if i not in tied and i != store.control]
    if len(rest) > MOST_NAMES:
        return None
    names = (*rest, store.output)
    circuit = Circuit(netlist, inputs, supplies)
    at = circuit.number[store.output]
    open_level = {"rise": 1, "fall": 0}.get(store.when) if store.kind == "flip-flop" else int(store.when)
    assert open_level is not None
    ones = seen = 0
    for row in range(1 << len(rest)):
        base = _base(rest, row)
        shut, wide = (
            {circuit.number[net]: v for net, v in _full(base, store.control, level, tied).items()}
            for level in (1 - open_level, open_level)
        )
        for codes, flags in distinct(circuit, shut):
            new, _ = settle_codes(circuit, wide, State(circuit, tuple(codes), tuple(flags)))
            if codes[at] > 1 or new[at] > 1:
                continue
            place = row << 1 | codes[at]
            seen |= 1 << place
            ones |= new[at] << place
    full = (1 << (1 << len(names))) - 1
    return minimal(ones, names, full & ~seen) if seen else None


def held_value(
    netlist: Netlist,
    inputs: Sequence[str],
    store: StoreBehaviour,
    supplies: SuppliesLike = None,
    complements: Mapping[str, str] | None = None,
) -> Expression | None:
    """
    Return the output's value while its control rests, after one other input changed, over the inputs and its old value.

    The output alone says that the store holds, whatever the other inputs do; a set or reset shows as a term of its own.
    None for too many inputs, or where the output also takes what lies deeper inside, as at a second clock.
    """
    tied = complements or {}
    rest = [i for i in inputs if i not in tied and i != store.control]
    if len(rest) > MOST_NAMES:
        return None
    names = (*rest, store.output)
    circuit = Circuit(netlist, inputs, supplies)
    at = circuit.number[store.output]
    ones = zeros = 0
    for level in (0, 1) if store.kind == "flip-flop" else (1 - int(store.when),):
        rows = [
            {circuit.number[net]: v for net, v in _full(_base(rest, row), store.control, level, tied).items()}
            for row in range(1 << len(rest))
        ]
        for row, before in enumerate(rows):
            for codes, flags in distinct(circuit, before):
                for bit in range(len(rest)):
                    after = row ^ 1 << bit
                    new, _ = settle_codes(circuit, rows[after], State(circuit, tuple(codes), tuple(flags)))
                    if codes[at] > 1 or new[at] > 1:
                        continue
                    place = 1 << (after << 1 | codes[at])
                    if new[at]:
                        ones |= place
                    else:
                        zeros |= place
    if ones & zeros:
        return None
    full = (1 << (1 << len(names))) - 1
    return minimal(ones, names, full & ~(ones | zeros)) if rest else Var(store.output)


def _base(rest: Sequence[str], row: int) -> dict[str, int]:
    return {name: row >> (len(rest) - 1 - i) & 1 for i, name in enumerate(rest)}


def _full(base: Mapping[str, int], control: str, level: int, tied: Mapping[str, str]) -> dict[str, int]:
    row = {**base, control: level}
    row.update({net: 1 - row[other] for net, other in tied.items() if other in row})
    return row
