"""
Find a short, readable expression for a truth table.

Single variables are split off first (`f = a*g`, `f = a + g`, `f = a ^ g`), which brings out XOR chains. What is left is
covered by prime implicants (W. V. Quine 1952, E. J. McCluskey 1956), exactly up to EXACT variables and greedily above,
for the function and for its complement; each cover is factored by its most frequent literal, and the shortest wins.
"""

from collections import Counter
from collections.abc import Sequence

from layoutdrill.simulate.effort import spend
from layoutdrill.simulate.expression import And, Const, Expression, Not, Or, Var, Xor, column_of, text

EXACT = 6
Cube = tuple[int, int]
"""(variables that are fixed, their values), as bit masks over places; place 0 is the most significant."""


def minimal(ones: int, names: Sequence[str], free: int = 0) -> Expression:
    """
    Return a short expression whose truth table is `ones` (bit r is row r, first name most significant).

    Rows in `free` may come out either way.
    """
    full = (1 << (1 << len(names))) - 1
    return _best(ones & ~free & full, free & full, tuple(names), {})


def literal_count(expression: Expression) -> int:
    """Count the literals of an expression: how many transistors of one kind its series-parallel form has."""
    if isinstance(expression, Const):
        return 0
    if isinstance(expression, Var):
        return 1
    if isinstance(expression, Not):
        return literal_count(expression.term)
    return sum(literal_count(term) for term in expression.terms)


def _cost(e: Expression) -> tuple[int, int, str]:
    shown = text(e)
    xor = shown.count("^")
    return (2 * literal_count(e) + shown.count("!") + xor, len(shown), shown)


def complement(e: Expression) -> Expression:
    """Return the complement, with a double one removed."""
    if isinstance(e, Not):
        return e.term
    if isinstance(e, Const):
        return Const(not e.value)
    return Not(e)


def pushed(e: Expression, *, inverted: bool = False) -> Expression:
    """Return an equal expression whose complements stand at the variables alone (De Morgan)."""
    if isinstance(e, Const):
        return Const(e.value != inverted)
    if isinstance(e, Var):
        return Not(e) if inverted else e
    if isinstance(e, Not):
        return pushed(e.term, inverted=not inverted)
    if isinstance(e, Xor):
        head, *rest = e.terms
        return Xor((pushed(head, inverted=inverted), *(pushed(t) for t in rest)))
    kind = type(e) if not inverted else Or if isinstance(e, And) else And
    terms: list[Expression] = []
    for term in e.terms:
        inner = pushed(term, inverted=inverted)
        terms.extend(inner.terms if isinstance(inner, (And, Or)) and type(inner) is kind else (inner,))
    return kind(tuple(terms))


_Memo = dict[tuple[int, int, tuple[str, ...]], Expression]


def _best(ones: int, free: int, names: tuple[str, ...], memo: _Memo) -> Expression:
    key = (ones, free, names)
    if key not in memo:
        memo[key] = _find(ones, free, names, memo)
    return memo[key]


def _find(ones: int, free: int, names: tuple[str, ...], memo: _Memo) -> Expression:
    spend(2 * len(names) << max(len(names) - 11, 0))
    full = (1 << (1 << len(names))) - 1
    if not ones:
        return Const(False)
    if ones | free == full:
        return Const(True)
    if not free:
        for place in range(len(names)):
            low, high = halves(ones, place, len(names))
            rest = (*names[:place], *names[place + 1 :])
            if low == high:
                return _best(low, 0, rest, memo)
        if len(names) == 1:
            return Var(names[0]) if ones == 2 else Not(Var(names[0]))
        if peeled := _peel(ones, names, memo):
            return peeled
    zeros = full & ~ones & ~free
    straight = _sum(ones, free, names)
    turned = complement(_sum(zeros, free, names))
    options = [straight, turned, pushed(turned), complement(pushed(complement(straight)))]
    return min(options, key=_cost)


def halves(ones: int, place: int, count: int) -> tuple[int, int]:
    """Return the truth tables over the other variables with the variable at `place` 0 and 1."""
    column = column_of(place, count)
    shift = 1 << (count - 1 - place)
    low = ones & ~column
    high = (ones & column) >> shift
    return _squeeze(low, place, count), _squeeze(high, place, count)


def _squeeze(mask: int, place: int, count: int) -> int:
    """Drop the rows where the variable at `place` is 1; those must be empty. Blocks of rows close up two by two."""
    shift = 1 << (count - 1 - place)
    for above in range(place - 1, -1, -1):
        mask = (mask | mask >> shift) & ~column_of(above, count)
        shift *= 2
    return mask


def _peel(ones: int, names: tuple[str, ...], memo: _Memo) -> Expression | None:
    """Split off one variable, or return None where none comes off."""
    count = len(names)
    full = (1 << (1 << (count - 1))) - 1
    for place, name in enumerate(names):
        low, high = halves(ones, place, count)
        rest = (*names[:place], *names[place + 1 :])
        if low == full ^ high:
            inner = _best(low, 0, rest, memo)
            if isinstance(inner, Not):
                return Not(_join(Xor, Var(name), inner.term))
            return _join(Xor, Var(name), inner)
        if low == 0:
            return _join(And, Var(name), _best(high, 0, rest, memo))
        if high == full:
            return _join(Or, Var(name), _best(low, 0, rest, memo))
        if high == 0:
            return _both_ways(And, Not(Var(name)), _best(low, 0, rest, memo))
        if low == full:
            return _both_ways(Or, Not(Var(name)), _best(high, 0, rest, memo))
    return None


def _join(kind: type[And | Or | Xor], first: Expression, second: Expression) -> Expression:
    tail = second.terms if isinstance(second, kind) else (second,)
    return kind((first, *tail))


def _both_ways(kind: type[And | Or], first: Not, second: Expression) -> Expression:
    """Write `!a*!b` as `!(a + b)` where that is shorter."""
    straight = _join(kind, first, second)
    other: type[And | Or] = Or if kind is And else And
    rest = complement(second)
    options = [straight, Not(_join(other, first.term, rest)), Not(_join(other, first.term, pushed(rest)))]
    return min(options, key=_cost)


def _sum(ones: int, free: int, names: tuple[str, ...]) -> Expression:
    if not ones:
        return Const(False)
    cubes = cover(ones, free, len(names))
    return factor([_literals(cube, names) for cube in cubes])


def _literals(cube: Cube, names: tuple[str, ...]) -> frozenset[tuple[str, bool]]:
    fixed, values = cube
    count = len(names)
    return frozenset(
        (name, bool(values >> (count - 1 - place) & 1))
        for place, name in enumerate(names)
        if fixed >> (count - 1 - place) & 1
    )


def factor(cubes: list[frozenset[tuple[str, bool]]]) -> Expression:
    """Return a sum of products factored by its most frequent literals."""
    if any(not cube for cube in cubes):
        return Const(True)
    counts = Counter(lit for cube in cubes for lit in cube)
    lit, most = min(counts.items(), key=lambda item: (-item[1], item[0][0], not item[0][1]))
    if most < 2:
        terms = sorted((_product(cube) for cube in cubes), key=lambda e: (-literal_count(e), text(e)))
        return terms[0] if len(terms) == 1 else Or(tuple(terms))
    inside = [cube for cube in cubes if lit in cube]
    shared = frozenset.intersection(*inside)
    rest = [cube - shared for cube in inside]
    outside = [cube for cube in cubes if lit not in cube]
    if any(not cube for cube in rest):
        first = _product(shared)
    else:
        inner = factor(rest)
        heads = _product(shared)
        tail = inner.terms if isinstance(inner, And) else (inner,)
        first = And((*(heads.terms if isinstance(heads, And) else (heads,)), *tail))
    if not outside:
        return first
    other = factor(outside)
    return Or((first, *(other.terms if isinstance(other, Or) else (other,))))


def _product(cube: frozenset[tuple[str, bool]]) -> Expression:
    terms: list[Expression] = [Var(name) if value else Not(Var(name)) for name, value in sorted(cube)]
    return terms[0] if len(terms) == 1 else And(tuple(terms))


def cover(ones: int, free: int, count: int) -> list[Cube]:
    """Return prime implicants that cover `ones` and nothing outside `ones | free`."""
    allowed = ones | free
    primes = _primes(allowed, count) if count <= EXACT else _greedy_primes(ones, allowed, count)
    rows = {cube: _rows(cube, count) & ones for cube in primes}
    rows = {cube: mask for cube, mask in rows.items() if mask}
    chosen: list[Cube] = []
    left = ones
    while left:
        essential = _essential(rows, left)
        if essential is None:
            break
        chosen.append(essential)
        left &= ~rows.pop(essential)
    if left:
        chosen += _exact_cover(rows, left) if count <= EXACT else _greedy_cover(rows, left)
    return sorted(chosen)


def _size(cube: Cube) -> int:
    return cube[0].bit_count()


def _rows(cube: Cube, count: int) -> int:
    fixed, values = cube
    spend(2 + (count << max(count - 11, 0)) // 16)
    full = (1 << (1 << count)) - 1
    mask = full
    for place in range(count):
        bit = count - 1 - place
        if fixed >> bit & 1:
            column = column_of(place, count)
            mask &= column if values >> bit & 1 else full ^ column
    return mask


def _primes(allowed: int, count: int) -> list[Cube]:
    """Merge cubes that differ in one value until none does (Quine–McCluskey)."""
    all_fixed = (1 << count) - 1
    level = {(all_fixed, row) for row in range(1 << count) if allowed >> row & 1}
    primes: list[Cube] = []
    while level:
        merged = set()
        nxt = set()
        for fixed, values in level:
            for bit in range(count):
                if fixed >> bit & 1 and (fixed, values ^ (1 << bit)) in level:
                    merged.add((fixed, values))
                    nxt.add((fixed & ~(1 << bit), values & ~(1 << bit)))
        primes.extend(level - merged)
        level = nxt
    return primes


def _greedy_primes(ones: int, allowed: int, count: int) -> list[Cube]:
    """Grow a cube from each row that is not covered yet until it can grow no more."""
    primes: set[Cube] = set()
    left = ones
    while left:
        row = (left & -left).bit_length() - 1
        cube: Cube = ((1 << count) - 1, row)
        for bit in range(count):
            wider = (cube[0] & ~(1 << bit), cube[1] & ~(1 << bit))
            if not _rows(wider, count) & ~allowed:
                cube = wider
        primes.add(cube)
        left &= ~_rows(cube, count)
    return sorted(primes)


def _essential(rows: dict[Cube, int], left: int) -> Cube | None:
    once = twice = 0
    for mask in rows.values():
        twice |= once & mask
        once |= mask
    only = once & ~twice & left
    if not only:
        return None
    return min(cube for cube, mask in rows.items() if mask & only)


def _greedy_cover(rows: dict[Cube, int], left: int) -> list[Cube]:
    chosen = []
    while left:
        spend(len(rows) << max(len(rows).bit_length() - 11, 0))
        best = min(rows, key=lambda cube: (-(rows[cube] & left).bit_count(), _size(cube), cube))
        chosen.append(best)
        left &= ~rows[best]
    return chosen


def _exact_cover(rows: dict[Cube, int], left: int) -> list[Cube]:
    """Return the cover of fewest literals by branch and bound, starting from the greedy one."""
    best = _greedy_cover(rows, left)
    best_cost = sum(_size(c) + 1 for c in best)
    budget = 4000
    stack: list[tuple[int, list[Cube], int]] = [(left, [], 0)]
    while stack and budget:
        budget -= 1
        spend(len(rows))
        todo, chosen, cost = stack.pop()
        if not todo:
            if cost < best_cost:
                best, best_cost = chosen, cost
            continue
        low = todo & -todo
        options = sorted((c for c, mask in rows.items() if mask & low), key=lambda c: (-_size(c), c))
        for cube in options:
            total = cost + _size(cube) + 1
            if total < best_cost:
                stack.append((todo & ~rows[cube], [*chosen, cube], total))
    return best
