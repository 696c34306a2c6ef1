"""Fold a strip into runs that go up and down, so that it is as long as a resistor must be."""

import itertools

from layoutdrill.drawing.shared import Span
from layoutdrill.geometry.rect import Rect, box_round
from layoutdrill.value import value


@value
class Strip:
    """
    A folded strip, by its middle line, in grid units: where its runs stand, and from where to where each goes; the turn
    between two runs lies where both end. `begin` and `end` are the middles of its two ends.
    """

    width: int
    xs: tuple[int, ...]
    runs: tuple[Span, ...]
    begin: tuple[int, int]
    end: tuple[int, int]
    longer: int

    @property
    def length(self) -> int:
        """Return the length of the middle line from end to end; the ends lie half a width past their middles."""
        level = self.xs[-1] - self.xs[0]
        return sum(abs(b - a) for a, b in self.runs) + level + self.width + self.longer

    def boxes(self) -> list[tuple[Span, Span]]:
        """Return the strip's rectangles as spans of x and y."""
        half = self.width // 2
        pieces = []
        for number, (x, (a, b)) in enumerate(zip(self.xs, self.runs, strict=True)):
            past = half if number else half + self.longer  # the first run begins further back
            y = (a - past, b + half) if a <= b else (b - half, a + past)
            pieces.append(((x - half, x + half), y))
        for number, (_, turn) in enumerate(self.runs[:-1]):
            left, right = self.xs[number], self.xs[number + 1]
            pieces.append(((left - half, right + half), (turn - half, turn + half)))
        return pieces

    @property
    def border(self) -> Rect:
        return box_round([(x[0], y[0], x[1], y[1]) for x, y in self.boxes()])


@value
class Room:
    """Where a strip may be folded: its first run stands at `x`, all a `pitch` apart, and turns lie within `reach`."""

    x: int
    pitch: int
    width: int
    reach: Span


def folded(room: Room, ends: Span, runs: int, length: int = 0) -> Strip | None:
    """
    Return a strip whose first run begins at the first of two heights, and whose last run ends at the other.

    With a `length` it has that, with at least so many runs; without, it is as long as so many runs are. None where that
    cannot be.
    """
    reach, pitch = room.reach, room.pitch
    for count in range(runs, runs + 40):
        turns = [reach[1] if k % 2 == 0 else reach[0] for k in range(count - 1)]
        longest = _strip(room, ends, turns, 0)
        if not length:
            return longest
        spare = longest.length - length
        if spare < 0:
            if spare == -1:
                return _strip(room, ends, turns, 1)
            continue
        odd = spare % 2
        each, more = divmod((spare + odd) // 2, len(turns))
        for k in range(len(turns)):
            by = each + (k < more)
            turns[k] += by if k % 2 else -by
        strip = _strip(room, ends, turns, odd)
        too_short = any((a - b if k % 2 else b - a) < pitch for k, (a, b) in enumerate(strip.runs))
        return None if too_short else strip
    return None


def _strip(room: Room, ends: Span, turns: list[int], longer: int) -> Strip:
    places = [ends[0], *turns, ends[1]]
    runs = tuple(itertools.pairwise(places))
    xs = tuple(room.x + room.pitch * k for k in range(len(runs)))
    return Strip(room.width, xs, runs, (xs[0], ends[0]), (xs[-1], ends[1]), longer)
