"""
Name what turns one code into another, by what it computes: segments of a digit, the reflected code, a corrected word.

The shapes of digits are those of seven-segment readouts, 6 and 9 with or without their tails and 7 with or without its
hook (common practice); the reflected code is Gray's (1953), the correction of one error Hamming's (1950), from memory.
"""

from collections import defaultdict
from collections.abc import Container, Iterator, Sequence
from itertools import combinations, permutations, product

from layoutdrill.netlist.roles import Role
from layoutdrill.recognise.blocks.neighbours import Neighbours, block, replaced
from layoutdrill.recognise.cones import Cones
from layoutdrill.recognise.decoders import kind_of
from layoutdrill.recognise.model import Structure
from layoutdrill.recognise.terms import family
from layoutdrill.recognise.view import View

_DIGITS = ("abcdef", "bc", "abdeg", "abcdg", "bcfg", "acdfg", "acdefg", "abc", "abcdefg", "abcdfg")
_EITHER = ((6, "a"), (9, "d"), (7, "f"))
"""Segments that some readouts light in a digit and others do not."""
_LOGIC = ("inverter", "buffer", "NAND", "NOR", "AND", "OR", "AOI", "OAI", "AO", "OA", "XOR", "XNOR", "complex gate",
          "multiplexer", "decoder", "ROM", "ROM plane", "PLA", "majority gate", "minority gate")  # fmt: skip
MOST_HELD = 3
"""Lines besides the digit's four: lamp test, blanking, an enable."""
MOST_PLACES = 5
FEWEST_PRODUCTS = 4
FEWEST_SUMS = 3
"""Of several inputs, and of several products: fewer are gates by themselves."""
FEWEST_STEPS = 3
"""XOR gates in a row that make a converter; two could be anything."""


def join_codes(view: View, structures: list[Structure]) -> list[Structure]:
    """Return the structures with converters between codes joined."""
    result = structures
    for step in (_segments, _planes, _correctors, _reflected, _encoders):
        result = step(view, result)
    return result


def join_sums(view: View, structures: list[Structure]) -> list[Structure]:
    """Return the structures with XOR gates in a row, each of which is read outside, joined: they undo Gray's code."""
    result = structures
    near = Neighbours.of(view, structures)
    gates = {near.root(s.nets(Role.OUTPUT)[0]): s for s in structures if _is_sum(s)}
    after: dict[str, list[str]] = defaultdict(list)
    for made, s in gates.items():
        for n in s.nets(Role.INPUT):
            if near.root(n) in gates:
                after[near.root(n)].append(made)
    heads = [made for made, s in gates.items() if not any(near.root(n) in gates for n in s.nets(Role.INPUT))]
    for head in heads:
        row = [head]
        while len(after[row[-1]]) == 1 and after[row[-1]][0] not in row:
            row.append(after[row[-1]][0])
        fresh = {near.root(n) for made in row for n in gates[made].nets(Role.INPUT)} - set(row)
        if len(row) < FEWEST_STEPS or len(fresh) != len(row) + 1 or not all(_outside(view, gates[m]) for m in row):
            continue
        parts = [gates[made] for made in row]
        parts += [p for p in near.feeders(parts) if p not in parts]
        words = f"each of {len(row)} bits is the sum of those above it in the reflected code"
        result = replaced(result, parts, block(view, f"{len(row) + 1}-bit Gray-to-binary converter", parts, words))
    return result


def _is_sum(s: Structure) -> bool:
    return s.term in ("XOR2", "XNOR2") and len(s.nets(Role.OUTPUT)) == 1 and len(s.nets(Role.INPUT)) >= 2


def _outside(view: View, s: Structure) -> bool:
    """Tell whether the output of a gate, itself or inverted, is a port."""
    root = view.root(s.nets(Role.OUTPUT)[0])[0]
    return any(n in view.ports for n in view.gates if view.root(n)[0] == root)


def _reflected(view: View, structures: list[Structure]) -> list[Structure]:
    """Join XOR gates each of which takes two neighbours of a word, and no other gate of them does."""
    near = Neighbours.of(view, structures)
    gates = [s for s in structures if _is_sum(s)]
    made = {near.root(s.nets(Role.OUTPUT)[0]) for s in gates}
    at: dict[str, list[Structure]] = defaultdict(list)
    edge: dict[Structure, tuple[str, str]] = {}
    for s in gates:
        ends = sorted({near.root(n) for n in s.nets(Role.INPUT)})
        if len(ends) == 2 and not made & set(ends) and all(view.gates.get(n) is None for n in ends):
            edge[s] = (ends[0], ends[1])
            for n in ends:
                at[n].append(s)
    result = structures
    for first in [n for n, here in at.items() if len(here) == 1]:
        row, net = [at[first][0]], first
        while True:
            a, b = edge[row[-1]]
            net = b if net == a else a
            nxt = [s for s in at[net] if s is not row[-1]]
            if len(nxt) != 1 or nxt[0] in row:
                break
            row.append(nxt[0])
        alone = len(at[net]) == 1 and view.place[first] < view.place[net]  # each row from one of its ends
        if len(row) < FEWEST_STEPS or not alone or any(s not in result for s in row):
            continue
        outs = [s.nets(Role.OUTPUT)[0] for s in row]
        if not all(_seen_outside(view, n) for n in outs):
            continue
        tips = {first, net}
        follow = [s for s in structures if s.term in ("buffer", "inverter")]  # an end may come out as well
        straight = [s for s in follow if {near.root(n) for n in s.nets(Role.INPUT)} & tips]
        parts = list(dict.fromkeys((*row, *straight, *near.feeders(row))))
        words = f"{len(row) + 1} bits; each bit out is the sum of two neighbours"
        result = replaced(result, parts, block(view, f"{len(row) + 1}-bit binary-to-Gray converter", parts, words))
    return result


def _seen_outside(view: View, net: str) -> bool:
    """Tell whether a net is a port, or is read by no gate: by stores, or through switches."""
    if net in view.ports:
        return True
    readers = view.readers.get(net, ())
    return all(
        view.gates[r].inverter_of == net and (r in view.ports or view.links_at.get(r)) for r in readers
    ) and bool(readers or view.links_at.get(net))


def _segments(view: View, structures: list[Structure]) -> list[Structure]:
    """Join the logic of seven outputs that light the segments of digits."""
    logic = [s for s in structures if family(s.term) in _LOGIC]
    cones = Cones(view)
    reach: dict[str, frozenset[str]] = {}
    for s in logic:
        for n in s.nets(Role.OUTPUT):
            if _leads_out(view, n) and 3 <= len(leaves := cones.leaves(n)) <= 4 + MOST_HELD:
                reach[n] = leaves
    groups: list[tuple[set[str], list[str]]] = []
    for n, leaves in sorted(reach.items(), key=lambda item: (-len(item[1]), view.place[item[0]])):
        home = next((g for g in groups if leaves <= g[0]), None)
        if home is not None:
            home[1].append(n)
        else:
            groups.append((set(leaves), [n]))
    result = structures
    for reached, nets in groups:
        if len(reached) < 4:
            continue
        names = sorted(reached, key=view.place.__getitem__)
        tables = {n: cones.table(n, names) for n in nets}
        by_root = {(view.root(n)[0], table): n for n, table in tables.items()}
        lit = _lit(names, {n: tables[n] for n in by_root.values()})
        if lit is None:
            continue
        parts = _behind(Neighbours.of(view, result), lit, reached)
        words = f"lights the seven segments of a digit by {', '.join(lit)}"
        result = replaced(result, parts, block(view, "seven-segment decoder", parts, words, also=_inner(parts)))
    return result


def _planes(view: View, structures: list[Structure]) -> list[Structure]:
    """
    Join ratioed NORs of inputs and of their inverses with the NORs that add these up: two planes, however sparse.

    Gates that share products go by no names of their own (Mead and Conway 1980; from memory).
    """
    named = any(family(s.term) in ("decoder", "ROM", "PLA") or s.term.endswith("decoder") for s in structures)
    if view.one_kind is None or named:
        return structures
    opened = {s: list(_stages(s)) for s in structures}
    whole = {
        s for s, stages in opened.items() if stages and all(kind_of(p.term) in ("NOR", "inverter") for p in stages)
    }
    made = {n: p for s in whole for p in opened[s] for n in p.nets(Role.OUTPUT)[:1]}
    nors = {n: p for n, p in made.items() if p.term != "inverter"}
    products = {n for n, p in nors.items() if all(_from_outside(view, i) for i in p.nets(Role.INPUT))}
    single = {n for n in made if n not in nors and _from_outside(view, n)}
    sums = {
        n for n, p in nors.items()
        if set(p.nets(Role.INPUT)) <= products | single and len(set(p.nets(Role.INPUT)) & products) > 0
    }  # fmt: skip
    if len(products) < FEWEST_PRODUCTS or len(sums) < FEWEST_SUMS or products | sums != set(nors):
        return structures
    names = {name for n in (*products, *sums) for name in made[n].transistors}
    parts = [s for s in structures if s in whole and names & set(s.transistors)]
    parts += [s for s in structures if s in whole and s not in parts]
    stages = [p for s in parts for p in opened[s]]
    inputs = {view.root(i)[0] for n in products for i in made[n].nets(Role.INPUT)}
    words = f"{len(inputs)} inputs, {len(products)} products of several, {len(sums)} sums of them"
    return replaced(structures, parts, block(view, "PLA", stages, words))


def _stages(s: Structure) -> Iterator[Structure]:
    """Yield the gates that a structure is made of."""
    if not s.parts:
        yield s
    for part in s.parts:
        yield from _stages(part)


def _from_outside(view: View, net: str) -> bool:
    root = view.root(net)[0]
    return root in view.ports and root not in view.gates


def _inner(parts: Sequence[Structure]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(s.term for s in parts if family(s.term) in ("ROM", "PLA")))


def _leads_out(view: View, net: str) -> bool:
    """Tell whether a net is a port, goes through a switch, or is read by stages that are no plain logic."""
    if net in view.ports or view.links_at.get(net):
        return True
    return any(view.gates[r].kind not in ("static", "ratioed") for r in view.readers.get(net, ()))


def _lit(names: Sequence[str], tables: dict[str, int]) -> list[str] | None:
    """
    Return the outputs by segment, a to g, where seven of them light the digits of four inputs in some order.

    The other inputs stand still at one level each; all outputs may be active low.
    """
    if not 7 <= len(tables) <= 10:
        return None
    count = len(names)
    wanted: dict[str, tuple[int, int]] = {}
    for segment in "abcdefg":
        on = sum((segment in shape) << digit for digit, shape in enumerate(_DIGITS))
        free = sum(1 << digit for digit, other in _EITHER if other == segment)
        wanted[segment] = (on, free)
    weight = {n: 1 << (count - 1 - i) for i, n in enumerate(names)}
    for digit_lines in combinations(names, 4):
        held = [n for n in names if n not in digit_lines]
        for levels in product((0, 1), repeat=len(held)):
            base = sum(weight[n] for n, v in zip(held, levels, strict=True) if v)
            for order in permutations(digit_lines):
                rows = [base + sum(weight[n] for i, n in enumerate(order) if digit >> i & 1) for digit in range(10)]
                codes = {n: sum((t >> row & 1) << digit for digit, row in enumerate(rows)) for n, t in tables.items()}
                for flip in (0, (1 << 10) - 1):
                    lit = [
                        next((n for n, c in codes.items() if not (c ^ flip ^ on) & ~free & 1023), "")
                        for on, free in wanted.values()
                    ]
                    if all(lit) and len(set(lit)) == 7:
                        return lit
    return None


def _behind(near: Neighbours, nets: Sequence[str], leaves: Container[str]) -> list[Structure]:
    """Return the structures from some nets back to their leaves."""
    parts: dict[Structure, None] = {}
    front = list(nets)
    for net in front:
        for s in near.drivers.get(net, ()):
            if s not in parts and net not in leaves:
                parts[s] = None
                front += [p.net for p in s.ports if p.role is not Role.OUTPUT]
    return list(parts)


def _correctors(view: View, structures: list[Structure]) -> list[Structure]:
    """
    Join check sums with the lines that answer them, and the XOR gates that turn the bit at fault over.

    Each line answers just the sums that its own bit is in, so that one wrong bit is put right.
    """
    near = Neighbours.of(view, structures)
    trees = [s for s in structures if s.term.endswith("-bit parity tree")]
    sums: dict[str, frozenset[str]] = {}
    cones = Cones(view)
    for s in trees:
        for n in s.nets(Role.OUTPUT):
            sums[near.root(n)] = cones.leaves(n)
    if len(sums) < FEWEST_STEPS:
        return structures
    stopped = Cones(view, stops=frozenset(sums))
    mended: dict[str, Structure] = {}
    lines: list[Structure] = []
    for s in structures:
        ins = s.nets(Role.INPUT)
        if kind_of(s.term) not in ("XOR", "XNOR") or len({near.root(n) for n in ins}) != 2:
            continue
        for bit, line in ((ins[0], ins[1]), (ins[1], ins[0])):
            root, seen = near.root(bit), stopped.leaves(line)
            if not any(root in leaves for leaves in sums.values()) or not seen <= set(sums) or len(seen) < 2:
                continue
            order = sorted(sums)
            table = stopped.table(line, order)
            rows = [r for r in range(1 << len(order)) if table >> r & 1]
            if len(rows) != 1:
                rows = [r for r in range(1 << len(order)) if not table >> r & 1]
            code = sum((root in sums[n]) << (len(order) - 1 - i) for i, n in enumerate(order))
            straight = all(_odd_of(cones, n, sums[n]) for n in order)
            if len(rows) == 1 and rows != [code]:
                return structures  # a line that answers another bit's code puts nothing right
            if rows == [code] and straight:
                mended[root] = s
                lines += _behind(near, [line], set(sums))
            break
    if len(mended) < FEWEST_STEPS:
        return structures
    inside = dict.fromkeys((*trees, *lines, *mended.values()))
    parts = [s for s in structures if s in inside]
    parts += [p for p in near.feeders(parts) if p not in inside]
    size = len(frozenset().union(*sums.values()))
    words = f"{len(sums)} sums tell which of {size} bits is wrong; {len(mended)} of them are put right"
    return replaced(structures, parts, block(view, "single-error corrector", parts, words, also=("parity tree",)))


def _encoders(view: View, structures: list[Structure]) -> list[Structure]:
    """Join ORs of lines from outside, each line in those that make up its number, all numbers from 1 on there once."""
    near = Neighbours.of(view, structures)
    result = structures
    for kind in ("OR", "NOR", "NAND", "AND"):
        gates = [s for s in structures if kind_of(s.term) == kind and len(s.nets(Role.OUTPUT)) == 1]
        gates = [s for s in gates if all(n in view.ports and n not in view.gates for n in s.nets(Role.INPUT))]
        codes: dict[str, int] = defaultdict(int)
        for i, s in enumerate(gates):
            for n in s.nets(Role.INPUT):
                codes[n] += 1 << i
        width = len(gates)
        if not 3 <= width <= MOST_PLACES or not 1 << width - 1 <= len(codes) < 1 << width:
            continue
        orders = permutations(range(width))
        weighed = ({sum((c >> i & 1) << k for k, i in enumerate(order)) for c in codes.values()} for order in orders)
        if any(numbers == set(range(1, len(codes) + 1)) for numbers in weighed):
            parts = [*gates, *near.feeders(gates)]
            parts += [r for s in gates for r in near.readers.get(s.nets(Role.OUTPUT)[0], ()) if r.term == "inverter"]
            words = f"the number of the one of {len(codes)} lines that is on"
            whole = block(view, f"{len(codes) + 1}-to-{width} encoder", list(dict.fromkeys(parts)), words)
            result = replaced(result, parts, whole)
    return result


def _odd_of(cones: Cones, net: str, leaves: frozenset[str]) -> bool:
    """Tell whether a net is 1 for an odd number of its leaves."""
    names = sorted(leaves)
    table = cones.table(net, names)
    return table == sum((r.bit_count() & 1) << r for r in range(1 << len(names)))
