"""Name a Boolean function, or a pair of them, by the trade's term, inputs in any order and some perhaps inverted."""

from collections.abc import Mapping, Sequence
from functools import lru_cache
from itertools import combinations

from layoutdrill.recognise.gates import static_term
from layoutdrill.simulate.expression import Const, Expression, Not, Var, column_of, truth
from layoutdrill.simulate.minimal import halves, minimal
from layoutdrill.value import value

MOST_INPUTS = 9
LEAST_COUNTED = 4
"""Inputs that a function counts; of three it is a majority gate by its form."""


@value
class Named:
    """
    A function's name. `inverted` are the inputs that it takes inverted, `selects` those of a multiplexer.

    `also` are other names of the same function.
    """

    term: str
    form: Expression
    inverted: tuple[str, ...] = ()
    selects: tuple[str, ...] = ()
    also: tuple[str, ...] = ()


def name_function(ones: int, names: Sequence[str]) -> Named | None:
    """Name a truth table (bit r is row r, first name most significant), or return None."""
    names = tuple(names)
    if len(names) > MOST_INPUTS:
        return None
    plain = tuple(f"v{i}" for i in range(len(names)))
    named = _name(ones, plain)
    if named is None:
        return None
    real = dict(zip(plain, names, strict=True))
    form = renamed(named.form, real)
    return Named(
        named.term, form, tuple(real[n] for n in named.inverted), tuple(real[n] for n in named.selects), named.also
    )


def renamed(form: Expression, names: Mapping[str, str]) -> Expression:
    """Return the expression with its variables renamed."""
    if isinstance(form, Const):
        return form
    if isinstance(form, Var):
        return Var(names[form.name])
    if isinstance(form, Not):
        return Not(renamed(form.term, names))
    return type(form)(tuple(renamed(t, names) for t in form.terms))


@lru_cache(maxsize=4096)
def _name(ones: int, names: tuple[str, ...]) -> Named | None:
    form = minimal(ones, names)
    term = static_term(form)
    if term != "complex gate":
        return Named(term, form)
    used = tuple(n for i, n in enumerate(names) if len(set(halves(ones, i, len(names)))) == 2)
    if len(used) < len(names):
        return _name(truth(form, used), used)
    if mux := _multiplexer(ones, names) or _enabled(ones, names):
        return mux
    if (threshold := _threshold(ones, names, form)) is not None:
        return threshold
    if _equality(ones, len(names)) or _equality((1 << (1 << len(names))) - 1 ^ ones, len(names)):
        return Named("equality comparator", form)
    return _unate(ones, names, form)


def _multiplexer(ones: int, names: tuple[str, ...]) -> Named | None:
    count = len(names)
    wanted = {3: 1, 6: 2}.get(count)
    for selects in combinations(range(count), wanted) if wanted else ():
        data = [i for i in range(count) if i not in selects]
        rest = tuple(names[i] for i in data)
        seen: list[tuple[str, bool]] = []
        for code in range(1 << len(selects)):
            piece, left = ones, list(range(count))
            for j, select in enumerate(selects):
                at = left.index(select)
                piece = halves(piece, at, len(left))[code >> (len(selects) - 1 - j) & 1]
                left.pop(at)
            form = minimal(piece, rest)
            if isinstance(form, Var):
                seen.append((form.name, True))
            elif isinstance(form, Not) and isinstance(form.term, Var):
                seen.append((form.term.name, False))
        if len({name for name, _ in seen}) == len(rest) and len({sign for _, sign in seen}) == 1:
            straight = seen[0][1]
            chosen = tuple(names[i] for i in selects)
            size = f"{len(rest)}:1"
            return Named(
                f"{size} multiplexer" if straight else f"inverting {size} multiplexer", minimal(ones, names), (), chosen
            )
    return None


def _enabled(ones: int, names: tuple[str, ...]) -> Named | None:
    """Name a multiplexer that one level of one more input holds at a constant."""
    count = len(names)
    full = (1 << (1 << (count - 1))) - 1
    for i in range(count) if count in (4, 7) else ():
        rest = names[:i] + names[i + 1 :]
        for held, free in (halves(ones, i, count), halves(ones, i, count)[::-1]):
            mux = _multiplexer(free, rest) if held in (0, full) else None
            if mux is not None:
                return Named(mux.term, minimal(ones, names), (), mux.selects)
    return None


def _threshold(ones: int, names: tuple[str, ...], form: Expression) -> Named | None:
    """Name a function that tells whether so many inputs are 1 or more, by that number alone."""
    count = len(names)
    if count < LEAST_COUNTED:
        return None
    full = (1 << (1 << count)) - 1
    inverted = bool(ones & 1)
    table = full ^ ones if inverted else ones
    least = min((row.bit_count() for row in range(1 << count) if table >> row & 1), default=0)
    if table != sum(1 << row for row in range(1 << count) if row.bit_count() >= least):
        return None
    if 2 * least == count + 1:
        return Named(f"{count}-input {'minority' if inverted else 'majority'} gate", form)
    words = "fewer than" if inverted else "at least"
    return Named("threshold gate", form, also=(f"{words} {least} of {count}",)) if 1 < least < count else None


def _equality(ones: int, count: int) -> bool:
    """Tell whether a table is 1 just where inputs are equal two by two, four inputs or more."""
    rows = [row for row in range(1 << count) if ones >> row & 1]
    if count < 4 or count % 2 or len(rows) != 1 << count // 2:
        return False
    left = set(range(count))
    while left:
        first = left.pop()
        partner = next((other for other in left if all(not (row >> first ^ row >> other) & 1 for row in rows)), None)
        if partner is None:
            return False
        left.remove(partner)
    return True


def _unate(ones: int, names: tuple[str, ...], form: Expression) -> Named | None:
    """Name a function that is a named one of some inputs inverted."""
    count = len(names)
    falling = []
    for place in range(count):
        low, high = halves(ones, place, count)
        if low & ~high:
            if high & ~low:
                return None
            falling.append(place)
    flipped = ones
    for place in falling:
        flipped = _flip(flipped, place, count)
    straight = static_term(minimal(flipped, names))
    dual = ones
    rising = [place for place in range(count) if place not in falling]
    for place in rising:
        dual = _flip(dual, place, count)
    turned = static_term(minimal(dual, names))
    options = [(straight, falling), (turned, rising)]
    options = [o for o in options if o[0] != "complex gate"]
    if not options:
        return None
    options.sort(key=lambda o: len(o[1]))
    term, places = options[0]
    also = tuple(o[0] for o in options[1:])
    return Named(term, form, tuple(names[p] for p in places), (), also)


def _flip(mask: int, place: int, count: int) -> int:
    """Exchange the rows where the variable at `place` is 0 and 1."""
    column = column_of(place, count)
    shift = 1 << (count - 1 - place)
    return (mask & column) >> shift | (mask & ~column) << shift & column


def name_pair(first: Expression, second: Expression, names: Sequence[str]) -> tuple[str, int] | None:
    """
    Name two functions of the same two or three inputs that make an adder: (term, which of them is the sum).

    Inverted outputs and inputs count as well, as in carry chains that alternate.
    """
    order = tuple(names)
    if len(order) not in (2, 3):
        return None
    full = (1 << (1 << len(order))) - 1
    parity = 0b0110 if len(order) == 2 else 0b10010110
    tables = [truth(first, order), truth(second, order)]
    carries = set()
    for flips in range(1 << len(order)):
        table = 0b1000 if len(order) == 2 else 0b11101000
        if len(order) == 2 and flips:
            continue
        for place in range(len(order)):
            if flips >> place & 1:
                table = _flip(table, place, len(order))
        carries |= {table, full ^ table}
    for place in (0, 1):
        if tables[place] in (parity, full ^ parity) and tables[1 - place] in carries:
            return ("half adder" if len(order) == 2 else "full adder", place)
    return None


def decoder_address(form: Expression, names: Sequence[str]) -> tuple[int, ...] | None:
    """Return the only input code for which the function differs from all others, or None."""
    order = tuple(names)
    ones = truth(form, order)
    full = (1 << (1 << len(order))) - 1
    for mask in (ones, full ^ ones):
        if mask.bit_count() == 1:
            row = mask.bit_length() - 1
            return tuple(row >> (len(order) - 1 - i) & 1 for i in range(len(order)))
    return None


def words(named: Named) -> str:
    """Say which inputs are inverted."""
    return f"takes {', '.join(named.inverted)} inverted" if named.inverted else ""
