"""Hold what is told of a store against the simulator, over a run of changes."""

from collections.abc import Mapping

from layoutdrill.dice import Dice
from layoutdrill.netlist.model import Netlist
from layoutdrill.simulate.expression import Expression, ExpressionError, evaluate, parse
from layoutdrill.simulate.levels import Level
from layoutdrill.simulate.settle import settle
from layoutdrill.simulate.states import StoreBehaviour
from layoutdrill.simulate.supplies import Supplies

STEPS = 40


def holds(
    netlist: Netlist,
    inputs: list[str],
    rule: tuple[StoreBehaviour, str, str],
    tied: Mapping[str, str],
    supplies: Supplies,
) -> bool:
    """Tell whether a store does, over a run of changes, what is told of it."""
    store, taken, held = rule
    if not (taken and held):
        return True
    try:
        forms = {words: parse(words, (*inputs, store.output)) for words in (taken, held)}
    except ExpressionError:  # a net's name that no equation can carry
        return False
    return _run(netlist, inputs, store, (forms[taken], forms[held]), tied, supplies)


def _run(
    netlist: Netlist,
    inputs: list[str],
    store: StoreBehaviour,
    rules: tuple[Expression, Expression],
    tied: Mapping[str, str],
    supplies: Supplies,
) -> bool:
    taken, held = rules
    dice = Dice(7)
    free = [i for i in inputs if i not in tied]
    row = dict.fromkeys(free, 0)
    state = None
    output = store.output
    for step in range(STEPS):
        before = dict(row)
        if step % 2:
            row[store.control] = 1 - row[store.control]
        else:
            others = [i for i in free if i != store.control] or free
            net = dice.pick(others)
            row[net] = 1 - row[net]
        full = row | {n: 1 - row[o] for n, o in tied.items() if o in row}
        old = state.level(output) if state is not None else None
        state = settle(netlist, full, supplies, before=state)
        new = state.level(output)
        if step < 6 or old is None or not old.known:
            continue
        values = {n: bool(v) for n, v in full.items()} | {output: old is Level.HIGH}
        moved = before[store.control] != row[store.control]
        if store.kind == "flip-flop":
            opens = moved and row[store.control] == (store.when == "rise")
        else:
            opens = row[store.control] == int(store.when)
        wanted = evaluate(taken if opens else held, values)
        if not new.known or (new is Level.HIGH) != wanted:
            return False
    return True
