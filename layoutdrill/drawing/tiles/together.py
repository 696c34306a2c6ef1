"""
Compact the tiles of one row together: each along the rails by itself, all of them across the rails as one.

What they share across the rails are the two rails, their borders, the well's edge, the legs of guard rings, and the
heights at which their wires meet.
"""

from collections.abc import Iterable, Sequence

from layoutdrill.drawing.compaction import across, rules_along, solve
from layoutdrill.drawing.lines import Lines
from layoutdrill.drawing.rails import WELL
from layoutdrill.drawing.sketch import Sketch

Tie = Sequence[tuple[int, int]]
"""Lines in y that coincide, as (number of the sketch, line)."""


def press_together(sketches: Sequence[Sketch], ties: Iterable[Tie]) -> None:
    """Make a row of legal sketches as small as they can be, then spread what has room to spare."""
    ties = list(ties)
    for even in (False, True):
        for one in sketches:
            across(one, even=even)
        _along(sketches, ties, even=even)
    for one in sketches:
        across(one, even=True, straighten=True)


def _along(sketches: Sequence[Sketch], ties: Sequence[Tie], *, even: bool) -> None:
    offsets = []
    count = 0
    for one in sketches:
        offsets.append(count)
        count += len(one.ys)
    lines = Lines()
    for number in range(1, len(sketches)):
        for line in range(WELL + 1):
            lines.join(line, offsets[number] + line)
    for tie in filter(None, ties):
        first, *rest = (offsets[number] + line for number, line in tie)
        for other in rest:
            lines.join(first, other)
    roots = [lines.find(line) for line in range(count)]
    numbers = {root: number for number, root in enumerate(dict.fromkeys(roots))}
    place = [numbers[root] for root in roots]
    at = [0] * len(numbers)
    rules: dict[tuple[int, int], int] = {}
    bends: list[tuple[int, int]] = []
    for one, offset in zip(sketches, offsets, strict=True):
        for line, where in enumerate(one.ys):
            at[place[offset + line]] = max(at[place[offset + line]], where)
        for i, j, w in rules_along(one):
            pair = place[offset + i], place[offset + j]
            rules[pair] = max(w, rules.get(pair, w))
        bends += [(place[offset + i], place[offset + j]) for i, j in one.bends_y]
    found = solve(at, [(i, j, w) for (i, j), w in rules.items() if i != j], even=even, bends=bends)
    for one, offset in zip(sketches, offsets, strict=True):
        one.ys[:] = [found[place[offset + line]] for line in range(len(one.ys))]
