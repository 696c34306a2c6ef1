"""Guard rings of an array drawn on a pitch: bars of diffusion round a group of transistors, and a well."""

from collections.abc import Iterator

from layoutdrill.drawing.shared.technique import Doped, Rings
from layoutdrill.geometry.rect import Rect


def ring_round(area: Rect, rings: Rings, doped: Doped, kind: int) -> tuple[Rect, Iterator[tuple[str, Rect]]]:
    """
    Return the outer border of a ring round an area of diffusions, and its rectangles with their mask layers.

    The ring has the other doping than the group, which is of `kind` 0 for n; round that one the well is drawn too.
    """
    outer = area.grown(rings.gap + rings.width)
    return outer, _rects(outer, rings, doped, kind)


def _rects(outer: Rect, rings: Rings, doped: Doped, kind: int) -> Iterator[tuple[str, Rect]]:
    mask, wide = doped.doping[1 - kind], rings.width
    yield mask, Rect(outer.x0, outer.y0, outer.x1, outer.y0 + wide)
    yield mask, Rect(outer.x0, outer.y1 - wide, outer.x1, outer.y1)
    yield mask, Rect(outer.x0, outer.y0 + wide, outer.x0 + wide, outer.y1 - wide)
    yield mask, Rect(outer.x1 - wide, outer.y0 + wide, outer.x1, outer.y1 - wide)
    if kind == 0:
        yield rings.well, outer.grown(rings.well_past)
