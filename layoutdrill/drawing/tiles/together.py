"""
Compact the tiles of an array together: across the rails those of one row as one, along the rails those that stand
above one another.

What they share across the rails are the two rails, their borders, the well's edge, the legs of guard rings, and the
heights at which their wires meet; along the rails their borders, taps, and the places where their wires meet.
"""

from collections.abc import Sequence

from layoutdrill.drawing.row_pairs.shaping.compaction import across, follow, rules_of, solve
from layoutdrill.drawing.row_pairs.shaping.sketch import LEFT, RIGHT, WELL, Sketch
from layoutdrill.unions import Unions

Tie = Sequence[tuple[int, int]]
"""Lines that coincide, as (number of the sketch, line)."""
_X, _Y = 0, 1


def press_together(sketches: Sequence[Sketch], x_ties: Sequence[Tie], y_ties: Sequence[Tie],
                   columns: Sequence[Sequence[int]], rows: Sequence[Sequence[int]]) -> None:  # fmt: skip
    """
    Make legal sketches as small as they can be together, then spread what has room to spare.

    `columns` holds the numbers of the sketches that stand above one another, `rows` those between the same rails.
    """
    for even in (False, True):
        _across(sketches, x_ties, columns, even=even)
        for row in rows:
            _joint([sketches[number] for number in row], _among(y_ties, row), _Y, tuple(range(WELL + 1)), even=even)
    _across(sketches, x_ties, columns, even=True, straighten=True)


def _among(ties: Sequence[Tie], chosen: Sequence[int]) -> list[Tie]:
    """Return what ties the chosen sketches, these numbered anew."""
    there = {number: place for place, number in enumerate(chosen)}
    return [[(there[number], line) for number, line in tie if number in there] for tie in ties]


def _across(sketches: Sequence[Sketch], ties: Sequence[Tie], columns: Sequence[Sequence[int]], *, even: bool,
            straighten: bool = False) -> None:  # fmt: skip
    for column in columns:
        if len(column) == 1:
            across(sketches[column[0]], even=even, straighten=straighten)
            continue
        own = [sketches[number] for number in column]
        _joint(own, _among(ties, column), _X, (LEFT, RIGHT), even=even, straighten=straighten)
        for one in own:
            follow(one)


def _joint(sketches: Sequence[Sketch], ties: Sequence[Tie], axis: int, shared: Sequence[int], *, even: bool,
           straighten: bool = True) -> None:  # fmt: skip
    """Solve the distances of several sketches on one axis as one."""
    own = [one.ys if axis else one.xs for one in sketches]
    offsets = [sum(map(len, own[:number])) for number in range(len(own))]
    lines = Unions()
    for offset in offsets[1:]:
        for line in shared:
            lines.join(line, offset + line)
    for tie in filter(None, ties):
        first, *rest = (offsets[number] + line for number, line in tie)
        for other in rest:
            lines.join(first, other)
    roots = [lines.find(line) for line in range(sum(map(len, own)))]
    numbers = {root: number for number, root in enumerate(dict.fromkeys(roots))}
    place = [numbers[root] for root in roots]
    at = [0] * len(numbers)
    rules: dict[tuple[int, int], int] = {}
    bends: list[tuple[int, int]] = []
    for one, places, offset in zip(sketches, own, offsets, strict=True):
        for line, where in enumerate(places):
            at[place[offset + line]] = max(at[place[offset + line]], where)
        for i, j, w in rules_of(one, axis):
            pair = place[offset + i], place[offset + j]
            rules[pair] = max(w, rules.get(pair, w))
        if straighten:
            bends += [(place[offset + i], place[offset + j]) for i, j in (one.bends_y if axis else one.bends_x)]
    found = solve(at, [(i, j, w) for (i, j), w in rules.items() if i != j], even=even, bends=bends)
    for places, offset in zip(own, offsets, strict=True):
        places[:] = [found[place[offset + line]] for line in range(len(places))]
