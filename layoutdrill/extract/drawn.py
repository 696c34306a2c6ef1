"""Flatten a layout into numbered boxes by layer, without an object for each rectangle of each placed cell."""

from collections.abc import Sequence
from operator import itemgetter

from layoutdrill.geometry.rect import Rect
from layoutdrill.geometry.sweep import Box, Node
from layoutdrill.geometry.transform import Transform
from layoutdrill.layout.model import Layout

_Columns = tuple[list[int], list[int], list[int], list[int]]


class Drawn:
    """
    All rectangles of a layout, placed cells included, as nodes by layer.

    `nodes[layer]` are numbered on from `start[layer]`; `count` is the number of all.
    """

    def __init__(self, layout: Layout, layers: Sequence[str]) -> None:
        parts: dict[str, list[_Columns]] = {layer: [] for layer in layers}
        _place(layout, Transform(), parts, {})
        self.nodes: dict[str, list[Node]] = {}
        self.start: dict[str, int] = {}
        self.count = 0
        for layer in layers:
            self.start[layer] = self.count
            here: list[Node] = []
            for x0, y0, x1, y1 in parts.pop(layer):
                here.extend(zip(x0, y0, x1, y1, range(self.count, self.count + len(x0)), strict=True))
                self.count += len(x0)
            self.nodes[layer] = here


def _place(
    layout: Layout, at: Transform, parts: dict[str, list[_Columns]], known: dict[tuple[object, ...], list[int]]
) -> None:
    """
    Add a layout's rectangles as columns x0, y0, x1, y1.

    A column depends on one coordinate of the shift only, so that the cells of an array share theirs.
    """
    for layer, rects in layout.shapes.items():
        if rects and layer in parts:
            parts[layer].append(_columns(rects, at, known))
    for placement in layout.placements:
        _place(placement.layout, at.after(placement.transform), parts, known)


def _columns(rects: tuple[Rect, ...], at: Transform, known: dict[tuple[object, ...], list[int]]) -> _Columns:
    turns = at.turns % 4
    across = turns % 2
    x_from, y_from = ((1, 3), (0, 2)) if across else ((0, 2), (1, 3))
    # New x is ±x + dx, or ∓y + dx after a quarter turn; the sign says which end of the box becomes the lower one.
    if not across:
        x_flipped = turns == 2
        y_flipped = (turns == 2) != at.mirrored
    else:
        x_flipped = (turns == 1) != at.mirrored
        y_flipped = turns == 3

    def column(source: int, sign: int, shift: int) -> list[int]:
        key = (id(rects), source, sign, shift)
        values = known.get(key)
        if values is None:
            pick = map(itemgetter(source), rects)
            values = known[key] = [v + shift for v in pick] if sign > 0 else [shift - v for v in pick]
        return values

    xs, ys = (-1 if x_flipped else 1), (-1 if y_flipped else 1)
    x_low, x_high = x_from[::xs]
    y_low, y_high = y_from[::ys]
    return column(x_low, xs, at.dx), column(y_low, ys, at.dy), column(x_high, xs, at.dx), column(y_high, ys, at.dy)


def boxes_of(nodes: Sequence[Node]) -> list[Box]:
    return [node[:4] for node in nodes]
