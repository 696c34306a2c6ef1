"""
Where the letters of marked places go: beside what they name and on nothing else, nearer to it than to any other marked
place, so that nobody need ask which one a letter belongs to.
"""

from collections.abc import Iterator, Sequence
from math import hypot

from layoutdrill.picture.overlay_ink import ring_radius
from layoutdrill.value import value

Point = tuple[float, float]
"""Column and row in pixels."""
Box = tuple[float, float, float, float]

_SIDES = ((1, 0), (-1, 0), (0.75, -0.75), (-0.75, -0.75), (0.75, 0.75), (-0.75, 0.75), (0, -1), (0, 1))
_FINE, _COARSE = (14.0, 24.0, 36.0, 52.0), (4.0, 6.0, 9.0, 13.0)
"""Pixels from a ring to its letter, nearest first."""
_NEARER = 0.5
"""How much nearer a letter is to its own ring than to another: a part of the way between them, at most a ring."""


def letter_places(
    marks: Sequence[tuple[Point, bool]],
    size: tuple[int, int],
    per_lambda: float,
    *,
    fine: bool,
    rings: Sequence[Point] = (),
    taken: Sequence[Box] = (),
) -> list[Point | None]:
    """
    Return where the letter of each mark goes on a picture of so many columns and rows: None where the mark itself lies
    beyond it. Each mark has its place and whether it is ringed; `rings` are the middles of all rings, `taken` is what
    no letter shall stand on.
    """
    columns, rows = size
    letters: list[Point | None] = []
    for (column, row), ringed in marks:
        if not (0 <= column < columns and 0 <= row < rows):
            letters.append(None)
        elif ringed:
            others = [ring for ring in rings if ring != (column, row)]
            stood = [letter for letter in letters if letter is not None]
            letters.append(
                _beside_ring((column, row), size, ring_radius(per_lambda), _Around(others, stood, taken), fine=fine)
            )
        else:
            letters.append(_slantwise((column, row), size, per_lambda))
    return letters


def _slantwise(at: Point, size: tuple[int, int], per_lambda: float) -> Point:
    """Return a place off a point, so that a letter does not cover it."""
    (column, row), away = at, max(20.0, 2.4 * per_lambda)
    return (
        column + away if column + away < size[0] - 12 else column - away,
        row - away if row - away > 12 else row + away,
    )


@value
class _Around:
    """What a letter is to keep clear of: the other rings, the letters that stand, and boxes with something in them."""

    rings: Sequence[Point]
    letters: Sequence[Point]
    taken: Sequence[Box]


def _beside_ring(at: Point, size: tuple[int, int], radius: float, around: _Around, *, fine: bool) -> Point:
    """
    Return the first of several places round a ring, from near to far, where its letter and the line that leads to it
    are plainly its own, and which lies on nothing taken; else where they are its own; else the first.
    """
    half = 9.0 if fine else 1.0
    places = [*_round(at, size, radius, half, _FINE if fine else _COARSE)]
    own = [place for place in places if _plainly_of(at, place, radius + half, around.rings, around.letters)]
    clear = [place for place in own or places if not any(_meets(place, half, box) for box in around.taken)]
    first = (*clear, *own, *places)[:1]
    return first[0] if first else (at[0] + radius + half + 1, at[1])


def _round(at: Point, size: tuple[int, int], radius: float, half: float, fars: Sequence[float]) -> Iterator[Point]:
    for far in fars:
        for across, down in _SIDES:
            x, y = at[0] + across * (radius + far), at[1] + down * (radius + far)
            if 2 * half <= x < size[0] - 2 * half and half <= y < size[1] - half:
                yield x, y


def _plainly_of(at: Point, place: Point, reach: float, others: Sequence[Point], letters: Sequence[Point]) -> bool:
    """Tell whether a letter is nearer to its own ring than to any other, off all of them, its line too."""
    own = hypot(place[0] - at[0], place[1] - at[1])
    line = [(at[0] + (place[0] - at[0]) * part / 4, at[1] + (place[1] - at[1]) * part / 4) for part in (2, 3)]
    for x, y in others:
        far = hypot(place[0] - x, place[1] - y)
        if (
            far < reach + 2
            or far < own + min(reach, _NEARER * hypot(at[0] - x, at[1] - y))
            or any(hypot(a - x, b - y) < reach - 1 for a, b in line)
        ):
            return False
    return all(abs(place[0] - x) > reach or abs(place[1] - y) > reach / 2 for x, y in letters)


def _meets(place: Point, half: float, box: Box) -> bool:
    (x, y), (x0, y0, x1, y1) = place, box
    return x - half < x1 and x0 < x + half and y - half < y1 and y0 < y + half
