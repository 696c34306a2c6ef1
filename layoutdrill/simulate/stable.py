"""
Search the stable states of a circuit for given inputs: the case split that a loop of X nets needs.

A state is stable when every group, solved with the state's gates, gives the state again. Ternary settling from X
leaves at X whatever is not forced; each such net that gates a transistor is tried at 0 and at 1.
"""

from collections.abc import Iterable, Mapping

from layoutdrill.simulate.circuit import Circuit
from layoutdrill.simulate.levels import Level
from layoutdrill.simulate.settle import X, settle_codes
from layoutdrill.simulate.shape import FIGHTS, FLOATS
from layoutdrill.value import mutable

MOST_TRIALS = 512
"""Give up the search after this many trials; what is not decided by then stays X."""


@mutable
class Budget:
    """How many trials are left for several searches together, as for the rows of a table."""

    left: int = 2 * MOST_TRIALS


def stable_states(
    circuit: Circuit, inputs: Mapping[int, int], budget: Budget | None = None
) -> tuple[list[tuple[list[int], list[int]]], bool]:
    """
    Return stable states as (codes, flags), and whether the search was complete; it draws on a budget.

    States that differ only in floating nets which gate nothing count once.
    """
    states: list[tuple[list[int], list[int]]] = []
    most = MOST_TRIALS if budget is None else min(MOST_TRIALS, budget.left)
    trials = 0
    complete = True
    stack: list[dict[int, int]] = [{}]
    while stack:
        pins = stack.pop()
        trials += 1
        if trials > most:
            complete = False
            break
        codes, flags = settle_codes(circuit, inputs, None, pins)
        net = _next(circuit, codes, pins)
        if not _consistent(circuit, codes, pins, strict=net is None):
            continue
        if net is None:
            states.append((codes, flags))
            continue
        stack.append({**pins, net: 1})
        stack.append({**pins, net: 0})
    if budget is not None:
        budget.left -= min(trials, most)
    return states, complete


def _consistent(circuit: Circuit, codes: list[int], pins: Mapping[int, int], *, strict: bool) -> bool:
    """
    Tell whether no pinned net is driven to the other level, and, where `strict`, none is torn between two.

    A level between 0 and 1, from a fight, holds no loop: such a state is not stable.
    """
    solved: dict[int, dict[int, int]] = {}
    for net, value in pins.items():
        group = circuit.group_of[net]
        if group < 0:
            continue
        if group not in solved:
            nodes = circuit.nodes[group]
            values, _ = circuit.shapes[group].solve(
                tuple(codes[g] for g in circuit.gates[group]),
                tuple(codes[s] for s in circuit.sources[group]),
                tuple(codes[n] for n in nodes),
            )
            solved[group] = dict(zip(nodes, values, strict=True))
        seen = solved[group][net]
        if seen == 1 - value or (strict and seen == X):
            return False
    return True


def _next(circuit: Circuit, codes: list[int], pins: Mapping[int, int]) -> int | None:
    """Choose the X net, in a loop if there is one, that gates most groups."""
    best, most = None, 0
    for net, value in enumerate(codes):
        if value == X and net not in pins and not circuit.is_source[net] and (fan := len(circuit.fanout[net])):
            group = circuit.group_of[net]
            if group < 0:
                continue
            merit = fan + (1000 if circuit.loop_size[group] > 1 else 0)
            if merit > most:
                best, most = net, merit
    return best


def agreed(
    circuit: Circuit, inputs: Mapping[int, int], codes: list[int], wanted: Iterable[int], budget: Budget
) -> dict[int, Level]:
    """Return the level of each wanted net on which all stable states agree; the others are left out."""
    nets = list(wanted)
    if _next(circuit, codes, {}) is None:
        return {}
    states, complete = stable_states(circuit, inputs, budget)
    if not complete or not states:
        return {}
    result = {}
    for net in nets:
        seen = set()
        for values, flags in states:
            if flags[net] & FIGHTS:
                seen.add(Level.FIGHT)
            elif flags[net] & FLOATS:
                seen.add(Level.FLOATING)
            else:
                seen.add((Level.LOW, Level.HIGH, Level.UNKNOWN)[values[net]])
        if len(seen) == 1:
            result[net] = seen.pop()
    return result
