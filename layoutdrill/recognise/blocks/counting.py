"""Join register bits on one clock with the logic that sets them."""

from layoutdrill.netlist.roles import Role
from layoutdrill.recognise.blocks.neighbours import SMALL, Neighbours, block, plain, replaced
from layoutdrill.recognise.blocks.next_states import MOST_STATE, counting_ways, named_by, next_state
from layoutdrill.recognise.blocks.rippling import BITS, ROWS, join_ripple, opened
from layoutdrill.recognise.cones import Cones
from layoutdrill.recognise.model import Structure
from layoutdrill.recognise.view import View
from layoutdrill.unions import Unions

_AROUND = (*SMALL, "half adder", "multiplexer", "complex gate", "majority gate")


def join_counters(view: View, structures: list[Structure]) -> list[Structure]:
    """Return the structures with clocked bits and their logic joined."""
    return _registers(view, join_ripple(view, structures))


def _flat(structures: list[Structure]) -> list[Structure]:
    return [b for s in structures for b in (s.parts if s.term in ROWS else (s,)) if b.term in BITS]


def _registers(view: View, structures: list[Structure]) -> list[Structure]:
    """Name each set of bits on one clock by what their next state is."""
    result = structures
    groups: dict[frozenset[str], list[Structure]] = {}
    near = Neighbours.of(view, structures)
    for s in structures:
        if s.term in (*BITS, *ROWS) and s.nets(Role.CLOCK, Role.ENABLE):
            if s.term == "register row" and any(p.term not in BITS for p in s.parts):
                continue
            key = frozenset(near.root(n) for n in s.nets(Role.CLOCK))
            groups.setdefault(key, []).append(s)
    for group in groups.values():
        for bits in _hanging_together(view, Neighbours.of(view, result), group):
            near = Neighbours.of(view, result)
            named = _named(view, near, bits)
            if named is None:
                continue
            term, words, logic = named
            rows = [s for s in group if s in bits or any(part in bits for part in s.parts)]
            parts = list(dict.fromkeys((*bits, *logic, *near.feeders([*rows, *logic]))))
            whole = block(view, term, parts, words, also=_also(rows))
            result = replaced(opened(view, result, bits), parts, whole)
    return result


def _hanging_together(view: View, near: Neighbours, group: list[Structure]) -> list[list[Structure]]:
    """
    Return the bits on one clock by what hangs together: plain shift registers apart, and a counter apart from the bits
    that only look at it, where all together have no better name than a state register.
    """
    of_all = _before(view, _flat(group))
    chains = [s for s in group if s.term == "shift register" and not of_all[s.parts[0]]]
    bits = _flat([s for s in group if s not in chains])
    before = _before(view, bits)
    linked = _linked(bits, before)
    alone = [own[0] for own in linked if len(own) == 1 and own[0] in before[own[0]]]
    sets = [alone] if len(alone) > 1 and not _only_state(_named(view, near, alone)) else []
    left = [own for own in linked if len(own) > 1]
    while left:
        own = left.pop(0)
        counter = _counter_in(view, own) if _only_state(_named(view, near, own)) else None
        if counter is None:
            sets.append(own)
            continue
        sets.append(counter)
        rest = [b for b in own if b not in counter]
        left += [more for more in _linked(rest, _before(view, rest)) if len(more) > 1]
    return sets


def _only_state(named: tuple[str, str, list[Structure]] | None) -> bool:
    return named is None or named[0].endswith("state register")


def _before(view: View, bits: list[Structure]) -> dict[Structure, list[Structure]]:
    """Return for each bit those whose levels decide what it takes next."""
    own = {view.root(n)[0]: b for b in bits for n in b.nets(Role.OUTPUT)}
    cones = Cones(view, stops=frozenset(own))
    return {
        b: list(dict.fromkeys(own[r] for d in b.nets(Role.DATA)[:1] for r in sorted(cones.leaves(d)) if r in own))
        for b in bits
    }


def _linked(bits: list[Structure], before: dict[Structure, list[Structure]]) -> list[list[Structure]]:
    number = {b: i for i, b in enumerate(bits)}
    lines = Unions()
    for b, others in before.items():
        for other in others:
            lines.join(number[b], number[other])
    groups: dict[int | str, list[Structure]] = {}
    for b, i in number.items():
        groups.setdefault(lines.find(i), []).append(b)
    return list(groups.values())


def _counter_in(view: View, bits: list[Structure]) -> list[Structure] | None:
    """Return fewer of the bits that look at no others and count by themselves, or None."""
    before = _before(view, bits)
    closed: dict[frozenset[Structure], None] = {}
    for b in bits:
        inside, front = {b}, [b]
        while front:
            new = [other for other in before[front.pop()] if other not in inside]
            inside.update(new)
            front += new
        if 2 <= len(inside) < len(bits):
            closed[frozenset(inside)] = None
    for own in sorted(closed, key=lambda own: -len(own)):
        some = [b for b in bits if b in own]
        state = next_state(view, some) if len(some) <= MOST_STATE else None
        if state is not None and counting_ways(state):
            return some
    return None


def _also(group: list[Structure]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(s.term for s in group if s.term in ROWS))


def _named(view: View, near: Neighbours, bits: list[Structure]) -> tuple[str, str, list[Structure]] | None:
    """Return the name of a set of bits on one clock, what it does, and the logic between its bits."""
    state = next_state(view, bits)
    named = named_by(state) if state is not None else None
    return (*named, _between(near, bits)) if named is not None else None


def _between(near: Neighbours, bits: list[Structure]) -> list[Structure]:
    """Return the logic on the ways from bits back to bits, and what else feeds only that."""
    outputs = {n for b in bits for n in b.nets(Role.OUTPUT)}
    back: dict[Structure, None] = {}
    front = [n for b in bits for n in b.nets(Role.DATA)]
    for net in front:
        s = near.driver(net)
        if s is None or net in outputs or s in back or _family(s) not in _AROUND:
            continue
        back[s] = None
        front += [p.net for p in s.ports if p.role is not Role.OUTPUT]
    own = set(bits)
    rows = {r for r in near.items if r.term in ROWS and any(p in own for p in r.parts)}
    kept = dict(back)
    changed = True
    while changed:  # what also feeds something else stays outside, unless it reads the bits
        changed = False
        for s in list(kept):
            users = {r for n in s.nets(Role.OUTPUT) for r in near.readers.get(n, ())}
            reads_bits = any(n in outputs for p in s.ports if p.role is not Role.OUTPUT for n in [p.net])
            if users - set(kept) - own - rows and not reads_bits:
                del kept[s]
                changed = True
    return list(kept)


def _family(s: Structure) -> str:
    for word in ("multiplexer", "half adder", "majority gate", "complex gate"):
        if s.term.endswith(word):
            return word
    return plain(s.term)
