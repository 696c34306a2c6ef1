"""
Name logic by what it computes, whatever it is made of: adders, comparators, priority encoders, arithmetic units.

The outputs of a piece of logic are tabulated over the inputs of their cones and set against the function of the block,
its inputs told apart by how much each counts: the support of an output, and the number of rows that an input decides.
"""

from collections.abc import Sequence
from itertools import combinations, permutations, product

from layoutdrill.netlist.roles import Role
from layoutdrill.recognise.blocks.moving import shifter
from layoutdrill.recognise.blocks.neighbours import Neighbours, block, replaced
from layoutdrill.recognise.cones import MOST_LEAVES, Cones
from layoutdrill.recognise.model import Structure
from layoutdrill.recognise.terms import family
from layoutdrill.recognise.view import View
from layoutdrill.simulate.expression import column_of
from layoutdrill.simulate.minimal import halves

_LOGIC = ("inverter", "buffer", "NAND", "NOR", "AND", "OR", "AOI", "OAI", "AO", "OA", "XOR", "XNOR", "complex gate",
          "half adder", "full adder", "majority gate", "minority gate", "multiplexer", "inverting multiplexer",
          "transmission gate", "pass transistor", "decoder")  # fmt: skip
_OPEN = ("parity tree", "carry chain", "equality comparator", "1 multiplexer", "shifter", "incrementer")
"""Blocks that may be parts of larger ones."""
FEWEST_OUTPUTS = 2
MOST_APART = 40


def join_computing(view: View, structures: list[Structure]) -> list[Structure]:
    """Return the structures with the logic that computes a named block joined."""
    result = structures
    for group in _pieces(view, structures):
        if not set(group) <= set(result):
            continue
        named = _named(view, group)
        if named is not None:
            term, words, slices = named
            if "multiplier" in term:  # what added its rows is no incrementer by itself
                result = [r for s in result for r in (s.parts if s.term.endswith("incrementer") else (s,))]
                parts = [p for s in group for p in (s.parts if s.term.endswith("incrementer") else (s,))]
            else:
                parts = group
            whole = block(view, term, parts, words)
            if slices:
                whole = Structure(whole.term, whole.transistors, whole.ports, slices, words)
            result = replaced(result, parts, whole)
    return result


def _pieces(view: View, structures: list[Structure]) -> list[list[Structure]]:
    """Return the sets of logic that share inner nets, each with several outputs and no name yet."""
    logic = [s for s in structures if family(s.term) in _LOGIC or s.term.endswith(_OPEN)]
    near = Neighbours.of(view, logic)
    ports = view.ports
    group_of: dict[Structure, int] = {s: i for i, s in enumerate(logic)}
    members: dict[int, list[Structure]] = {i: [s] for i, s in enumerate(logic)}
    for drivers in near.drivers.values():
        for s in drivers:
            for n in s.nets(Role.OUTPUT):
                for r in near.readers.get(n, ()):
                    a, b = group_of[s], group_of[r]
                    if a != b:
                        if len(members[a]) < len(members[b]):
                            a, b = b, a
                        for m in members[b]:
                            group_of[m] = a
                        members[a] += members.pop(b)
    lines: dict[str, Structure] = {}
    for s in logic:  # switches meet at nets that no gate drives
        for n in s.nets(Role.SIGNAL):
            other = lines.setdefault(n, s)
            a, b = group_of[other], group_of[s]
            if a != b and n not in ports:
                for m in members[b]:
                    group_of[m] = a
                members[a] += members.pop(b)
    groups = [g for g in members.values() if len(g) >= 3]
    if len(members) > 1 and len(logic) == len(structures) and sum(map(len, members.values())) <= MOST_APART:
        groups.insert(0, [s for g in members.values() for s in g])  # pieces that share inputs alone
    return groups


def _named(view: View, group: list[Structure]) -> tuple[str, str, tuple[Structure, ...]] | None:
    ports = view.ports
    own = {n for s in group for n in s.transistors}
    outside = {n for t in view.netlist.transistors if t.name not in own for n in t.terminals} | ports
    driven = {p.net for s in group for p in s.ports if p.role in (Role.OUTPUT, Role.SIGNAL)}
    cones = Cones(view)
    outputs = [n for n in driven & outside if cones.form(view.root(n)[0]) is not None]
    outputs = [n for n in sorted(outputs, key=view.place.__getitem__) if n in ports or n in view.gates]
    if not 1 <= len(outputs) <= 12:
        return None
    supports = {n: cones.leaves(n) for n in outputs}
    inputs = sorted(set().union(*supports.values()), key=view.place.__getitem__)
    if not 3 <= len(inputs) <= MOST_LEAVES or any(n not in outside for n in inputs):
        return None
    tables = {n: cones.table(n, inputs) for n in outputs}
    if len(outputs) < FEWEST_OUTPUTS:
        found = _comparator(inputs, supports, tables)
        return (*found, ()) if found is not None else None
    block_of = _adder(inputs, supports, tables) or _comparator(inputs, supports, tables) or _encoder(inputs, tables)
    block_of = block_of or _multiplier(inputs, tables) or _carries(inputs, supports, tables)
    if block_of is None and (term := shifter(inputs, supports, tables)):
        block_of = (term, f"moves a word of {len(outputs)} bits, by as many places as its controls say")
    if block_of is not None:
        return (*block_of, ())
    unit = _unit(inputs, supports, tables, view)
    if unit is not None:
        return (*unit[:2], _slices(view, cones, group, unit[2], frozenset(unit[3])))
    return None


Found = tuple[str, str] | None


def _steps(supports: dict[str, frozenset[str]], *, loose: bool = False) -> list[tuple[str, frozenset[str]]]:
    """Return the outputs by growing support, each with the inputs it adds; `loose` passes over those that do not."""
    order = sorted(supports, key=lambda n: len(supports[n]))
    before: frozenset[str] = frozenset()
    steps = []
    for n in order:
        if not before <= supports[n]:
            if loose:
                continue
            return []
        steps.append((n, supports[n] - before))
        before = supports[n]
    return steps


def _columns(inputs: Sequence[str]) -> tuple[dict[str, int], int]:
    return {n: column_of(i, len(inputs)) for i, n in enumerate(inputs)}, (1 << (1 << len(inputs))) - 1


def _adder(inputs: Sequence[str], supports: dict[str, frozenset[str]], tables: dict[str, int]) -> Found:
    """Name the sum of two numbers; outputs may be inverted."""
    steps = _steps(supports)
    if len(steps) < 3 or len(steps[0][1]) not in (2, 3) or any(len(s[1]) not in (0, 2) for s in steps[1:]):
        return None
    column, full = _columns(inputs)
    first = [column[n] for n in steps[0][1]]
    total = 0
    for c in first:
        total ^= c
    carry = first[0] & first[1]
    if len(first) == 3:
        carry |= first[2] & (first[0] | first[1])
    if tables[steps[0][0]] not in (total, full ^ total):
        return None
    bits = 1
    for net, new in steps[1:]:
        if not new:
            if tables[net] not in (carry, full ^ carry):
                return None
            continue
        a, b = (column[n] for n in new)
        if tables[net] not in (a ^ b ^ carry, full ^ a ^ b ^ carry):
            return None
        carry = (a & b) | carry & (a | b)
        bits += 1
    if bits < 2:
        return None
    return f"{bits}-bit parallel adder", f"adds two numbers of {bits} bits"


def _multiplier(inputs: Sequence[str], tables: dict[str, int]) -> Found:
    """Name the product of two numbers of two or three bits; each output is a bit of it."""
    size = len(inputs) // 2
    if len(inputs) not in (4, 6) or len(tables) != len(inputs):
        return None
    column, _ = _columns(inputs)
    lowest = [pair for pair in combinations(inputs, 2) if column[pair[0]] & column[pair[1]] in tables.values()]
    for low in lowest:
        rest = [n for n in inputs if n not in low]
        for order in permutations(rest):
            a, b = (low[0], *order[: size - 1]), (low[1], *order[size - 1 :])
            rows = range(1 << len(inputs))
            products = [
                sum((column[n] >> r & 1) << i for i, n in enumerate(a))
                * sum((column[n] >> r & 1) << i for i, n in enumerate(b))
                for r in rows
            ]
            bits = {sum((p >> i & 1) << r for r, p in enumerate(products)) for i in range(len(inputs))}
            if bits == set(tables.values()):
                return f"{size} × {size} multiplier", f"multiplies two numbers of {size} bits"
    return None


def _influence(table: int, place: int, count: int) -> int:
    low, high = halves(table, place, count)
    return (low ^ high).bit_count()


def _comparator(inputs: Sequence[str], supports: dict[str, frozenset[str]], tables: dict[str, int]) -> Found:
    """Name the comparison of two numbers: greater, less or equal, with cascade inputs or without."""
    column, full = _columns(inputs)
    count = len(inputs)
    bits = 0
    for net, table in tables.items():
        places = [i for i, n in enumerate(inputs) if n in supports[net]]
        weights = sorted(((_influence(table, p, count), p) for p in places), reverse=True)
        pairs = [(weights[i], weights[i + 1]) for i in range(0, len(weights) - 1, 2)]
        if len(pairs) < 2 or any(a[0] != b[0] for a, b in pairs):
            continue
        names = [(inputs[a[1]], inputs[b[1]]) for a, b in pairs]
        rest = [inputs[weights[-1][1]]] if len(weights) % 2 else []
        if _greater(table, names, rest, column, full):
            bits = max(bits, len(pairs))
    if not bits or len(supports) > 4:
        return None
    return f"{bits}-bit magnitude comparator", f"tells which of two numbers of {bits} bits is greater"


def _carries(inputs: Sequence[str], supports: dict[str, frozenset[str]], tables: dict[str, int]) -> Found:
    """Name carries made of what each bit makes and lets through: every output sees two inputs more than the last."""
    steps = _steps(supports)
    if len(steps) != len(tables) or len(steps) < 3 or len(steps[0][1]) != 3 or any(len(n) != 2 for _, n in steps[1:]):
        return None
    column, full = _columns(inputs)
    first, seen = steps[0]
    for carry in sorted(seen):
        before = column[carry]
        good = True
        for net, new in ((first, seen - {carry}), *steps[1:]):
            a, b = (column[n] for n in sorted(new))
            made = {x | y & c for x, y in ((a, b), (b, a)) for c in (before, full ^ before)}
            made |= {x & (y | c) for x, y in ((a, b), (b, a)) for c in (before, full ^ before)}
            fits = [t for t in (tables[net], full ^ tables[net]) if t in made]
            if not fits:
                good = False
                break
            before = fits[0]
        if good:
            return f"{len(steps)}-bit carry chain", f"{len(steps)} carries, each of what its bit makes or lets through"
    return None


def _greater(table: int, pairs: list[tuple[str, str]], rest: list[str], column: dict[str, int], full: int) -> bool:
    """Tell whether a table says that one number is greater, the pairs given from the highest bit on."""
    for sense in (table, full ^ table):
        value = column[rest[0]] if rest else 0
        for start in (value, full ^ value) if rest else (0, full):
            greater = start
            for a, b in reversed(pairs):
                x, y = column[a], column[b]
                # which of the two counts for, is seen from the rows in which only they differ
                if (sense & x & (full ^ y)).bit_count() < (sense & y & (full ^ x)).bit_count():
                    x, y = y, x
                greater = x & (full ^ y) | (full ^ x ^ y) & greater
            if greater == sense:
                return True
    return False


def _encoder(inputs: Sequence[str], tables: dict[str, int]) -> Found:
    """Name the code of the highest of several inputs that is on; inputs and outputs may be active low."""
    count = len(inputs)
    for enable in (None, *inputs):
        lines = [n for n in inputs if n != enable]
        size = len(lines)
        if size not in (4, 8, 10, 16):
            continue
        width = (size - 1).bit_length()
        for low in (0, 1):
            for gate in (0, 1) if enable is not None else (0,):
                fits = _priority(inputs, lines, enable, tables, width, low, gate, count)
                if fits:
                    return (
                        f"{size}-to-{width} priority encoder",
                        f"the number of the highest of {size} lines that is on",
                    )
    return None


def _priority(
    inputs: Sequence[str], lines: list[str], enable: str | None, tables: dict[str, int], width: int, low: int,
    gate: int, count: int,
) -> bool:  # fmt: skip
    place = {n: count - 1 - i for i, n in enumerate(inputs)}
    base = sum(low << place[n] for n in lines) | (gate << place[enable] if enable is not None else 0)

    def code(*on: str) -> tuple[int, ...]:
        row = base
        for n in on:
            row ^= 1 << place[n]
        return tuple(t >> row & 1 for t in tables.values())

    single = {n: code(n) for n in lines}
    if len(set(single.values())) < len(lines):
        return False
    wins = dict.fromkeys(lines, 0)
    for a, b in combinations(lines, 2):
        both = code(a, b)
        if both == single[a]:
            wins[a] += 1
        elif both == single[b]:
            wins[b] += 1
        else:
            return False
    order = sorted(lines, key=lambda n: wins[n])
    if [wins[n] for n in order] != list(range(len(lines))) or len(tables) < width:
        return False
    for values in product((0, 1), repeat=min(len(lines), 10)):
        on = [n for n, v in zip(lines, values, strict=False) if v]
        if on and code(*on) != single[max(on, key=wins.__getitem__)]:
            return False
    return True


def _unit(
    inputs: Sequence[str], supports: dict[str, frozenset[str]], tables: dict[str, int], view: View
) -> tuple[str, str, list[str], list[str]] | None:
    """
    Name an arithmetic and logic unit, with its outputs and its control lines: for some levels of these a sum, for
    others bit by bit.

    Its outputs see growing sets of inputs, two more each; what the first sees besides its two bits are the controls.
    """
    steps = [s for s in _steps(supports, loose=True) if len(s[1]) > 1]
    if len(steps) < 2 or any(len(new) != 2 for _, new in steps[1:]) or len(steps[0][1]) < 4:
        return None
    column, full = _columns(inputs)
    for pair in combinations(sorted(steps[0][1], key=view.place.__getitem__), 2):
        controls = [n for n in steps[0][1] if n not in pair]
        pairs = [pair, *(tuple(new) for _, new in steps[1:])]
        outputs = [n for n, _ in steps]
        if len(controls) > 7:
            return None
        for carry in controls:
            fixed = [n for n in controls if n != carry]
            masks = []
            for values in product((0, 1), repeat=len(fixed)):
                mask = full
                for n, v in zip(fixed, values, strict=True):
                    mask &= column[n] if v else full ^ column[n]
                masks.append(mask)
            if not any(_is_sum(outputs, pairs, carry, tables, column, mask, full) for mask in masks):
                continue
            if sum(_is_bitwise(inputs, outputs, pairs, tables, column, mask) for mask in masks) >= 2:
                size = len(outputs)
                words = f"two numbers of {size} bits: a sum or a function bit by bit, as {len(fixed)} lines say"
                return f"{size}-bit ALU", words, outputs, controls
    return None


def _is_sum(
    outputs: list[str], pairs: Sequence[tuple[str, ...]], carry_in: str, tables: dict[str, int],
    column: dict[str, int], mask: int, full: int,
) -> bool:  # fmt: skip
    for flip in (0, full):
        for turn in (0, full):
            carry = column[carry_in] ^ flip
            good = True
            for net, (a, b) in zip(outputs, pairs, strict=True):
                x, y = column[a], column[b] ^ turn
                if (tables[net] ^ x ^ y ^ carry) & mask not in (0, mask):
                    good = False
                    break
                carry = (x & y) | carry & (x | y)
            if good:
                return True
    return False


def _is_bitwise(
    inputs: Sequence[str], outputs: list[str], pairs: Sequence[tuple[str, ...]], tables: dict[str, int],
    column: dict[str, int], mask: int,
) -> bool:  # fmt: skip
    """Tell whether each output depends on its own two bits alone where the mask is set, which no bit changes."""
    count = len(inputs)
    own = [set(p) for p in pairs]
    for net, mine in zip(outputs, own, strict=True):
        for i, n in enumerate(inputs):
            if n in mine or not any(n in p for p in own):
                continue
            if (tables[net] ^ tables[net] >> (1 << (count - 1 - i))) & mask & ~column[n]:
                return False
    return True


def _slices(
    view: View, cones: Cones, group: list[Structure], outputs: list[str], controls: frozenset[str]
) -> tuple[Structure, ...]:
    """Return the structures as one slice a bit, each with what only its bit and higher ones see, and the rest."""
    near = Neighbours.of(view, group)
    taken: set[Structure] = set()
    slices = []
    reach = []
    for net in outputs:
        seen: dict[Structure, None] = {}
        front = [net]
        for n in front:
            drivers = near.drivers.get(n, []) + [s for s in near.readers.get(n, ()) if n in s.nets(Role.SIGNAL)]
            for s in drivers:
                if s not in seen:
                    seen[s] = None
                    front += [p.net for p in s.ports if p.role is not Role.OUTPUT]
        reach.append(seen)
    shared = set.intersection(*(set(r) for r in reach)) if len(reach) > 1 else set()
    common = {s for s in shared if not _own_bit(s, cones, controls)}
    for net, seen in zip(outputs, reach, strict=True):
        mine = [s for s in seen if s not in taken and s not in common]
        taken |= set(mine)
        if mine:
            slices.append(block(view, "ALU slice", mine, f"the bit of {net}"))
    rest = [s for s in group if s not in taken]
    return (*slices, *rest)


def _own_bit(s: Structure, cones: Cones, controls: frozenset[str]) -> bool:
    """Tell whether a structure sees data bits, not the control lines alone."""
    leaves = set().union(*(cones.leaves(n) for n in s.nets(Role.OUTPUT, Role.SIGNAL)), frozenset())
    return not leaves <= controls
