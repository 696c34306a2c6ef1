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
Ties = Sequence[Tie]
Sketches = Sequence[Sketch]
Groups = Sequence[Sequence[int]]
"""Sketches by their numbers."""
_X, _Y = 0, 1


def press_together(sketches: Sketches, x_ties: Ties, y_ties: Ties, columns: Groups, rows: Groups) -> None:
    """
    Make legal sketches as small as they can be together, then spread what has room to spare.

    `columns` holds the numbers of the sketches that stand above one another, `rows` those between the same rails.
    """
    for even in (False, True):
        _across(sketches, x_ties, columns, even=even)
        for row in rows:
            _joint([sketches[number] for number in row], _among(y_ties, row), _Y, tuple(range(WELL + 1)), even=even)
    _across(sketches, x_ties, columns, even=True, straighten=True)


def _among(ties: Ties, chosen: Sequence[int]) -> list[Tie]:
    """Return what ties the chosen sketches, these numbered anew."""
    there = {number: place for place, number in enumerate(chosen)}
    return [[(there[number], line) for number, line in tie if number in there] for tie in ties]


def _across(sketches: Sketches, ties: Ties, columns: Groups, *, even: bool, straighten: bool = False) -> None:
    for column in columns:
        if len(column) == 1:
            across(sketches[column[0]], even=even, straighten=straighten)
            continue
        own = [sketches[number] for number in column]
        _joint(own, _among(ties, column), _X, (LEFT, RIGHT), even=even, straighten=straighten)
        for sketch in own:
            follow(sketch)


def _joint(
    sketches: Sketches, ties: Ties, axis: int, shared: Sequence[int], *, even: bool, straighten: bool = True
) -> None:
    """Solve the distances of several sketches on one axis as one; `shared` lines are the same in all."""
    own = [sketch.ys if axis else sketch.xs for sketch in sketches]
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
    for sketch, places, offset in zip(sketches, own, offsets, strict=True):
        for line, where in enumerate(places):
            at[place[offset + line]] = max(at[place[offset + line]], where)
        for i, j, w in rules_of(sketch, axis):
            pair = place[offset + i], place[offset + j]
            rules[pair] = max(w, rules.get(pair, w))
        if straighten:
            bends += [(place[offset + i], place[offset + j]) for i, j in (sketch.bends_y if axis else sketch.bends_x)]
    solved = solve(at, [(i, j, w) for (i, j), w in rules.items() if i != j], even=even, bends=bends)
    for places, offset in zip(own, offsets, strict=True):
        places[:] = [solved[place[offset + line]] for line in range(len(places))]
