"""Take one mark away: which lie near a place, what each is called, and where in its file it stands."""

from itertools import pairwise
from math import hypot

from layoutdrill.photo.model import (
    SORTS,
    At,
    Contact,
    JoinPoint,
    Mark,
    MarkedTransistor,
    Marks,
    Picture,
    Point,
    Port,
    Region,
    Repeat,
    Wire,
)

REACH = 8
"""λ from a place within which a mark lies near it."""
MOST_NEAR = 6


def marks_near(marks: Marks, at: At) -> tuple[Mark, ...]:
    """Return the marks near a place, the nearest first; of those alike near, the one that was made last."""
    near_by: list[tuple[float, int, Mark]] = []
    for sort in SORTS.values():
        for number, mark in enumerate(getattr(marks, sort)):
            lines = _lines(mark, marks)
            if lines:
                near_by.append((round(min(_apart(at, a, b) for a, b in lines), 1), -number, mark))
    near = [entry for entry in near_by if entry[0] <= REACH * marks.per_lambda]
    return tuple(mark for _, _, mark in sorted(near, key=lambda entry: entry[:2])[:MOST_NEAR])


def called(mark: Mark) -> str:
    """Say in a few words what a mark is, without its place."""
    match mark:
        case Picture():
            return f"picture {mark.file}"
        case JoinPoint():
            return f"point in common with {mark.picture}"
        case Wire() | Point():
            return f"{'wire' if isinstance(mark, Wire) else 'point'} of {mark.net}, {mark.layer}"
        case Contact():
            return f"contact of {mark.net}, {mark.upper} to {mark.lower}"
        case MarkedTransistor():
            return f"{mark.kind} transistor {mark.name}, gate {mark.gate}, ends {mark.ends[0]} and {mark.ends[1]}"
        case Port():
            return f"port {mark.net}, {mark.role}"
        case Region():
            return f"region {mark.name}"
        case Repeat():
            return f"repeat of {mark.region}, {mark.columns} × {mark.rows}"


def _lines(mark: Mark, marks: Marks) -> list[tuple[At, At]]:
    """Return the lines, or points, by which a mark is found; none of a picture."""
    match mark:
        case JoinPoint():
            return [(mark.on, mark.on)]
        case Wire():
            return list(pairwise(mark.at))
        case Point() | Contact() | Port():
            return [(mark.at, mark.at)]
        case MarkedTransistor():
            return [(mark.at[0], mark.at[1]), (mark.at[0], mark.at[2])]
        case Region():
            return _edges(mark)
        case Repeat():
            region = marks.region(mark.region)
            return _edges(region) if region else []
        case _:
            return []


def _edges(region: Region) -> list[tuple[At, At]]:
    corners = region.outline
    if len(corners) == 2:
        left, top, right, bottom = region.box
        corners = ((left, top), (right, top), (right, bottom), (left, bottom))
    return [*pairwise(corners), (corners[-1], corners[0])]


def _apart(at: At, a: At, b: At) -> float:
    """Return how far a place lies from the line between two others."""
    dx, dy = b[0] - a[0], b[1] - a[1]
    long = dx * dx + dy * dy
    along = max(0.0, min(1.0, ((at[0] - a[0]) * dx + (at[1] - a[1]) * dy) / long)) if long else 0.0
    return hypot(a[0] + along * dx - at[0], a[1] + along * dy - at[1])
