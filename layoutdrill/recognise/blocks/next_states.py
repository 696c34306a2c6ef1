"""
Name a set of bits on one clock by their next state: counters, accumulators, feedback and Johnson counters, registers.

The next state of each bit is tabulated over what its cone reads, bits of the set and inputs from outside.
"""

from collections.abc import Sequence
from itertools import chain, permutations, product

from layoutdrill.netlist.roles import Role
from layoutdrill.recognise.blocks.neighbours import plain
from layoutdrill.recognise.cones import Cones
from layoutdrill.recognise.functions import name_function
from layoutdrill.recognise.model import Structure
from layoutdrill.recognise.single_phase import is_single_phase
from layoutdrill.recognise.view import View
from layoutdrill.simulate.expression import column_of
from layoutdrill.value import value

Name = tuple[str, str]
"""A term, and in words what it does."""
Ways = dict[int, int]
"""By how much the number goes on, up or down by one, and through how many states."""

MOST_STATE = 8
MOST_OUTER = 6
MOST_LEAVES = 14
MOST_ALIKE = 3
"""Bits that turn over equally often of which each order is tried."""
FEWEST_DIVIDING = 3
"""Bits of a register that divides by a polynomial."""


@value
class NextState:
    """
    What each bit takes next. `data` is the net that bit i takes, `reads` the leaves of that net's cone.

    `own` gives, for the leaves that bits drive, which bit it is and whether the leaf is its level or the inverse.
    """

    cones: Cones
    data: tuple[str, ...]
    own: dict[str, tuple[int, bool]]
    reads: tuple[frozenset[str], ...]

    @property
    def count(self) -> int:
        return len(self.data)

    @property
    def leaves(self) -> list[str]:
        return sorted(set().union(*self.reads))

    def maps(self) -> list[list[int]]:
        """Return, for each row of levels of the inputs from outside, the state that follows each state."""
        leaves = self.leaves
        at = {n: len(leaves) - 1 - i for i, n in enumerate(leaves)}
        outer = [n for n in leaves if n not in self.own]
        columns = [f"{self.cones.table(net, leaves):0{1 << len(leaves)}b}"[::-1] for net in self.data]
        after = [int("".join(levels), 2) for levels in zip(*reversed(columns), strict=True)]
        states = [
            sum(((state >> i & 1) == straight) << at[n] for n, (i, straight) in self.own.items() if n in at)
            for state in range(1 << self.count)
        ]
        bases = [
            sum(v << at[n] for n, v in zip(outer, levels, strict=True)) for levels in product((0, 1), repeat=len(outer))
        ]
        return [[after[base | row] for row in states] for base in bases]


def next_state(view: View, bits: Sequence[Structure]) -> NextState | None:
    """Return what each bit takes next, None where a bit has no output or not one data net."""
    states, data = [b.nets(Role.OUTPUT) for b in bits], [b.nets(Role.DATA) for b in bits]
    if any(not q for q in states) or any(len(d) != 1 for d in data):
        return None
    own = {
        view.root(n)[0]: (i, view.root(n)[1] != is_single_phase(bit))
        for i, (bit, nets) in enumerate(zip(bits, states, strict=True))
        for n in reversed(nets)
    }
    cones = Cones(view, stops=frozenset(own))
    taken = tuple(d[0] for d in data)
    return NextState(cones, taken, own, tuple(cones.leaves(net) for net in taken))


def named_by(s: NextState) -> Name | None:
    """Return what a set of bits on one clock is, None where no bit looks at another."""
    count = s.count
    inside = [{s.own[r][0] for r in leaves if r in s.own} for leaves in s.reads]
    before = [
        next(iter(i)) if len(i) == 1 and len(leaves) == 1 else None for i, leaves in zip(inside, s.reads, strict=True)
    ]
    if not any(inside):
        return None
    shifted = sum(b is not None and b != i for i, b in enumerate(before))
    if shifted == count - 1 or (shifted == count and count > 1):
        return _shifting(s, before)
    if (muxed := _multiplexed(s)) is not None:
        return muxed
    if (divided := _divided(s)) is not None:
        return divided
    ways = counting_ways(s)
    if ways and _adds_up(s):
        return f"{count}-bit accumulator", "adds to its number, at every edge, another that it is given"
    return _called(ways, count) if ways else (f"{count}-bit state register", "its next state depends on its state")


def _shifting(s: NextState, before: Sequence[int | None]) -> Name | None:
    """Name a chain of bits by what its first takes."""
    count = s.count
    heads = [i for i, b in enumerate(before) if b is None]
    if not heads:
        if sum(_turns(s, i) for i in range(count)) % 2:
            return f"{count}-bit Johnson counter", f"the last bit comes back inverted: {2 * count} states"
        return f"{count}-bit ring counter", "the last bit comes back to the first"
    net, taken = s.data[heads[0]], sorted(s.reads[heads[0]])
    outer = [n for n in taken if n not in s.own]
    if len(outer) == len(taken):
        return None
    kind = name_function(s.cones.table(net, taken), taken) if len(taken) <= 6 else None
    term = plain(kind.term) if kind is not None else ""
    if term in ("XOR", "XNOR"):
        return f"{count}-bit feedback shift register", f"the first bit takes the {term} of {len(taken)} others"
    if _sums_when_let(s.cones, net, taken, outer):
        return f"{count}-bit feedback shift register", "the first bit takes the sum of others, unless an input holds it"
    if term in ("NOR", "AND", "NAND", "OR") and not outer and len(taken) >= count - 1:
        return f"{count}-bit ring counter", "one bit runs round; the gate starts it again"
    if (cycling := _cycling(s)) is not None:
        return cycling
    if outer:
        return f"{count}-bit shift register with feedback", "the first bit takes a function of others and inputs"
    return f"{count}-bit feedback shift register", f"the first bit takes a function of {len(taken)} others"


def _rounds(s: NextState) -> list[list[int]]:
    """Return, for each level of the inputs for which all states lead to one round of several, those states in turn."""
    rounds = []
    for following in s.maps() if _small(s) else ():
        ends = set(range(1 << s.count))
        while (onward := {following[state] for state in ends}) != ends:
            ends = onward
        turn = [min(ends)]
        while (state := following[turn[-1]]) not in turn:
            turn.append(state)
        if len(turn) == len(ends) > 1:
            rounds.append(turn)
    return rounds


def _cycling(s: NextState) -> Name | None:
    """Name a chain of bits by the states that it goes round through, from wherever it starts."""
    count, rounds = s.count, _rounds(s)
    if not rounds:
        return None
    sizes = sorted({len(r) for r in rounds})
    ones = [{state.bit_count() for state in r} for r in rounds]
    if sizes == [count] and all(o in ({1}, {count - 1}) for o in ones):
        return f"{count}-bit ring counter", "one bit runs round, whatever it starts from"
    if sizes == [2 * count] and count > 2 and all(set(_turned(r, count)) == {2} for r in rounds):
        words = f"{2 * count} states, one bit turning over at each; other states lead to these"
        return f"{count}-bit Johnson counter", words
    if len(sizes) == 2 and sizes[1] == sizes[0] + 1:
        words = f"goes round through {sizes[0]} or {sizes[1]} states, as an input says"
        return f"{sizes[0]}/{sizes[1]} dual-modulus prescaler", words
    if len(sizes) == 1 and sizes[0] < 1 << count and count > 1:
        return f"{sizes[0]}-state counter", f"goes round through {sizes[0]} states, whatever it starts from"
    return None


def _divided(s: NextState) -> Name | None:
    """
    Name a register whose bits move on by one, the last added to several of them: it divides by a polynomial.

    What comes in is added where the last bit is (cyclic redundancy check; ITU-T V.41, from memory).
    """
    inside = [{s.own[r][0] for r in leaves if r in s.own} for leaves in s.reads]
    outer = [leaves - set(s.own) for leaves in s.reads]
    given = set().union(*outer)
    if s.count < FEWEST_DIVIDING or len(given) > 1 or any(len(leaves) > 3 for leaves in s.reads):
        return None
    for i, leaves in enumerate(s.reads):
        table, rows = s.cones.table(s.data[i], sorted(leaves)), 1 << len(leaves)
        parity = sum((r.bit_count() & 1) << r for r in range(rows))
        if table not in (parity, (1 << rows) - 1 ^ parity):
            return None
    for last in range(s.count):
        added = [i for i in range(s.count) if last in inside[i]]
        before = {i: next(iter(inside[i] - {last})) for i in range(s.count) if len(inside[i] - {last}) == 1}
        heads = [i for i in range(s.count) if inside[i] <= {last}]
        if len(heads) != 1 or len(before) != s.count - 1 or len(added) < 2 or heads[0] not in added:
            continue
        row = [heads[0]]
        after = {b: i for i, b in before.items()}
        while row[-1] in after and len(row) <= s.count:
            row.append(after[row[-1]])
        if (
            len(row) != s.count
            or row[-1] != last
            or any((i in added) != bool(outer[i]) for i in range(s.count) if given)
        ):
            continue
        if given:
            return f"{s.count}-bit CRC register", f"divides what comes in by a polynomial of degree {s.count}"
        return f"{s.count}-bit feedback shift register", "the last bit is added to the first and others"
    return None


def _sums_when_let(cones: Cones, net: str, leaves: list[str], outer: list[str]) -> bool:
    """Tell whether, for some levels of the inputs, a net is the XOR of all bits that it sees."""
    if not 1 <= len(outer) <= 2 or len(leaves) > MOST_STATE or len(leaves) - len(outer) < 2:
        return False
    names = [*outer, *(n for n in leaves if n not in outer)]
    table, rows = cones.table(net, names), 1 << (len(names) - len(outer))
    parity = sum((r.bit_count() & 1) << r for r in range(rows))
    full = (1 << rows) - 1
    return any(table >> at * rows & full in (parity, full ^ parity) for at in range(1 << len(outer)))


def _turns(s: NextState, bit: int) -> bool:
    """Tell whether a bit takes the inverse of the one before."""
    (leaf,) = s.reads[bit]
    return (s.cones.table(s.data[bit], [leaf]) == 0b01) != (not s.own[leaf][1])


def _multiplexed(s: NextState) -> Name | None:
    """Name registers each bit of which chooses between its own level, its neighbour's and an input."""
    keeps = shifts = wide = 0
    selects: set[str] | None = None
    for i, leaves in enumerate(s.reads):
        if len(leaves) not in (3, 6):
            return None
        names = sorted(leaves)
        tables = (s.cones.table(s.data[i], names), _over_levels(s, i, names))
        either = [n for table in tables if (n := name_function(table, names)) is not None and "multiplexer" in n.term]
        if not either:
            return None
        mine = {s.own[r][0] for r in leaves if r in s.own}
        keeps += mine == {i}
        shifts += bool(mine) and mine != {i}
        wide += len(leaves) == 6 and i in mine and len(mine) > 1
        selects = set(either[0].selects) if selects is None else selects & set(either[0].selects)
    if not selects:
        return None
    if wide == s.count:
        return f"{s.count}-bit universal shift register", "each bit keeps its level, or takes a neighbour's or an input"
    if keeps == s.count:
        return f"{s.count}-bit register with enable", "each bit takes its input while enabled, else its own level again"
    if shifts >= s.count - 1:
        return f"{s.count}-bit loadable shift register", "each bit takes an input, or the bit before it"
    return None


def _over_levels(s: NextState, bit: int, names: Sequence[str]) -> int:
    """Return what a bit takes as a table over the levels of bits, where a leaf is the inverse of one."""
    table, count = s.cones.table(s.data[bit], names), len(names)
    for place, name in enumerate(names):
        if name in s.own and not s.own[name][1]:
            column, shift = column_of(place, count), 1 << (count - 1 - place)
            table = (table & column) >> shift | (table & ~column) << shift & column
    return table


def _called(ways: Ways, count: int) -> Name:
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


def counting_ways(s: NextState) -> Ways:
    """Return the ways in which, for some levels of its inputs, the state goes through most of its values one by one."""
    count, ways = s.count, Ways()
    if not _small(s):
        return ways
    cycles: list[list[int]] = []
    for following in s.maps():
        state, seen = 0, list[int]()
        while state not in seen:
            seen.append(state)
            state = following[state]
        cycle = seen[seen.index(state) :]
        if len(cycle) > count and len(cycle) * 2 > 1 << count:
            cycles.append(cycle)
    for flips in (0, (1 << count) - 1):
        for cycle, order in ((c, o) for c in cycles for o in _weights(_turned(c, count))):
            numbers = [sum((at ^ flips) >> i & 1 and 1 << k for k, i in enumerate(order)) for at in cycle]
            steps = [(b - a) % (1 << count) for a, b in zip(numbers, [*numbers[1:], numbers[0]], strict=True)]
            for step in (1, (1 << count) - 1):
                if sum(taken == step for taken in steps) >= len(cycle) - 1:
                    whole = len(cycle) == 1 << count or sorted(numbers) == list(range(len(cycle)))
                    ways[step] = len(cycle) if whole or step not in ways else ways[step]
        if ways:
            return ways
    return ways


def _adds_up(s: NextState) -> bool:
    """Tell whether the number goes on by as many steps as its inputs say: by each number of them for some levels."""
    count, size = s.count, 1 << s.count
    outer = [n for n in s.leaves if n not in s.own]
    if not 2 <= count <= len(outer) or not _small(s):
        return False
    maps = s.maps()
    for order in permutations(range(count)) if count <= 4 else (range(count),):
        weigh = [sum((at >> i & 1) << k for k, i in enumerate(order)) for at in range(size)]
        steps = [{(weigh[new] - weigh[old]) % size for old, new in enumerate(m)} for m in maps]
        if {next(iter(taken)) for taken in steps if len(taken) == 1} == set(range(size)):
            return True
    return False


def _small(s: NextState) -> bool:
    leaves = s.leaves
    few = s.count <= MOST_STATE and len(leaves) <= MOST_LEAVES
    return few and sum(n not in s.own for n in leaves) <= MOST_OUTER


def _weights(turned: list[int]) -> list[tuple[int, ...]]:
    """
    Return the bits by weight, the least first, in each way that may be: what turns over most counts least.

    Where two turn over alike, as those of 4 and of 8 in a decade, either may be the greater.
    """
    alike = [[i for i, n in enumerate(turned) if n == times] for times in sorted(set(turned), reverse=True)]
    if max(map(len, alike)) > MOST_ALIKE:
        return [tuple(i for bits in alike for i in bits)]
    return [tuple(chain.from_iterable(order)) for order in product(*(permutations(bits) for bits in alike))]


def _turned(cycle: list[int], count: int) -> list[int]:
    """Return how often each bit turns over on the way round."""
    after = [*cycle[1:], cycle[0]]
    return [sum((a ^ b) >> i & 1 for a, b in zip(cycle, after, strict=True)) for i in range(count)]
