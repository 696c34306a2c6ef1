"""
Join set-reset pairs with the gates that steer them: latches of one port or two, flip-flops of master and slave.

What sets and what resets a pair is tabulated over the nets behind its steering gates. Where one net closes both, it is
a control; while it is open the pair takes data, or turns over as j and k say. Two such pairs on opposite levels of one
control make a flip-flop (data sheets; textbooks of digital design); a pair that takes data on one control and the bit
before it on another is what scan design shifts through (Eichelberger and Williams 1977); all from memory.
"""

from collections.abc import Iterable
from itertools import permutations

from layoutdrill.netlist.roles import Role
from layoutdrill.recognise.blocks.neighbours import Neighbours, block, plain, replaced
from layoutdrill.recognise.cones import Cones
from layoutdrill.recognise.model import Port, Structure
from layoutdrill.recognise.view import View
from layoutdrill.simulate.expression import column_of
from layoutdrill.value import identity, value

_STEERING = ("NAND", "NOR", "AND", "OR")
MOST_LEAVES = 8


@value
class Way:
    """A way into a pair: the control, the level that opens it, and the nets: data, or what sets and what resets."""

    control: str
    level: int
    data: tuple[str, ...]
    turns: bool = False


@value
@identity
class Steered:
    """A pair with its steering gates, the ways in, and the nets that it gives, straight and inverted."""

    pair: Structure
    gates: tuple[Structure, ...]
    ways: tuple[Way, ...]
    q: str
    qn: str


def join_steered(view: View, structures: list[Structure]) -> list[Structure]:
    """Return the structures with steered pairs joined into latches, flip-flops and bits that are scanned."""
    pairs = [s for s in structures if s.term == "SR latch" and len(s.nets(Role.OUTPUT)) == 2 and s.parts]
    structures = _sensed(view, structures)
    if len(pairs) < 2:
        return structures
    near = Neighbours.of(view, structures)
    stops = {near.root(n): s for s in pairs for n in s.nets(Role.OUTPUT)}
    cones = Cones(view, stops=frozenset(stops))
    opposite = {near.root(a): near.root(b) for s in pairs for a, b in (s.nets(Role.OUTPUT), s.nets(Role.OUTPUT)[::-1])}
    steered = [t for s in pairs if (t := _steered(near, cones, s, opposite)) is not None]
    result = structures
    for master in steered:
        for slave in steered:
            bit = _bit(view, near, master, slave) if slave is not master else None
            if bit is not None and set(bit.parts) <= set(result):
                result = replaced(result, bit.parts, bit)
    return _scanned(view, result)


def _steered(near: Neighbours, cones: Cones, pair: Structure, opposite: dict[str, str]) -> Steered | None:
    """Return how a pair is steered, None where no control closes it."""
    kind = plain(pair.parts[0].term)
    active = 0 if kind == "NAND" else 1
    sides: list[list[str]] = []
    gates: list[Structure] = []
    for role in (Role.SET, Role.RESET):
        made = [(n, s) for n in pair.nets(role) if (s := near.driver(n)) is not None and plain(s.term) in _STEERING]
        sides.append([n for n, _ in made])
        gates += [s for _, s in made]
    leaves = sorted(set().union(*(cones.leaves(n) for side in sides for n in side)))
    if not all(sides) or len(leaves) > MOST_LEAVES:
        return None
    column = {n: column_of(i, len(leaves)) for i, n in enumerate(leaves)}
    full = (1 << (1 << len(leaves))) - 1
    allowed = full
    for n in leaves:
        if opposite.get(n) in column:
            allowed &= column[n] ^ column[opposite[n]]
    sets, resets = (
        _any(cones.table(n, leaves) if active else full ^ cones.table(n, leaves) for n in side) & allowed
        for side in sides
    )
    controls = [(n, v) for n in leaves if n not in opposite for v in (0, 1)]
    on = {(n, v): column[n] if v else full ^ column[n] for n, v in controls}
    closed = [c for c in controls if not (sets | resets) & (full ^ on[c])]
    q, qn = pair.nets(Role.OUTPUT)
    if closed:
        way = _way(closed[0], sets, resets, on[closed[0]] & allowed, column, opposite)
        return Steered(pair, tuple(gates), (way,), near.root(q), near.root(qn)) if way is not None else None
    for a in controls:
        for b in controls:
            if a[0] >= b[0] or (sets | resets) & ~on[a] & ~on[b] & full:
                continue
            ways = [
                _way(mine, sets, resets, on[mine] & ~on[other] & allowed, column, opposite)
                for mine, other in ((a, b), (b, a))
            ]
            if all(way is not None and not way.turns for way in ways):
                taken = tuple(way for way in ways if way is not None)
                return Steered(pair, tuple(gates), taken, near.root(q), near.root(qn))
    return None


def _any(tables: Iterable[int]) -> int:
    result = 0
    for table in tables:
        result |= table
    return result


def _way(
    control: tuple[str, int], sets: int, resets: int, rows: int, column: dict[str, int], opposite: dict[str, str]
) -> Way | None:
    """Return what a pair takes in the rows in which one control is open."""
    others = [n for n in column if n != control[0]]
    for n in others:
        if (sets & rows, resets & rows) == (column[n] & rows, ~column[n] & rows):
            return Way(*control, (n,))
    own = [n for n in others if n in opposite]
    free = [n for n in others if n not in opposite]
    for q in own:
        low, high = ~column[q] & rows, column[q] & rows
        if len(own) == 2 and not free and (sets & rows, resets & rows) == (low, high):
            return Way(*control, (q,), turns=True)
        for j, k in permutations(free) if len(free) == 2 else [(free * 2)[:2]] if free else []:
            if (sets & rows, resets & rows) == (column[j] & low, column[k] & high):
                return Way(*control, (q, j, k), turns=True)
    return None


def _bit(view: View, near: Neighbours, master: Steered, slave: Steered) -> Structure | None:
    """Return master and slave as one bit, where the slave takes the master's level and hands it on after it."""
    taken = [w for w in slave.ways if not w.turns and w.data[0] in (master.q, master.qn)]
    if len(slave.ways) != 1 or not taken:
        return None
    (given,) = taken
    parts = list(dict.fromkeys((master.pair, slave.pair, *master.gates, *slave.gates)))
    parts += [p for p in near.feeders(parts) if p not in parts]
    clocks = {w.control for w in (*master.ways, given)}
    data = {n for w in master.ways for n in w.data}
    if len(master.ways) == 1:
        (way,) = master.ways
        if way.control != given.control or way.level == given.level:
            return None
        if way.turns and way.data[0] not in (slave.q, slave.qn):
            return None
        if way.turns and (way.data[0] == slave.q) != (given.data[0] == master.q):
            return None  # it would stay as it is
        edge = "fall" if way.level else "rise"
        term, words = "register bit", f"takes {way.data[0]} at the {edge} of {way.control}"
        if way.turns:
            term = "JK flip-flop" if len(way.data) == 3 else "toggle flip-flop"
            told = f"set by {way.data[1]}, reset by {way.data[2]}" if len(way.data) == 3 else "turns over"
            words = f"{told} at the {edge} of {way.control}"
    else:
        if any(w.turns or w.control == given.control for w in master.ways):
            return None
        term = "scan register bit"
        told = " or ".join(f"{w.data[0]} on {w.control}" for w in master.ways)
        words = f"takes {told}, hands it on on {given.control}"
    whole = block(view, term, parts, words)
    ports = [
        Port(p.net, Role.CLOCK) if near.root(p.net) in clocks
        else Port(p.net, Role.DATA) if near.root(p.net) in data and p.role is Role.INPUT
        else p
        for p in whole.ports
    ]  # fmt: skip
    return Structure(whole.term, whole.transistors, tuple(ports), whole.parts, words)


def _sensed(view: View, structures: list[Structure]) -> list[Structure]:
    """Join a sense amplifier with the set-reset pair that keeps what it found: it takes its input at an edge."""
    result = structures
    for amplifier in [s for s in structures if s.term == "sense amplifier" and s.nets(Role.CLOCK)]:
        near = Neighbours.of(view, result)
        found = {near.root(n) for n in amplifier.nets(Role.OUTPUT, Role.BIT_LINE)}
        pairs = [
            s for s in result
            if s.term == "SR latch" and {near.root(n) for n in s.nets(Role.SET, Role.RESET)} == found
        ]  # fmt: skip
        if len(pairs) == 1 and len(found) == 2:
            parts = [amplifier, *pairs]
            parts += [p for p in near.feeders(parts) if p not in parts]
            outside = set(pairs[0].transistors)
            parts += [
                s for n in sorted(found) for s in near.readers.get(n, ())
                if s.term == "inverter" and s not in parts
                and all(set(r.transistors) <= outside for m in s.nets(Role.OUTPUT) for r in near.readers.get(m, ()))
            ]  # fmt: skip
            words = f"takes {' and '.join(amplifier.nets(Role.INPUT))} at the rise of {amplifier.nets(Role.CLOCK)[0]}"
            whole = block(view, "sense-amplifier flip-flop", parts, words, also=("register bit",))
            result = replaced(result, parts, whole)
    return result


def _scanned(view: View, structures: list[Structure]) -> list[Structure]:
    """Join bits that are scanned, each of which takes the one before it on one of its controls."""
    bits = [s for s in structures if s.term == "scan register bit"]
    near = Neighbours.of(view, structures)
    made = {near.root(n): s for s in bits for n in s.nets(Role.OUTPUT)}
    clocks = {s: frozenset(near.root(n) for n in s.nets(Role.CLOCK)) for s in bits}
    after = {
        before: s for s in bits for n in s.nets(Role.DATA)
        if (before := made.get(near.root(n))) is not None and before is not s and clocks[before] == clocks[s]
    }  # fmt: skip
    fed = set(after.values())
    result = structures
    for first in [s for s in bits if s in after and s not in fed]:
        chain = [first]
        while (following := after.get(chain[-1])) is not None and following not in chain:
            chain.append(following)
        parts = [*chain, *near.feeders(chain)]
        words = f"{len(chain)} bits that take a word, or move on by one"
        result = replaced(result, parts, block(view, f"{len(chain)}-bit scan register", parts, words))
    return result
