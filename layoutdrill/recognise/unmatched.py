"""
Name stages whose networks are no complements by intent: clocked to the low rail first, starved, crossed.

Forms as in textbooks of the field (Weste & Harris; Rabaey), from memory.
"""

from collections import defaultdict

from layoutdrill.netlist.model import Kind
from layoutdrill.netlist.roles import Role
from layoutdrill.recognise.gates import simplest, substitute, without
from layoutdrill.recognise.model import Port
from layoutdrill.recognise.work import Work
from layoutdrill.simulate.expression import And, Expression, Not, Or, Var, text, truth, variables

LEAST_STARVED = 3


def find_unmatched(work: Work) -> None:
    """Take predischarged gates, starved inverters, clocked sense amplifiers and differential cascode gates."""
    _predischarged(work)
    _starved(work)
    _crossed(work)
    _bridged(work)


def _networks(work: Work, net: str) -> tuple[Expression, Expression] | None:
    """Return what pulls a net low and high, where it is a free stage of these two networks alone."""
    gate = work.gate(net)
    if gate is None or gate.kind not in ("torn", "precharged") or net in work.view.tri:
        return None
    pull = work.view.stages[net].pull
    if set(pull) != {(Kind.N, "low"), (Kind.P, "high")}:
        return None
    return pull[Kind.N, "low"], pull[Kind.P, "high"]


def _predischarged(work: Work) -> None:
    """Take a stage of p transistors that a clock lets down first, where that clock charges or opens others."""
    view = work.view
    clocks = {view.root(n)[0] for g in view.gates.values() if g.kind == "precharged" for n in g.controls}
    clocks |= {view.root(n)[0] for gates in view.tri.values() for g in gates for n in g.controls}
    for net in list(view.gates):
        networks = _networks(work, net)
        if networks is None or view.gates[net].kind != "torn" or not isinstance(networks[0], Var):
            continue
        clock, high = networks[0].name, networks[1]
        headed = isinstance(high, And) and Not(Var(clock)) in high.terms
        if view.root(clock)[0] not in clocks or not headed:
            continue
        form = simplest(without(high, clock))
        ports = [Port(n, Role.INPUT) for n in variables(form)]
        ports += [Port(clock, Role.CLOCK), Port(net, Role.OUTPUT)]
        words = f"{net} = {text(form)} after {clock} has let it down"
        work.build("predischarged gate", {net}, set(), ports, words)


def _starved(work: Work) -> None:
    """Take inverters that share a level on each side, which sets how fast they turn over, and what makes that level."""
    view = work.view
    shared: dict[tuple[str, str], dict[str, str]] = defaultdict(dict)
    for net in view.gates:
        networks = _networks(work, net)
        if networks is None or not all(isinstance(f, And) and len(f.terms) == 2 for f in networks):
            continue
        downs, ups = (set(variables(f)) for f in networks)
        if len(downs & ups) == 1 and len(downs) == len(ups) == 2 and networks[1] == _opposite(networks[1]):
            (source,) = downs & ups
            (low,), (high,) = downs - ups, ups - downs
            if view.root(low)[0] != view.root(high)[0] or view.root(high)[0] in view.gates:
                shared[low, high][net] = source
    for (low, high), stages in shared.items():
        if len(stages) < LEAST_STARVED:
            continue
        for net, source in stages.items():
            ports = [
                Port(source, Role.INPUT),
                Port(low, Role.SIGNAL),
                Port(high, Role.SIGNAL),
                Port(net, Role.OUTPUT),
            ]
            work.build(
                "starved inverter", {net}, set(), ports, f"{net} = !{source}, as fast as {low} and {high} let it"
            )
        for level in (low, high):
            networks = _networks(work, level)
            if networks is not None and Var(level) in (networks[0], *_plain(networks[1])):
                other = next(n for f in networks for n in variables(f) if n != level)
                ports = [Port(other, Role.INPUT), Port(level, Role.OUTPUT)]
                work.build("bias stage", {level}, set(), ports, f"{level} follows {other} in the other direction")


def _plain(form: Expression) -> tuple[Expression, ...]:
    return (form.term,) if isinstance(form, Not) else ()


def _opposite(form: Expression) -> Expression | None:
    """Return a product of complements as it is; None for any other."""
    return form if isinstance(form, And) and all(isinstance(t, Not) for t in form.terms) else None


def _crossed(work: Work) -> None:
    """Take two stages whose p transistors, or all of whose networks, are gated by one another."""
    view = work.view
    for net in list(view.gates):
        networks = _networks(work, net)
        if networks is None:
            continue
        low, high = networks
        for other in view.ordered({*variables(high)} - {net}):
            back = _networks(work, other)
            if back is None or view.place[other] < view.place[net] or net not in variables(back[1]):
                continue
            if high == Not(Var(other)) and back[1] == Not(Var(net)) and _opposites(work, low, back[0]):
                form = simplest(low)
                ports = [Port(n, Role.INPUT) for n in view.ordered({*variables(low), *variables(back[0])})]
                ports += [Port(other, Role.OUTPUT), Port(net, Role.OUTPUT)]
                words = f"{other} = {text(form)}, and {net} is its opposite"
                work.build("cascode gate", {net, other}, set(), ports, words)
                break
            clocks = {*variables(high)} - {other}
            if len(clocks) == 1 and clocks == {*variables(back[1])} - {net} and isinstance(high, Or):
                (clock,) = clocks
                if not {clock, other} <= {*variables(low)} or not {clock, net} <= {*variables(back[0])}:
                    continue
                ins = [n for f in (low, back[0]) for n in variables(f) if n not in (clock, net, other)]
                ports = [Port(n, Role.INPUT) for n in dict.fromkeys(ins)]
                ports += [Port(clock, Role.CLOCK), Port(net, Role.OUTPUT), Port(other, Role.OUTPUT)]
                words = (
                    f"{net} and {other} are charged while {clock} is 0; at 1 the one falls first whose input is higher"
                )
                work.build("sense amplifier", {net, other}, set(), ports, words)
                break


def _bridged(work: Work) -> None:
    """
    Take two charged stages that hold each other, over an input and its complement that one transistor joins for good.

    Each conducts whatever its input, so that it reads as a gate of the clock and the other; the input decides which
    falls first.
    """
    view = work.view
    for net, gate in list(view.gates.items()):
        for other in gate.inputs:
            mate = work.gate(other)
            if work.gate(net) is not gate or mate is None or net not in mate.inputs or gate.kind != "static":
                continue
            data = sorted(set(gate.inputs) & set(mate.inputs), key=view.place.__getitem__)
            rest = [n for n in data if _twice_as_opposite(view.root(n), [view.root(m) for m in data])]
            clocks = [n for n in data if n not in rest]
            if len(rest) != 2 or len(clocks) != 1 or mate.kind != "static" or view.place[other] < view.place[net]:
                continue
            if len(gate.inputs) != 4 or len(mate.inputs) != 4 or _held(work, net) != _held(work, other):
                continue
            ports = [*(Port(n, Role.INPUT) for n in rest), Port(clocks[0], Role.CLOCK)]
            ports += [Port(net, Role.OUTPUT), Port(other, Role.OUTPUT)]
            words = f"{net} and {other} are charged while {clocks[0]} is 0; then {rest[0]} tells which falls"
            halves = tuple(h for g in (gate, mate) for h in view.sides(g))
            work.build("sense amplifier", {net, other}, set(), ports, words, parts=halves)
            break


def _twice_as_opposite(root: tuple[str, bool], others: list[tuple[str, bool]]) -> bool:
    return (root[0], not root[1]) in others


def _held(work: Work, net: str) -> int:
    """Return how many p transistors charge a net, two of them side by side in a sense amplifier."""
    high = work.view.stages[net].pull.get((Kind.P, "high"))
    return len(variables(high)) if isinstance(high, Or) else 0


def _opposites(work: Work, low: Expression, other: Expression) -> bool:
    """Tell whether of two networks one conducts for every input where the other does not."""
    forms = [substitute(f, work.view.roots) for f in (low, other)]
    names = tuple(sorted({n for f in forms for n in variables(f)}))
    if len(names) > 8:
        return False
    first, second = (truth(f, names) for f in forms)
    return first == ((1 << (1 << len(names))) - 1) ^ second
