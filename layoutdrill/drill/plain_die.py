"""Tell a whole die in plain text: an overview of it with where one has been, and any place of it closer."""

from layoutdrill.drill.visited import ACROSS, Visited, field_of
from layoutdrill.face import DrawnFace, Face
from layoutdrill.face.lettered import WIDTH, Letters, grid_lines
from layoutdrill.face.listed import meeting_lines, shape_lines
from layoutdrill.geometry.rect import Rect
from layoutdrill.layout.model import Layout
from layoutdrill.units import GridUnits

CLOSE = (72, 44)
"""λ across and up that are told when one looks at a place."""
_COLUMNS = 70
_EMPTY, _WIRES, _SOME, _DENSE, _PAD = ".", "-", "+", "#", "O"
_BEEN = {_EMPTY: ":", _WIRES: "=", _SOME: "*", _DENSE: "%", _PAD: "@"}
_DENSE_FROM = 8
"""Contacts in a square from which on it is told as dense."""


def overview_lines(face: DrawnFace, visited: Visited) -> list[str]:
    """
    Return a die in few characters, each a square of it: nothing, wires, many contacts, a pad; squares that have been
    looked at closely in signs of their own.
    """
    box, per, process = face.box, face.unit.per, face.process
    side = -(-box.width // (_COLUMNS * per)) * per
    columns, rows = -(-box.width // side), -(-box.height // (2 * side))
    signs = [[_EMPTY] * columns for _ in range(rows)]
    counts = [[0] * columns for _ in range(rows)]

    def squares(rect: Rect) -> list[tuple[int, int]]:
        across = range((rect.x0 - box.x0) // side, min(columns - 1, (rect.x1 - 1 - box.x0) // side) + 1)
        up = range((rect.y0 - box.y0) // (2 * side), min(rows - 1, (rect.y1 - 1 - box.y0) // (2 * side)) + 1)
        return [(row, column) for row in up for column in across]

    holes = {cut.layer for cut in process.cuts}
    for name, rects in face.as_seen.flattened().shapes.items():
        role = process.layers[name].role
        for rect in rects:
            for row, column in squares(rect):
                if name in holes:
                    counts[row][column] += 1
                if role == "glass-opening":
                    signs[row][column] = _PAD
                elif name in face.metal and signs[row][column] == _EMPTY:
                    signs[row][column] = _WIRES
    lines = [f"The die, {face.unit.number(box.width)} by {face.unit.number(box.height)} {face.unit.sign}:"]
    for row in reversed(range(rows)):
        line = ""
        for column in range(columns):
            sign = signs[row][column]
            if sign != _PAD and counts[row][column]:
                sign = _DENSE if counts[row][column] >= _DENSE_FROM else _SOME
            field = field_of(box, box.x0 + column * side + side // 2, box.y0 + row * 2 * side + side)
            line += _BEEN[sign] if field in visited.fields else sign
        y = face.unit.number(face.unit.y(box.y0 + row * 2 * side))
        lines.append(f"{y:>5} {line}")
    square = f"{face.unit.number(side)} by {face.unit.number(2 * side)} {face.unit.sign}"
    been = " ".join(_BEEN[sign] for sign in (_PAD, _DENSE, _SOME, _WIRES, _EMPTY))
    lines += [
        f"A character is {square}: {_PAD} pad, {_DENSE} many contacts, {_SOME} some, {_WIRES} wires, {_EMPTY} nothing.",
        f"Where you have looked closely: {been} in their stead; {len(visited.fields)} of {ACROSS**2} fields.",
        "“look X, Y” tells a place closely; “look P” the place of a mark; “map” is this again.",
    ]
    return lines


def window_at(face: Face, x: GridUnits, y: GridUnits) -> Rect:
    """Return what is told when one looks at a place: all of it within the die."""
    box, per = face.box, face.unit.per
    wide, high = (min(side * per, full) for side, full in zip(CLOSE, (box.width, box.height), strict=True))
    x0 = max(box.x0, min(box.x1 - wide, (x - wide // 2) // per * per))
    y0 = max(box.y0, min(box.y1 - high, (y - high // 2) // per * per))
    return Rect(x0, y0, x0 + wide, y0 + high)


def part_of(face: DrawnFace, window: Rect) -> Layout:
    """Return what lies within a window; wires go on beyond it."""
    shapes = {
        name: tuple(part for r in rects if (part := r.common(window)) is not None)
        for name, rects in face.as_seen.flattened().shapes.items()
    }
    return Layout(face.name, {name: rects for name, rects in shapes.items() if rects})


def close_lines(face: DrawnFace, window: Rect, letters: Letters) -> list[str]:
    """Return a place as a grid of letters."""
    part = part_of(face, window)
    head = f"From {face.unit.span(window)}; what ends at the border goes on beyond it."
    return [head[:WIDTH], *grid_lines(part, face.process, letters=letters)]


def close_shapes(face: DrawnFace, window: Rect) -> list[str]:
    return shape_lines(part_of(face, window), face.process)


def close_meetings(face: DrawnFace, window: Rect) -> list[str]:
    return meeting_lines(part_of(face, window), face.process)


def rail_lines(face: DrawnFace, most: int = 6) -> list[str]:
    """Return where the broadest pieces of the two supplies lie."""
    lines = ["The two supplies, by their broadest pieces of metal:"]
    for number, rail in enumerate(face.process.supplies, 1):
        shapes = face.extraction.net_shapes(rail).items()
        metal = [r for name, rects in shapes if name in face.metal for r in rects]
        broad = sorted(metal, key=lambda r: (-min(r.width, r.height), -r.area, r))[:most]
        lines += [f"supply {number}: {face.unit.span(rect)}" for rect in broad]
    return lines


def device_lines(face: DrawnFace, window: Rect | None) -> list[str]:
    """Return the channels within what was looked at last."""
    if window is None:
        return ["First look at a place: “look X, Y”; then its transistors are told."]
    channels = [r for rects in face.scene.channels.values() for r in rects if window.covers(r)]
    told = "; ".join(face.unit.span(r) for r in sorted(channels))
    return [f"Channels within {face.unit.span(window)}: {told or 'none'}."]
