"""Name logic that moves a word by what it does: each output is an input or a constant, as the controls say."""

from collections.abc import Iterator, Mapping, Sequence
from itertools import combinations, product

from layoutdrill.simulate.expression import column_of

MOST_CONTROLS = 4
FEWEST = 3
Way = tuple[int | None, ...]
"""For each output the input that it passes, by number; None where it is a constant."""


def shifter(inputs: Sequence[str], supports: Mapping[str, frozenset[str]], tables: Mapping[str, int]) -> str | None:
    """
    Return the name of a shifter, or None.

    For one level of the controls each output passes an input of its own; for the others each passes another input's
    way on, all in one direction round or out at an end. Outputs may be inverted, all alike.
    """
    if len(tables) < FEWEST:
        return None
    shared = sorted(frozenset.intersection(*supports.values()))
    for size in range(1, min(MOST_CONTROLS, len(shared)) + 1):
        for controls in combinations(shared, size):
            ways = _ways(inputs, controls, tables)
            if ways is not None and _shifts(ways):
                return f"{len(tables)}-bit {'barrel shifter' if len(set(ways)) > 2 else 'shifter'}"
    return None


def _ways(inputs: Sequence[str], controls: Sequence[str], tables: Mapping[str, int]) -> list[Way] | None:
    """Return what each output passes for each level of the controls; None where one passes no single input."""
    count = len(inputs)
    full = (1 << (1 << count)) - 1
    data = [n for n in inputs if n not in controls]
    column = {n: column_of(i, count) for i, n in enumerate(inputs)}
    senses: tuple[int, ...] = (0, full)
    ways = []
    for levels in product((0, 1), repeat=len(controls)):
        mask = full
        for n, level in zip(controls, levels, strict=True):
            mask &= column[n] if level else full ^ column[n]
        way: list[int | None] = []
        for table in tables.values():
            seen = table & mask
            if seen in (0, mask):
                way.append(None)
                continue
            same = [i for i, n in enumerate(data) if seen == column[n] & mask]
            turned = [i for i, n in enumerate(data) if seen == (full ^ column[n]) & mask]
            senses = tuple(s for s in senses if (s == 0 and same) or (s == full and turned))
            if not senses:
                return None
            way += same or turned
        ways.append(tuple(way))
    return ways


def _shifts(ways: Sequence[Way]) -> bool:
    """Tell whether some way is straight on and the others are steps of one kind, none an arbitrary crossing."""
    for straight in ways:
        if None in straight or len(set(straight)) < len(straight):
            continue
        place = {data: i for i, data in enumerate(straight)}
        steps = [tuple(None if d is None else place.get(d) for d in way) for way in ways if way != straight]
        if not steps or any(len(set(s) - {None}) != sum(d is not None for d in s) for s in steps):
            continue
        if any(all(d is None for d in s) or any(d == i for i, d in enumerate(s)) for s in steps):
            continue
        if all(_commute(a, b) for a, b in combinations(steps, 2)) and all(_chains(s) for s in steps):
            return True
    return False


def _commute(first: Way, second: Way) -> bool:
    """Tell whether two steps one after the other lead to the same, whichever comes first."""

    def after(a: Way, b: Way, at: int) -> int | None:
        middle = a[at]
        return None if middle is None else b[middle]

    pairs = ((after(first, second, i), after(second, first, i)) for i in range(len(first)))
    return all(x == y for x, y in pairs if x is not None and y is not None)


def _chains(step: Way) -> bool:
    """Tell whether a step is no mere exchange of pairs, unless it is half way round."""
    return len(step) <= FEWEST or (sum(d is not None for d in step) >= 1 and not all(_pairs(step)))


def _pairs(step: Way) -> Iterator[bool]:
    half = len(step) // 2
    for i, d in enumerate(step):
        yield d is not None and step[d] == i and abs(d - i) != half
