"""Choose the way in which an array is drawn, by what its tiles are."""

from collections.abc import Callable

from layoutdrill.cells.tiling import Tiling
from layoutdrill.drawing.bases.draw import draw_bases
from layoutdrill.drawing.bases.plan import is_bases
from layoutdrill.drawing.crosspoints.draw import draw_crosspoints
from layoutdrill.drawing.crosspoints.plan import is_plane
from layoutdrill.drawing.series.draw import draw_series
from layoutdrill.drawing.series.plan import is_series
from layoutdrill.drawing.shared.canvas import ArrayDrawing
from layoutdrill.drawing.shared.job import ArrayJob
from layoutdrill.drawing.tiles.draw import draw_tiles

Family = Callable[[ArrayJob], ArrayDrawing | None]
"""Draws a whole array, or returns None when this attempt found no room; the same for the same job."""

_FAMILIES: tuple[tuple[Callable[[Tiling], bool], Family], ...] = (
    (is_bases, draw_bases),
    (is_series, draw_series),
    (is_plane, draw_crosspoints),
)
"""Families that suit some tilings only, the first that suits is taken; all others are drawn tile beside tile."""


def draw_array(job: ArrayJob) -> ArrayDrawing | None:
    """
    Return the drawing of a whole array, or None when this attempt found no room for its wires.

    Raises LayoutdrillError, with the reason, for arrays that cannot be drawn.
    """
    family = next((family for suits, family in _FAMILIES if suits(job.tiling)), draw_tiles)
    return family(job)
