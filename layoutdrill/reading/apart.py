"""
Simulate the stores of a netlist one by one.

The stable states of a row of bits are the products of those of its bits, so that the whole takes too long where one bit
tells as much.
"""

from math import prod

from layoutdrill.netlist.model import Netlist
from layoutdrill.netlist.roles import Role
from layoutdrill.reading.running import holds
from layoutdrill.recognise.model import Recognition, Structure
from layoutdrill.simulate.effort import OutOfEffortError
from layoutdrill.simulate.expression import text
from layoutdrill.simulate.future import held_value, next_value
from layoutdrill.simulate.states import Behaviour, Memory, StoreBehaviour, behaviour, edge_test
from layoutdrill.simulate.supplies import Supplies
from layoutdrill.value import value

Told = tuple[StoreBehaviour, str, str]
"""A store, what it takes, and what it is else, as text; "" for what cannot be told."""
MOST_STORES = 2
"""With more stores than this, each is simulated on its own."""
MOST_TOLD = 16
MOST_INPUTS = 8
_STORES = ("register bit", "shift-register bit", "latch", "dynamic latch", "memory bit", "SR latch", "gated SR latch")


@value
class Apart:
    """The stores of a netlist, each on its own; `more` counts those that were not simulated."""

    behaviour: Behaviour
    stores: tuple[Told, ...]
    more: int


def store_words(
    netlist: Netlist, inputs: list[str], store: StoreBehaviour, supplies: Supplies, tied: dict[str, str]
) -> tuple[str, str]:
    """Return what a store takes, and what it is else, as expressions; "" for what cannot be told."""
    forms = (find(netlist, inputs, store, supplies, tied) for find in (next_value, held_value))
    taken, held = (text(form) if form is not None else "" for form in forms)
    return taken, held


def stores_apart(recognition: Recognition) -> Apart | None:
    """
    Simulate the first stores of a netlist each on its own, as far as the time goes.

    None where it has few, and the whole can be simulated. Raises OutOfEffortError where not one can be in time.
    """
    stores = _stores(recognition.structures)
    if len(stores) <= MOST_STORES:
        return None
    seen: list[Behaviour] = []
    behaviours: list[Told] = []
    for store in stores[:MOST_TOLD]:
        try:
            alone = _one(recognition, store)
        except OutOfEffortError:
            if not seen:
                raise
            break
        if alone is not None:
            seen.append(alone[0])
            behaviours += alone[1]
    if not seen:
        return None
    holding, dynamic = (tuple(dict.fromkeys(n for b in seen for n in nets(b))) for nets in (_holding, _dynamic))
    together = Behaviour(Memory.STATEFUL, prod(b.most for b in seen), holding, dynamic, sum(b.rows for b in seen))
    return Apart(together, tuple(behaviours), len(stores) - len(seen))


def _holding(seen: Behaviour) -> tuple[str, ...]:
    return seen.holding


def _dynamic(seen: Behaviour) -> tuple[str, ...]:
    return seen.dynamic


def _stores(structures: tuple[Structure, ...]) -> list[Structure]:
    """Return the outermost stores, those inside rows and slices too."""
    stores: list[Structure] = []
    for s in structures:
        stores += [s] if s.term in _STORES else _stores(s.parts)
    return stores


def _one(recognition: Recognition, store: Structure) -> tuple[Behaviour, list[Told]] | None:
    """Simulate one store, cut out of its netlist."""
    supplies = recognition.supplies
    own = set(store.transistors)
    transistors = tuple(t for t in recognition.netlist.transistors if t.name in own)
    nets = tuple(dict.fromkeys((*sorted(supplies.nets), *(p.net for p in store.ports))))
    netlist = Netlist(store.term, nets, transistors)
    outputs = list(store.nets(Role.OUTPUT))
    inputs = [p.net for p in store.ports if p.role is not Role.OUTPUT and p.net not in supplies.nets]
    tied = {p.net: p.complement_of for p in store.ports if p.complement_of in inputs and p.net in inputs}
    if not outputs or len(inputs) - len(tied) > MOST_INPUTS:
        return None
    seen = behaviour(netlist, inputs, outputs, supplies, tied)
    if seen.memory is not Memory.STATEFUL:
        return seen, []
    changing = edge_test(netlist, inputs, outputs, supplies, tied)
    held: list[Told] = []
    for each in changing:
        words = store_words(netlist, inputs, each, supplies, tied)
        held.append((each, *words) if holds(netlist, inputs, (each, *words), tied, supplies) else (each, "", ""))
    return seen, held
