"""
How the surface of evaporated aluminium looks close up: a faint grain, and hillocks, which are small dark dots.

The pattern is bound to the die. Hillocks of 0.2 to 0.5 µm, some to a square of 5 µm, are common practice.
"""

from functools import lru_cache
from hashlib import shake_256

from PIL import Image, ImageChops, ImageDraw, ImageFilter

from layoutdrill.dice import Dice

SEEN_FROM = 5.0
"""Pixels per λ below which the grain of metal is averaged away."""
TILE, PER_LAMBDA = 256, 8
"""Pixels on a side of the pattern before it repeats, and in a λ of it."""
HILLOCKS = 80
FAINTEST, DARKEST = 226, 160


@lru_cache(maxsize=8)
def _pattern(seed: int) -> Image.Image:
    """Return the share of its light (255: all) that each spot of the metal sends back."""
    data = shake_256(f"metal {seed}".encode()).digest(TILE * TILE)
    noise = Image.frombytes("L", (TILE, TILE), data)
    grain = ImageChops.add(
        noise.filter(ImageFilter.GaussianBlur(0.8)), noise.filter(ImageFilter.GaussianBlur(2.5)), 2
    ).point([round(min(255, max(0, 247 + (v - 128) * 0.22))) for v in range(256)])
    dots = Image.new("L", (TILE, TILE), 255)
    draw = ImageDraw.Draw(dots)
    dice = Dice.from_text(f"hillocks {seed}")
    for _ in range(HILLOCKS):
        x, y, r = dice.below(TILE), dice.below(TILE), 0.4 + 0.9 * dice.fraction() ** 2
        draw.ellipse((x - r, y - r, x + r, y + r), fill=DARKEST + dice.below(FAINTEST - DARKEST))
    return ImageChops.multiply(grain, dots.filter(ImageFilter.GaussianBlur(0.5)))


def metal_surface(size: tuple[int, int], left: float, top: float, per_lambda: float, seed: int) -> Image.Image:
    """Return the pattern for a frame whose upper left corner lies at so many λ across and down the die."""
    tile = _pattern(seed % 8)
    step = PER_LAMBDA / per_lambda
    x0, y0 = left * PER_LAMBDA % TILE, top * PER_LAMBDA % TILE
    across, down = size[0] * step, size[1] * step
    columns, rows = int((x0 + across) // TILE) + 1, int((y0 + down) // TILE) + 1
    if columns > 1 or rows > 1:
        sheet = Image.new("L", (columns * TILE, rows * TILE))
        for i in range(columns):
            for j in range(rows):
                sheet.paste(tile, (i * TILE, j * TILE))
        tile = sheet
    return tile.transform(size, Image.Transform.EXTENT, (x0, y0, x0 + across, y0 + down), Image.Resampling.BILINEAR)
