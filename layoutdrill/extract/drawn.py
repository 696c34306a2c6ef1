"""Flatten a layout into numbered boxes by layer, without an object for each rectangle of each placed cell."""

from collections.abc import Sequence
from operator import itemgetter

from layoutdrill.geometry.sweep import Node
from layoutdrill.geometry.transform import IDENTITY, Transform
from layoutdrill.layout.model import Layout
from layoutdrill.value import Itself

_Columns = tuple[list[int], list[int]]
_Known = dict[Itself[Layout], dict[tuple[int, bool, str, int], list[_Columns]]]


class Drawn:
    """
    All rectangles of a layout, placed cells included, as nodes by layer.

    `nodes[layer]` are numbered on from `start[layer]`; `count` is the number of all.
    """

    def __init__(self, layout: Layout, layers: Sequence[str]) -> None:
        parts: dict[str, list[tuple[_Columns, _Columns]]] = {layer: [] for layer in layers}
        _place(layout, IDENTITY, parts, {})
        self.nodes: dict[str, list[Node]] = {}
        self.start: dict[str, int] = {}
        self.count = 0
        for layer in layers:
            self.start[layer] = number = self.count
            here: list[Node] = []
            for (x0, x1), (y0, y1) in parts.pop(layer):
                size = len(x0)
                here.extend(zip(x0, y0, x1, y1, range(number, number + size), strict=True))
                number += size
            self.nodes[layer] = here
            self.count = number


def _place(layout: Layout, at: Transform, parts: dict[str, list[tuple[_Columns, _Columns]]], known: _Known) -> None:
    """
    Add a layout's rectangles as columns (x0, x1) and (y0, y1).

    A column depends on one coordinate of the shift only, so that the cells of an array share theirs.
    """
    layers = [layer for layer, rects in layout.shapes.items() if rects and layer in parts]
    if layers:
        columns = known.setdefault(Itself(layout), {})
        x_key, y_key = (at.turns % 4, at.mirrored, "x", at.dx), (at.turns % 4, at.mirrored, "y", at.dy)
        xs, ys = columns.get(x_key), columns.get(y_key)
        if xs is None or ys is None:
            xs = columns[x_key] = [_columns(layout, layer, at, across=True) for layer in layers]
            ys = columns[y_key] = [_columns(layout, layer, at, across=False) for layer in layers]
        for layer, x, y in zip(layers, xs, ys, strict=True):
            parts[layer].append((x, y))
    for placement in layout.placements:
        inner = placement.transform if at is IDENTITY else at.after(placement.transform)
        _place(placement.layout, inner, parts, known)


def _columns(layout: Layout, layer: str, at: Transform, *, across: bool) -> _Columns:
    """Return the low and high x (`across`) or y of a layer's rectangles after the transform."""
    xx, xy = at.point(1, 0)[0] - at.dx, at.point(0, 1)[0] - at.dx
    yx, yy = at.point(1, 0)[1] - at.dy, at.point(0, 1)[1] - at.dy
    from_x, from_y, shift = (xx, xy, at.dx) if across else (yx, yy, at.dy)
    sign, low, high = (from_x, 0, 2) if from_x else (from_y, 1, 3)
    if sign < 0:
        low, high = high, low
    rects = layout.shapes[layer]
    if sign > 0 and shift == 0:
        return list(map(itemgetter(low), rects)), list(map(itemgetter(high), rects))
    return (
        [sign * v + shift for v in map(itemgetter(low), rects)],
        [sign * v + shift for v in map(itemgetter(high), rects)],
    )
