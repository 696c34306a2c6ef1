"""
Name loops of gates with two inputs by how they behave: phase detectors, tried against what one does.

A detector of phase and frequency sets one output at an edge of one input and the other at an edge of the other; when
both would be set, both are let go (data sheets of such circuits; from memory).
"""

from collections.abc import Iterator, Sequence
from itertools import product

from layoutdrill.netlist.roles import Role
from layoutdrill.recognise.blocks.neighbours import Neighbours, block, plain, replaced
from layoutdrill.recognise.model import Structure
from layoutdrill.recognise.view import View
from layoutdrill.simulate.circuit import strongly_connected
from layoutdrill.simulate.expression import evaluate

_GATES = ("inverter", "buffer", "NAND", "NOR", "AND", "OR", "SR latch", "complex gate")
FEWEST = 5
MOST = 30
"""Structures in a loop that is tried."""
EDGES = "001101011110001011010001110100110010101101110001"
"""Which of the two inputs turns over, step by step: each leads for a while, and they take turns."""
SETTLED = 12
"""Steps after which it must behave, whatever state it began in."""
MOST_ROUNDS = 40
"""Delays of a gate after which a loop has come to rest."""


def join_detectors(view: View, structures: list[Structure]) -> list[Structure]:
    """Return the structures with phase detectors joined."""
    result = structures
    near = Neighbours.of(view, structures)
    for loop in _loops(near, [s for s in structures if plain(s.term) in _GATES]):
        inside = set(loop)
        made = {n for s in loop for n in s.nets(Role.OUTPUT)}
        rails = view.prepared.supplies.nets
        taken = {p.net for s in loop for p in s.ports if p.role is not Role.OUTPUT} - made - rails
        roots = {near.root(n) for n in taken}
        outs = [
            n for n in sorted(made, key=view.place.__getitem__)
            if n in view.ports or any(r not in inside for r in near.readers.get(n, ()))
        ]  # fmt: skip
        if len(roots) != 2 or not 2 <= len(outs) <= 4:
            continue
        before = [s for s in near.feeders(loop) if s.term == "inverter"]
        parts = [*loop, *before]
        if (pair := _detects(view, parts, sorted(roots), outs)) is not None:
            words = f"{pair[0]} and {pair[1]} tell which of two edges came first"
            result = replaced(result, parts, block(view, "phase detector", parts, words))
    return result


def _loops(near: Neighbours, gates: Sequence[Structure]) -> Iterator[list[Structure]]:
    """Yield the sets of gates from each of which a way leads to each other of them."""
    number = {s: i for i, s in enumerate(gates)}
    after = [[number[r] for n in s.nets(Role.OUTPUT) for r in near.readers.get(n, ()) if r in number] for s in gates]
    for group in strongly_connected(after):
        if FEWEST <= len(group) <= MOST:
            yield [gates[i] for i in sorted(group)]


def _detects(
    view: View, parts: Sequence[Structure], inputs: Sequence[str], outs: Sequence[str]
) -> tuple[str, str] | None:
    """Return the two outputs that behave as those of a detector at a random run of edges, or None."""
    names = {n for s in parts for n in s.transistors}
    forms = {n: g.form for n, g in view.gates.items() if names.issuperset(view.names(g.members))}
    if any(view.gates[n].kind not in ("static", "ratioed") for n in forms) or not set(outs) <= set(forms):
        return None
    levels = dict.fromkeys((*inputs, *forms), False)
    steps: list[dict[str, int]] = [dict.fromkeys(inputs, 0)]
    for which in EDGES:
        turned = inputs[int(which)]
        steps.append({turned: int(not steps[-1].get(turned, _last(steps, turned)))})
    seen: list[dict[str, bool]] = []
    for step in steps:
        levels |= {n: bool(v) for n, v in step.items()}
        for late in range(MOST_ROUNDS):
            after = {n: evaluate(form, levels) for n, form in forms.items()}
            if all(levels[n] == v for n, v in after.items()):
                break
            levels |= after
            for n, form in forms.items() if late > MOST_ROUNDS // 2 else ():  # two gates in step fall out of it
                levels[n] = evaluate(form, levels)
        else:
            return None  # it does not come to rest
        seen.append(dict(levels))
    for (first, second), edge, active in product(_pairs(outs), (1, 0), (True, False)):
        for start in ((0, 0), (1, 0), (0, 1)):
            wanted = _model(inputs, steps, edge, start)
            if all(
                (seen[at][first] == active, seen[at][second] == active) == (bool(up), bool(down))
                for at, (up, down) in enumerate(wanted)
                if at >= SETTLED
            ):
                return first, second
    return None


def _last(steps: Sequence[dict[str, int]], net: str) -> int:
    """Return the level that an input was last given."""
    return next(step[net] for step in reversed(steps) if net in step)


def _pairs(outs: Sequence[str]) -> Iterator[tuple[str, str]]:
    for a in outs:
        for b in outs:
            if a != b:
                yield a, b


def _model(
    inputs: Sequence[str], steps: Sequence[dict[str, int]], edge: int, start: tuple[int, int]
) -> list[tuple[int, int]]:
    """Return the two outputs of a detector after each step, from a state at the time when all levels are known."""
    up, down = 0, 0
    states = []
    for at, step in enumerate(steps):
        if at == SETTLED:
            up, down = start
        else:
            for net, level in step.items():
                if at and level == edge:
                    up, down = (1, down) if net == inputs[0] else (up, 1)
            if up and down:
                up = down = 0
        states.append((up, down))
    return states
