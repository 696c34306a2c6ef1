"""
Find the corners of what a mask layer draws: where light and etching will have rounded it.

The layer is laid down as an image of one pixel a step of its coordinates; a corner is then a pixel that differs from
its neighbours, which image arithmetic finds without a walk over the shapes.
"""

import math
from functools import lru_cache

from PIL import Image, ImageChops

from layoutdrill.geometry.rect import Rect
from layoutdrill.value import Itself, value

MOST_PIXELS = 6_000_000
"""A layer that needs a larger image keeps its corners square."""
_KEPT = 24

_TURNS = ((1, 1), (-1, 1), (1, -1), (-1, -1))
"""From the corner into the quadrant that alone differs: right and down, left and down, right and up, left and up."""


@value
class Corner:
    """A corner at a point (grid units): the quadrant towards (`across`, `down` the picture) alone is drawn, or not."""

    x: int
    y: int
    across: int
    down: int
    drawn: bool


def corners(rects: tuple[Rect, ...]) -> tuple[Corner, ...]:
    """Return the corners of the union of rectangles, sorted by x; those of the last few layers are kept."""
    return _corners(Itself(rects))


@lru_cache(_KEPT)
def _corners(drawn_rects: Itself[tuple[Rect, ...]]) -> tuple[Corner, ...]:
    rects = drawn_rects.thing
    if not rects:
        return ()
    x0, y0 = min(r.x0 for r in rects), min(r.y0 for r in rects)
    step = math.gcd(*(v for r in rects for v in (r.x0 - x0, r.y0 - y0, r.x1 - x0, r.y1 - y0)))
    width, height = (max(r.x1 for r in rects) - x0) // step + 2, (max(r.y1 for r in rects) - y0) // step + 2
    if width * height > MOST_PIXELS:
        return ()
    drawn = Image.new("L", (width, height))
    for r in rects:
        left, low = (r.x0 - x0) // step + 1, (r.y0 - y0) // step + 1
        drawn.paste(255, (left, low, left + (r.x1 - r.x0) // step, low + (r.y1 - r.y0) // step))
    bare = ImageChops.invert(drawn)
    corners_here = []
    for image, is_drawn in ((drawn, True), (bare, False)):
        other = bare if is_drawn else drawn
        for across, down in _TURNS:
            # In this image y grows with the layout's, so "down the picture" is towards smaller y.
            lone = ImageChops.darker(image, ImageChops.offset(other, across, 0))
            lone = ImageChops.darker(lone, ImageChops.offset(other, 0, -down))
            lone = ImageChops.darker(lone, ImageChops.offset(other, across, -down))
            for at in _set(lone):
                column, row = at % width, at // width
                x = column - 1 + (0 if across > 0 else 1)
                y = row - 1 + (1 if down > 0 else 0)
                inside = 0 < column < width - 1 and 0 < row < height - 1
                if is_drawn or inside:
                    corners_here.append(Corner(x0 + x * step, y0 + y * step, across, down, is_drawn))
    return tuple(sorted(corners_here, key=lambda c: (c.x, c.y, c.across, c.down)))


def _set(image: Image.Image) -> list[int]:
    """Return the indices of the pixels that are set."""
    pixels = image.tobytes()
    places, at = [], pixels.find(255)
    while at >= 0:
        places.append(at)
        at = pixels.find(255, at + 1)
    return places
