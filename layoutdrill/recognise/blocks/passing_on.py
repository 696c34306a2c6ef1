"""
Join what hands words on: pipelines of stores that C-elements open in turn, stages that face each other over a bus.

A pipeline whose stages wait for one another keeps words in order, so it is a FIFO (Muller and Bartky 1959; Sutherland
1989; from memory). Tri-state stages of which one leads back what the other leads on, never both at once, are a
transceiver (data sheets; from memory).
"""

from collections import defaultdict

from layoutdrill.netlist.roles import Role
from layoutdrill.recognise.blocks.neighbours import Neighbours, block, replaced
from layoutdrill.recognise.model import Structure
from layoutdrill.recognise.view import View

_STAGES = ("tri-state buffer", "tri-state inverter")
_WORDS = ("register row", "latch", "dynamic latch", "register bit")


def join_passing_on(view: View, structures: list[Structure]) -> list[Structure]:
    """Return the structures with pipelines and transceivers joined."""
    return _transceivers(view, _pipelines(view, structures))


def _roots(near: Neighbours, nets: tuple[str, ...]) -> frozenset[str]:
    return frozenset(near.root(n) for n in nets)


def _pipelines(view: View, structures: list[Structure]) -> list[Structure]:
    """Join words each of which a C-element opens, that takes the one before it and waits for the one after it."""
    near = Neighbours.of(view, structures)
    waits = {near.root(n): s for s in structures if s.term == "C-element" for n in s.nets(Role.OUTPUT)}
    words: dict[Structure, Structure] = {}
    for s in structures:
        opened_by = {waits[r] for r in _roots(near, s.nets(Role.ENABLE, Role.CLOCK)) if r in waits}
        if s.term in _WORDS and len(opened_by) == 1:
            words[s] = opened_by.pop()
    given = {s: _roots(near, s.nets(Role.OUTPUT)) for s in words}
    after = {a: b for b in words for a in words if a is not b and _roots(near, b.nets(Role.DATA)) <= given[a]}
    linked = {
        a: b for a, b in after.items()
        if _roots(near, words[a].nets(Role.OUTPUT)) & _roots(near, words[b].nets(Role.INPUT))
        and _roots(near, words[b].nets(Role.OUTPUT)) & _roots(near, words[a].nets(Role.INPUT))
    }  # fmt: skip
    fed = set(linked.values())
    result = structures
    for first in [s for s in linked if s not in fed]:
        chain = [first]
        while (following := linked.get(chain[-1])) is not None and following not in chain:
            chain.append(following)
        parts = list(dict.fromkeys((*chain, *(words[s] for s in chain))))
        parts += near.feeders(parts)
        width = max(len(s.parts) if s.term == "register row" else 1 for s in chain)
        text = f"{len(chain)} words of {width} bits in order; each waits for the one before and the one after"
        result = replaced(result, parts, block(view, f"{len(chain)} × {width} FIFO", parts, text))
    return result


def _transceivers(view: View, structures: list[Structure]) -> list[Structure]:
    """Join tri-state stages by two, each of which leads back what the other leads on, all on the same enables."""
    near = Neighbours.of(view, structures)
    ways: dict[tuple[str, str], Structure] = {}
    for s in structures:
        if s.term in _STAGES and len(s.nets(Role.INPUT)) == len(s.nets(Role.OUTPUT)) == 1:
            ways[near.root(s.nets(Role.INPUT)[0]), s.nets(Role.OUTPUT)[0]] = s
    lanes: dict[frozenset[frozenset[str]], list[Structure]] = defaultdict(list)
    for (a, b), s in ways.items():
        back = ways.get((b, a))
        enables = [_roots(near, t.nets(Role.ENABLE)) for t in (s, back) if t is not None]
        if back is not None and len(set(enables)) == 2 and view.place[a] < view.place[b]:
            lanes[frozenset(enables)] += [s, back]
    result = structures
    for stages in lanes.values():
        parts = [*stages, *near.feeders(stages, ("inverter", "buffer", "NAND", "NOR", "AND", "OR"))]
        bits = len(stages) // 2
        text = f"leads {bits} bits one way or the other, or neither, as its enables say"
        result = replaced(result, parts, block(view, f"{bits}-bit transceiver", parts, text))
    return result
