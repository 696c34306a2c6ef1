"""Join register bits with the logic that sets them: counters of every kind, loadable and enabled registers."""

from itertools import permutations, product

from layoutdrill.netlist.roles import Role
from layoutdrill.recognise.blocks.neighbours import SMALL, Neighbours, block, plain, replaced
from layoutdrill.recognise.cones import Cones
from layoutdrill.recognise.functions import name_function
from layoutdrill.recognise.joining import merge
from layoutdrill.recognise.model import Structure
from layoutdrill.recognise.view import View
from layoutdrill.unions import Unions

_BITS = ("register bit", "shift-register bit")
_ROWS = ("register row", "shift register")
MOST_STATE = 8
MOST_OUTER = 6
MOST_LEAVES = 14
_AROUND = (*SMALL, "half adder", "multiplexer", "complex gate", "majority gate")


def join_counters(view: View, structures: list[Structure]) -> list[Structure]:
    """Return the structures with clocked bits and their logic joined."""
    return _registers(view, _ripple(view, structures))


def _flat(structures: list[Structure]) -> list[Structure]:
    return [b for s in structures for b in (s.parts if s.term in _ROWS else (s,)) if b.term in _BITS]


def _ripple(view: View, structures: list[Structure]) -> list[Structure]:
    """Join bits that toggle, each clocked by the one before."""
    near = Neighbours.of(view, structures)
    toggles: dict[Structure, Structure] = {}
    inner: dict[Structure, tuple[str, ...]] = {}
    bits = [s for s in structures if s.term in _BITS]
    bits += [b for s in structures if s.term == "register row" for b in s.parts if b.term in _BITS]
    for s in bits:
        data, out = s.nets(Role.DATA), s.nets(Role.OUTPUT)
        if not data:  # a bit that a gate of its own turns over, one with a reset say, has no data from outside
            data, out = _own_data(s), (*out, *(n for part in s.parts for n in part.nets(Role.OUTPUT)))
        if s.parts and all(plain(part.term) in ("NAND", "NOR") for part in s.parts):  # a bit of crossed gates
            out = (*out, *(n for part in s.parts for n in part.nets(Role.OUTPUT)))
            inner[s] = out
        roots = {near.root(n) for n in out}
        source = view.root(data[0]) if len(data) == 1 else None
        if source is not None and source[0] in roots:
            inverters = [d for d in [near.driver(data[0])] if d is not None and d.term == "inverter"]
            toggles[s] = block(view, "toggle flip-flop", [s, *inverters], "turns over at every edge of its clock")
    after: dict[Structure, Structure] = {}
    fed: set[Structure] = set()
    made: dict[str, list[Structure]] = {}
    for s in bits:
        for n in inner.get(s, s.nets(Role.OUTPUT)) if s in toggles else ():
            made.setdefault(near.root(n), []).append(s)
    for s in bits:
        if s not in toggles:
            continue
        for before in dict.fromkeys(b for n in s.nets(Role.CLOCK) for b in made.get(near.root(n), ())):
            if before is not s:
                after[before] = s
                fed.add(s)
    result = structures
    for s in bits:
        if s in fed or s not in after:
            continue
        chain = [s]
        while (nxt := after.get(chain[-1])) is not None and all(nxt is not c for c in chain):
            chain.append(nxt)
        gone = [p for c in chain for p in toggles[c].parts]
        rest = near.feeders([*chain, *gone])
        parts = [*(toggles[c] for c in chain), *(r for r in rest if all(r is not g for g in gone))]
        words = f"counts edges of {', '.join(chain[0].nets(Role.CLOCK)[:1])}, each bit clocked by the one before"
        result = _opened(view, result, chain)
        result = replaced(result, [*gone, *rest], block(view, f"{len(chain)}-bit ripple counter", parts, words))
    return result


def _own_data(s: Structure) -> tuple[str, ...]:
    """Return what the first store of a bit takes where the last one drives it."""
    if len(s.parts) < 2:
        return ()
    last = {n for part in s.parts[1:] for n in part.nets(Role.OUTPUT)}
    return tuple(n for n in s.parts[0].nets(Role.DATA) if n in last)


def _registers(view: View, structures: list[Structure]) -> list[Structure]:
    """Name each set of bits on one clock by what their next state is."""
    result = structures
    groups: dict[frozenset[str], list[Structure]] = {}
    near = Neighbours.of(view, structures)
    for s in structures:
        if s.term in (*_BITS, *_ROWS) and s.nets(Role.CLOCK, Role.ENABLE):
            if s.term == "register row" and any(p.term not in _BITS for p in s.parts):
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
            result = replaced(_opened(view, result, bits), parts, whole)
    return result


def _opened(view: View, structures: list[Structure], bits: list[Structure]) -> list[Structure]:
    """Return the structures with rows that hold some of the bits taken apart; the other bits of a row stay together."""
    result: list[Structure] = []
    for s in structures:
        rest = [part for part in s.parts if part not in bits] if s.term in _ROWS else []
        if s.term not in _ROWS or len(rest) == len(s.parts):
            result.append(s)
            continue
        result += [part for part in s.parts if part in bits]
        if s.term == "register row" and len(rest) > 1:
            words = f"{len(rest)} × {rest[0].term} on the same controls"
            result.append(merge(view, s.term, rest, [p for part in rest for p in part.ports], words))
        else:
            result += rest
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
        if len(some) > MOST_STATE:
            continue
        outs = {
            view.root(n)[0]: (i, view.root(n)[1]) for i, b in enumerate(some) for n in reversed(b.nets(Role.OUTPUT))
        }
        cones = Cones(view, stops=frozenset(outs))
        datas = [b.nets(Role.DATA) for b in some]
        reads = [cones.leaves(d[0]) for d in datas if len(d) == 1]
        fits = len(reads) == len(some) and len(set().union(*reads)) <= MOST_LEAVES
        if fits and _counts(cones, datas, outs, reads, len(some)):
            return some
    return None


def _also(group: list[Structure]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(s.term for s in group if s.term in _ROWS))


def _named(view: View, near: Neighbours, bits: list[Structure]) -> tuple[str, str, list[Structure]] | None:
    """Return the name of a set of bits on one clock, what it does, and the logic between its bits."""
    count = len(bits)
    states = [b.nets(Role.OUTPUT) for b in bits]
    datas = [b.nets(Role.DATA) for b in bits]
    if any(not q for q in states) or any(len(d) != 1 for d in datas):
        return None
    own = {near.root(n): (i, view.root(n)[1]) for i, nets in enumerate(states) for n in reversed(nets)}
    cones = Cones(view, stops=frozenset(own))
    reads = [cones.leaves(d[0]) for d in datas]
    logic = _between(near, bits)
    inside = [{own[r][0] for r in leaves if r in own} for leaves in reads]
    before = [
        next(iter(i)) if len(i) == 1 and len(leaves) == 1 else None for i, leaves in zip(inside, reads, strict=True)
    ]
    if all(not i for i in inside):
        return None
    shifted = sum(b is not None and b != i for i, b in enumerate(before))
    if shifted == count - 1 or (shifted == count and count > 1):
        return _shifting(cones, datas, before, own, reads, logic, count)
    muxed = _multiplexed(cones, datas, own, reads, count)
    if muxed is not None:
        return (*muxed, logic)
    if count <= MOST_STATE and len(set().union(*reads)) <= MOST_LEAVES:
        ways = _counts(cones, datas, own, reads, count)
        if ways and _adds_up(cones, datas, own, reads, count):
            return f"{count}-bit accumulator", "adds to its number, at every edge, another that it is given", logic
        if ways:
            return (*_called(ways, count), logic)
    if any(inside):
        return f"{count}-bit state register", "its next state depends on its state", logic
    return None


def _shifting(
    cones: Cones, datas: list[tuple[str, ...]], before: list[int | None],
    own: dict[str, tuple[int, bool]], reads: list[frozenset[str]], logic: list[Structure], count: int,
) -> tuple[str, str, list[Structure]] | None:  # fmt: skip
    """Name a chain of bits by what its first takes."""
    heads = [i for i, b in enumerate(before) if b is None]
    if heads:
        head = heads[0]
        taken = reads[head]
        inner = [r for r in taken if r in own]
        if not inner:
            return None
        kind = name_function(cones.table(datas[head][0], sorted(taken)), sorted(taken)) if len(taken) <= 6 else None
        term = plain(kind.term) if kind is not None else ""
        if term in ("XOR", "XNOR"):
            words = f"the first bit takes the {term} of {len(taken)} others"
            return f"{count}-bit feedback shift register", words, logic
        if _sums_when_let(cones, datas[head][0], sorted(taken), [n for n in taken if n not in own]):
            words = "the first bit takes the sum of others, unless an input holds it"
            return f"{count}-bit feedback shift register", words, logic
        if term in ("NOR", "AND", "NAND", "OR") and len(inner) == len(taken) >= count - 1:
            return f"{count}-bit ring counter", "one bit runs round; the gate starts it again", logic
        if len(inner) < len(taken):
            return (
                f"{count}-bit shift register with feedback",
                "the first bit takes a function of others and inputs",
                logic,
            )
        return f"{count}-bit feedback shift register", f"the first bit takes a function of {len(taken)} others", logic
    sense = sum(_turns(cones, datas[i][0], own) for i in range(count))
    if sense % 2:
        return f"{count}-bit Johnson counter", f"the last bit comes back inverted: {2 * count} states", logic
    return f"{count}-bit ring counter", "the last bit comes back to the first", logic


def _sums_when_let(cones: Cones, net: str, leaves: list[str], outer: list[str]) -> bool:
    """Tell whether, for some levels of the inputs, a net is the XOR of all bits that it sees."""
    if not 1 <= len(outer) <= 2 or len(leaves) > MOST_STATE or len(leaves) - len(outer) < 2:
        return False
    names = [*outer, *(n for n in leaves if n not in outer)]
    table, rows = cones.table(net, names), 1 << (len(names) - len(outer))
    parity = sum((r.bit_count() & 1) << r for r in range(rows))
    full = (1 << rows) - 1
    return any(table >> at * rows & full in (parity, full ^ parity) for at in range(1 << len(outer)))


def _turns(cones: Cones, net: str, own: dict[str, tuple[int, bool]]) -> bool:
    """Tell whether a bit takes the inverse of the one before."""
    (leaf,) = cones.leaves(net)
    return (cones.table(net, [leaf]) == 0b01) != (not own[leaf][1])


def _multiplexed(
    cones: Cones,
    datas: list[tuple[str, ...]],
    own: dict[str, tuple[int, bool]],
    reads: list[frozenset[str]],
    count: int,
) -> tuple[str, str] | None:
    """Name registers each bit of which chooses between its own level, its neighbour's and an input."""
    keeps = shifts = wide = 0
    selects: set[str] | None = None
    for i, leaves in enumerate(reads):
        if len(leaves) not in (3, 6):
            return None
        names = sorted(leaves)
        named = name_function(cones.table(datas[i][0], names), names)
        if named is None or "multiplexer" not in named.term:
            return None
        mine = {own[r][0] for r in leaves if r in own}
        keeps += mine == {i}
        shifts += bool(mine) and mine != {i}
        wide += len(leaves) == 6 and i in mine and len(mine) > 1
        selects = set(named.selects) if selects is None else selects & set(named.selects)
    if not selects:
        return None
    if wide == count:
        return f"{count}-bit universal shift register", "each bit keeps its level, or takes a neighbour's or an input"
    if keeps == count:
        return f"{count}-bit register with enable", "each bit takes its input while enabled, else its own level again"
    if shifts >= count - 1:
        return f"{count}-bit loadable shift register", "each bit takes an input, or the bit before it"
    return None


Ways = dict[int, int]
"""By how much the number goes on, up or down by one, and through how many states."""


def _called(ways: Ways, count: int) -> tuple[str, str]:
    """Return what counts so, and in words; ten states out of sixteen are a decade (common practice)."""
    decade = count == 4 and set(ways.values()) == {10}
    name = "decade counter" if decade else f"{count}-bit up/down counter" if len(ways) > 1 else ""
    if decade and len(ways) > 1:
        name = "up/down decade counter"
    through = max(ways.values())
    words = "counts edges of its clock, all bits at once"
    if through != 1 << count:
        words += f", through {through} states"
    if len(ways) > 1:
        words += ", either way"
    return name or f"{count}-bit synchronous counter", words


def _counts(
    cones: Cones,
    datas: list[tuple[str, ...]],
    own: dict[str, tuple[int, bool]],
    reads: list[frozenset[str]],
    count: int,
) -> Ways:
    """Return the ways in which, for some levels of its inputs, the state goes through most of its values one by one."""
    leaves = sorted(set().union(*reads))
    tables = [cones.table(d[0], leaves) for d in datas]
    outer = [n for n in leaves if n not in own]
    if len(outer) > MOST_OUTER:
        return {}
    at = {n: len(leaves) - 1 - i for i, n in enumerate(leaves)}
    cycles: list[list[int]] = []
    for values in product((0, 1), repeat=len(outer)):
        base = sum(v << at[n] for n, v in zip(outer, values, strict=True))

        def following(state: int, base: int = base) -> int:
            row = base | sum(((state >> i & 1) == straight) << at[n] for n, (i, straight) in own.items() if n in at)
            return sum((t >> row & 1) << i for i, t in enumerate(tables))

        state, seen = 0, list[int]()
        while state not in seen:
            seen.append(state)
            state = following(state)
        cycle = seen[seen.index(state) :]
        if len(cycle) > count and len(cycle) * 2 > 1 << count:
            cycles.append(cycle)
    ways: Ways = {}
    if not cycles:
        return ways
    for flips in (0, (1 << count) - 1):
        for cycle in cycles:
            turned = _turned(cycle, count)
            order = sorted(range(count), key=lambda i: -turned[i])  # the bit that turns over most counts least
            numbers = [sum((s ^ flips) >> i & 1 and 1 << k for k, i in enumerate(order)) for s in cycle]
            steps = [(b - a) % (1 << count) for a, b in zip(numbers, [*numbers[1:], numbers[0]], strict=True)]
            for step in (1, (1 << count) - 1):
                if sum(s == step for s in steps) >= len(cycle) - 1:
                    whole = len(cycle) == 1 << count or sorted(numbers) == list(range(len(cycle)))
                    ways[step] = len(cycle) if whole or step not in ways else ways[step]
        if ways:
            return ways
    return ways


def _adds_up(
    cones: Cones,
    datas: list[tuple[str, ...]],
    own: dict[str, tuple[int, bool]],
    reads: list[frozenset[str]],
    count: int,
) -> bool:
    """Tell whether the number goes on by as many steps as its inputs say: by each number of them for some levels."""
    leaves = sorted(set().union(*reads))
    outer = [n for n in leaves if n not in own]
    if count < 2 or not count <= len(outer) <= MOST_OUTER:
        return False
    tables = [cones.table(d[0], leaves) for d in datas]
    at = {n: len(leaves) - 1 - i for i, n in enumerate(leaves)}
    size = 1 << count

    def after(state: int, base: int) -> int:
        row = base | sum(((state >> i & 1) == straight) << at[n] for n, (i, straight) in own.items() if n in at)
        return sum((t >> row & 1) << i for i, t in enumerate(tables))

    levels = [
        sum(v << at[n] for n, v in zip(outer, values, strict=True)) for values in product((0, 1), repeat=len(outer))
    ]
    maps = [[after(state, base) for state in range(size)] for base in levels]
    for order in permutations(range(count)) if count <= 4 else (range(count),):
        weigh = [sum((s >> i & 1) << k for k, i in enumerate(order)) for s in range(size)]
        steps = [{(weigh[new] - weigh[old]) % size for old, new in enumerate(m)} for m in maps]
        if {next(iter(s)) for s in steps if len(s) == 1} == set(range(size)):
            return True
    return False


def _turned(cycle: list[int], count: int) -> list[int]:
    """Return how often each bit turns over on the way round."""
    after = [*cycle[1:], cycle[0]]
    return [sum((a ^ b) >> i & 1 for a, b in zip(cycle, after, strict=True)) for i in range(count)]


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
    rows = {r for r in near.items if r.term in _ROWS and any(p in own for p in r.parts)}
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
