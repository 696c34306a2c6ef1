"""
Decide the nets by which a group opens its own switches, as a Schmitt inverter does, where one level alone is stable.

Settling from X leaves such a net at X, for each of its levels might hold itself. Both are tried: that which the group
then drives to the other level, or leaves torn between two, does not hold.
"""

from collections.abc import Iterator, Sequence
from itertools import product

from layoutdrill.simulate.circuit import Circuit
from layoutdrill.simulate.shape import FLOATS

X = 2
MOST_NODES, MOST_OWN = 12, 3
"""Larger groups, as the columns of a memory, are left as they are."""


def decided(circuit: Circuit, codes: Sequence[int]) -> dict[int, int]:
    """Return the level of each net at X that its own group can hold at one level only; codes are 0, 1 and 2 for X."""
    levels: dict[int, int] = {}
    for group in circuit.gating_themselves:
        if len(circuit.nodes[group]) > MOST_NODES:
            continue
        own = [n for n in dict.fromkeys(circuit.gates[group]) if n in circuit.nodes[group] and codes[n] == X]
        if own and len(own) <= MOST_OWN:
            stable = list(_stable(circuit, group, codes, own))
            if len(stable) == 1:
                levels.update(stable[0])
    return levels


def _stable(circuit: Circuit, group: int, codes: Sequence[int], own: Sequence[int]) -> Iterator[dict[int, int]]:
    """Yield the levels of its own gates with which a group gives these levels again."""
    nodes = circuit.nodes[group]
    around = [*circuit.sources[group], *(g for g in circuit.gates[group] if g not in own)]
    known = all(codes[n] != X for n in around)  # else a level between may come of what is not known
    for values in product((0, 1), repeat=len(own)):
        tried = dict(zip(own, values, strict=True))
        seen, flags = circuit.shapes[group].solve(
            tuple(tried.get(g, codes[g]) for g in circuit.gates[group]),
            tuple(codes[s] for s in circuit.sources[group]),
            tuple(tried.get(n, codes[n]) for n in nodes),
        )
        at = {net: i for i, net in enumerate(nodes)}
        if all(
            seen[at[net]] == value or (seen[at[net]] == X and (not known or flags[at[net]] & FLOATS))
            for net, value in tried.items()
        ):
            yield tried
