"""
Which cases of a wide sweep the everyday run takes: few, and yet every value of every column at least once.

All of them: `python tests/bench/run.py sweeps`, or LAYOUTDRILL_SWEEPS=all for any test run. Another few, for a value
that is rotated: LAYOUTDRILL_SWEEPS=1, 2, 3 …
"""

import os
from collections import Counter

WANTED = os.environ.get("LAYOUTDRILL_SWEEPS", "0")
WHOLE = WANTED == "all"
ROTATED = 0 if WHOLE else int(WANTED)


def some(values, count=1):
    """Return `count` of the values, rotated; all in a whole sweep."""
    values = tuple(values)
    if WHOLE or len(values) <= count:
        return values
    start = ROTATED % len(values)
    return (values[start:] + values[:start])[:count]


def examples(whole):
    """Return on how many random cases a property is tried: `whole` in a whole sweep, a sixth of them in others."""
    return whole if WHOLE else max(4, whole // 6)


def covering(cases, times=1):
    """
    Return some of the cases, each a tuple of columns, in their order; all in a whole sweep.

    Each value of the column with the most values comes `times` times, with those values of the other columns that
    came least so far; then what is still missing in them is added.
    """
    cases = list(cases)
    if WHOLE or not cases:
        return cases
    keys = [tuple(str(getattr(value, "name", value)) for value in case) for case in cases]
    columns = range(len(keys[0]))
    widest = max(columns, key=lambda column: len({key[column] for key in keys}))
    met = [Counter() for _ in columns]
    taken = set()

    def take(column, value, wanted):
        fitting = [at for at, key in enumerate(keys) if key[column] == value]
        turn = ROTATED % len(fitting)
        for _ in range(min(wanted, len(fitting)) - met[column][value]):
            left = [at for at in fitting[turn:] + fitting[:turn] if at not in taken]
            at = min(left, key=lambda at: sum(met[other][keys[at][other]] for other in columns))
            taken.add(at)
            for other in columns:
                met[other][keys[at][other]] += 1

    for column in (widest, *(other for other in columns if other != widest)):
        for value in dict.fromkeys(key[column] for key in keys):
            take(column, value, times)
    return [cases[at] for at in sorted(taken)]


def spread(values, count):
    """Return `count` of the values, evenly spread over them; all in a whole sweep."""
    values = tuple(values)
    if WHOLE or len(values) <= count:
        return values
    return tuple(values[(ROTATED + at * len(values) // count) % len(values)] for at in range(count))
