"""Run a netlist through a sequence of input changes, keeping what its stores and its charge hold."""

from collections.abc import Iterable, Mapping

from layoutdrill.netlist.model import Netlist
from layoutdrill.simulate.circuit import Circuit
from layoutdrill.simulate.settle import State, settle
from layoutdrill.simulate.supplies import SuppliesLike, find_supplies


def sequence(
    netlist: Netlist,
    steps: Iterable[Mapping[str, object]],
    supplies: SuppliesLike = None,
    before: State | None = None,
) -> tuple[State, ...]:
    """
    Return the settled state after each step; a step gives the inputs that change, the others stay.

    A value is 0, 1 or X, or None where an input is let go (a bit line that the cell itself shall drive). `before` is
    the state to start from; without it all charge is X.
    """
    levels = find_supplies(netlist, supplies)
    inputs: dict[str, object] = {}
    circuits: dict[frozenset[str], Circuit] = {}
    states: list[State] = []
    state = before
    for step in steps:
        for net, value in step.items():
            if value is None:
                inputs.pop(net, None)
            else:
                inputs[net] = value
        driven = frozenset(inputs)
        if driven not in circuits:
            circuits[driven] = Circuit(netlist, tuple(inputs), levels)
        state = settle(circuits[driven], inputs, before=state)
        states.append(state)
    return tuple(states)
