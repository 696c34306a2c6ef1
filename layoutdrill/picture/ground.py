"""
What lies behind a clear base: the ground back of the sapphire or what glues it down, seen through it, out of focus.

A look from above goes through the films twice, so the ground shows by the square of what they let pass: strongly in
the field, hardly through silicon.
"""

from functools import lru_cache
from hashlib import shake_256

from PIL import Image, ImageChops, ImageFilter

from layoutdrill.picture.masks import Raster
from layoutdrill.process import Process

Table = tuple[int, ...]

TILE = 64
"""Blotches on a side before the pattern repeats."""
BLOTCH = 1.7
"""λ that a blotch is wide: the back is out of focus, so nothing sharp is left of it."""


def seen_through(
    channels: list[Image.Image],
    bits: Image.Image,
    through: tuple[Table, Table, Table],
    raster: Raster,
    process: Process,
    seed: int,
) -> list[Image.Image]:
    """Add to each channel the ground's light as `through` (share of it, by mask bits, in each channel) lets it pass."""
    mottled = _mottled(raster, process, seed % 16)
    return [
        ImageChops.add(channel, ImageChops.multiply(bits.point(table), mottled))
        for channel, table in zip(channels, through, strict=True)
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
    return middle.point([round(min(255, max(0, 70 + 185 * (v - low) / spread))) for v in range(256)])


def _mottled(raster: Raster, process: Process, seed: int) -> Image.Image:
    """Return the part of the ground in the frame; it is bound to the die."""
    tile = _pattern(seed)
    blotch = BLOTCH * process.grid_per_lambda
    x0, y1 = raster.x0 / blotch, raster.y1 / blotch
    wide, high = raster.size[0] / raster.scale / blotch, raster.size[1] / raster.scale / blotch
    left, top = x0 % TILE, -y1 % TILE
    columns, rows = int((left + wide) // TILE) + 1, int((top + high) // TILE) + 1
    if columns > 1 or rows > 1:
        sheet = Image.new("L", (columns * TILE, rows * TILE))
        for i in range(columns):
            for j in range(rows):
                sheet.paste(tile, (i * TILE, j * TILE))
        tile = sheet
    return tile.transform(
        raster.size, Image.Transform.EXTENT, (left, top, left + wide, top + high), Image.Resampling.BICUBIC
    )
