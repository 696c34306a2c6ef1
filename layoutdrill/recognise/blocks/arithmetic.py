"""Tell arithmetic by its tables: sums, products, comparisons, carries."""

from collections.abc import Sequence
from itertools import combinations, permutations

from layoutdrill.simulate.expression import column_of
from layoutdrill.simulate.minimal import halves

Name = tuple[str, str] | None
"""A term, and in words what it does; None where the tables fit none."""


def steps_of(supports: dict[str, frozenset[str]], *, loose: bool = False) -> list[tuple[str, frozenset[str]]]:
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


def columns_of(inputs: Sequence[str]) -> tuple[dict[str, int], int]:
    return {n: column_of(i, len(inputs)) for i, n in enumerate(inputs)}, (1 << (1 << len(inputs))) - 1


def adder(inputs: Sequence[str], supports: dict[str, frozenset[str]], tables: dict[str, int]) -> Name:
    """Name the sum of two numbers; outputs may be inverted."""
    steps = steps_of(supports)
    if len(steps) < 3 or len(steps[0][1]) not in (2, 3) or any(len(s[1]) not in (0, 2) for s in steps[1:]):
        return None
    column, full = columns_of(inputs)
    carry = bits = 0
    places: list[tuple[frozenset[str], list[int]]] = []  # the inputs that are new, and what sees no more than these
    for net, new in steps:
        if new:
            places.append((new, []))
        places[-1][1].append(tables[net])
    for new, seen in places:
        a, b, c = (*(column[n] for n in new), carry)[:3]
        total, carry = a ^ b ^ c, (a & b) | c & (a | b)
        told = [table in (total, full ^ total) for table in seen]
        if not any(told) or any(not t and s not in (carry, full ^ carry) for t, s in zip(told, seen, strict=True)):
            return None
        bits += 1
    return (f"{bits}-bit parallel adder", f"adds two numbers of {bits} bits") if bits > 1 else None


def multiplier(inputs: Sequence[str], tables: dict[str, int]) -> Name:
    """Name the product of two numbers of two or three bits; each output is a bit of it."""
    size = len(inputs) // 2
    if len(inputs) not in (4, 6) or len(tables) != len(inputs):
        return None
    column, _ = columns_of(inputs)
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


def comparator(inputs: Sequence[str], supports: dict[str, frozenset[str]], tables: dict[str, int]) -> Name:
    """Name the comparison of two numbers: greater, less or equal, with cascade inputs or without."""
    column, full = columns_of(inputs)
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


def carries(inputs: Sequence[str], supports: dict[str, frozenset[str]], tables: dict[str, int]) -> Name:
    """Name carries made of what each bit makes and lets through: every output sees two inputs more than the last."""
    steps = steps_of(supports)
    if len(steps) != len(tables) or len(steps) < 3 or len(steps[0][1]) != 3 or any(len(n) != 2 for _, n in steps[1:]):
        return None
    column, full = columns_of(inputs)
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


def decimal_adder(inputs: Sequence[str], supports: dict[str, frozenset[str]], tables: dict[str, int]) -> Name:
    """
    Name the sum of two decimal digits, with carry in or without, the carry out told by one output.

    Six added where the sum is ten or more, and the carry of that (Mano, Digital Design; from memory). Codes above nine
    need not add up.
    """
    if len(tables) != 5 or len(inputs) not in (8, 9):
        return None
    lowest = min(supports, key=lambda n: len(supports[n]))
    column, full = columns_of(inputs)
    count = len(inputs)
    over = [n for n in tables if len(supports[n]) == count]
    for carry in over:
        weights = sorted(((_influence(tables[carry], i, count), n) for i, n in enumerate(inputs)), reverse=True)
        names = [n for _, n in weights]
        pairs = [(names[0], names[1]), (names[2], names[3]), (names[4], names[5])]
        first = [n for n in names[6:] if n in supports[lowest]]
        if len(first) != count - 6 or any(weights[i][0] != weights[i + 1][0] for i in (0, 2, 4)):
            continue
        for last in combinations(first, 2):
            rest = [n for n in first if n not in last]
            wanted = [0] * 5
            asked = 0
            for row in range(full.bit_length()):
                digits = [
                    sum((column[pair[side]] >> row & 1) << 3 - i for i, pair in enumerate((*pairs, last)))
                    for side in (0, 1)
                ]
                if max(digits) > 9:
                    continue
                asked |= 1 << row
                total = sum(digits) + sum(column[n] >> row & 1 for n in rest)
                total += 6 * (total > 9)
                for k in range(5):
                    wanted[k] |= (total >> k & 1) << row
            seen = {t & asked for t in tables.values()}
            if seen == set(wanted):
                return "decimal adder", "adds two decimal digits, six more where they come to ten or more"
    return None


def recoder(inputs: Sequence[str], tables: dict[str, int]) -> Name:
    """
    Name what turns three bits of a multiplier into the digit −2 … 2 that they stand for: once, twice, and negative.

    −2 times the highest bit and the two others (MacSorley 1961); zero may be negative too. Each output or its inverse.
    """
    if len(inputs) != 3 or len(tables) not in (2, 3):
        return None
    column, full = columns_of(inputs)
    for high in inputs:
        a, b = (column[n] for n in inputs if n != high)
        once, top = a ^ b, column[high]
        twice = (a & b & (full ^ top)) | ((full ^ a) & (full ^ b) & top)
        either = {once, full ^ once}, {twice, full ^ twice}
        negative = top & (full ^ (a & b))
        given = set(tables.values())
        rest = given - either[0] - either[1]
        if given & either[0] and given & either[1] and rest <= {top, negative, full ^ negative}:
            return "multiplier recoder", "tells whether a digit of two bits is taken once, twice, and negative"
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
