"""
What lies behind a clear base: the ground back of the sapphire or what glues it down, seen through it, out of focus.

A look from above goes through the films twice, so the ground shows by the square of what they let pass: strongly in
the field, hardly through silicon (the palette knows how much).
"""

from functools import lru_cache
from hashlib import shake_256

from PIL import Image, ImageChops, ImageFilter

from layoutdrill.picture.masks import Raster
from layoutdrill.process import Process

Table = tuple[int, ...]
Tables = tuple[Table, Table, Table]

TILE = 64
"""Blotches on a side before the pattern repeats."""
BLOTCH = 1.7
"""λ that a blotch is wide: the back is out of focus, so nothing sharp is left of it."""


def seen_through(
    bits: Image.Image, tables: tuple[Tables, Tables], raster: Raster, process: Process, seed: int
) -> list[Image.Image]:
    """Return the three channels: by mask bits, the colour over the darkest ground, and what lighter ground adds."""
    frame = (raster.x0, raster.y1, raster.scale)
    mottled = blotches(raster.size, frame, seed % 16, BLOTCH * process.grid_per_lambda)
    darkest, added = tables
    return [
        ImageChops.add(bits.point(dark), ImageChops.multiply(bits.point(more), mottled))
        for dark, more in zip(darkest, added, strict=True)
    ]


@lru_cache(maxsize=16)
def _pattern(seed: int) -> Image.Image:
    """Return the ground's brightness, a blotch a pixel; three sizes of blotch, none of them sharp."""
    data = shake_256(f"ground {seed}".encode()).digest(TILE * TILE)
    fine = Image.frombytes("L", (TILE, TILE), data)
    double = Image.new("L", (2 * TILE, 2 * TILE))
    for x in (0, TILE):
        for y in (0, TILE):
            double.paste(fine, (x, y))
    total = ImageChops.add(
        double.filter(ImageFilter.GaussianBlur(0.7)), double.filter(ImageFilter.GaussianBlur(2.2)), 2
    )
    middle = total.crop((TILE // 2, TILE // 2, TILE // 2 + TILE, TILE // 2 + TILE))
    levels = [level for level, count in enumerate(middle.histogram()) if count]
    low, spread = levels[0], max(1, levels[-1] - levels[0])
    return middle.point([round(min(255, max(0, 255 * (v - low) / spread))) for v in range(256)])


def blotches(size: tuple[int, int], frame: tuple[float, float, float], seed: int, wide: float) -> Image.Image:
    """
    Return blotches from 0 to 255, bound to the die: `frame` is the left and upper edge in grid units and the pixels in
    one; a blotch is `wide` grid units wide.
    """
    tile = _pattern(seed)
    x0, y1, scale = frame[0] / wide, frame[1] / wide, frame[2] * wide
    across, down = size[0] / scale, size[1] / scale
    left, top = x0 % TILE, -y1 % TILE
    columns, rows = int((left + across) // TILE) + 1, int((top + down) // TILE) + 1
    if columns > 1 or rows > 1:
        sheet = Image.new("L", (columns * TILE, rows * TILE))
        for i in range(columns):
            for j in range(rows):
                sheet.paste(tile, (i * TILE, j * TILE))
        tile = sheet
    box = (left, top, left + across, top + down)
    return tile.transform(size, Image.Transform.EXTENT, box, Image.Resampling.BICUBIC)
