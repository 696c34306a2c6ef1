"""Choose the way in which an array is drawn, by what its tiles are."""

from collections.abc import Callable

from layoutdrill.cells.tiling import Part, Tiling
from layoutdrill.drawing.bases.draw import draw_bases
from layoutdrill.drawing.crosspoints.draw import draw_crosspoints
from layoutdrill.drawing.series.draw import draw_series
from layoutdrill.drawing.shared import Drawing, Request
from layoutdrill.drawing.tiles.draw import draw_tiles

Family = Callable[[Request, Tiling], Drawing | None]
"""Draws a whole array, or returns None when this attempt found no room; the same for the same request."""

_FAMILIES: dict[Part, Family] = {Part.BASE: draw_bases, Part.LINK: draw_series, Part.CROSSING: draw_crosspoints}
"""The families of arrays that have such parts, of which none has two; all others are drawn tile beside tile."""


def draw_array(asked: Request, tiling: Tiling) -> Drawing | None:
    """
    Return the drawing of a whole array, or None when this attempt found no room for its wires.

    Raises LayoutdrillError, with the reason, for arrays that cannot be drawn.
    """
    parts = {part for tile in tiling.tiles.values() for part in tile.parts}
    return next((family for part, family in _FAMILIES.items() if part in parts), draw_tiles)(asked, tiling)
