"""
Dust, scratches, stains and soft focus: what a die looks like after a hard life and a poor opening.

All of it lies on the die, so it moves with the layout. Nothing dark is drawn that has the size and the square shape of
a contact: specks are long and soft-edged, and below 4 pixels per λ only faint stains and scratches are left.
"""

import math
from collections.abc import Iterator
from random import Random

from PIL import Image, ImageChops, ImageDraw, ImageFilter

from layoutdrill.picture.view import View
from layoutdrill.process import Process

TILE = 24
"""λ on a side of the squares that dirt is strewn in."""


def with_wear(image: Image.Image, process: Process, view: View, seed: int, wear: float) -> Image.Image:
    """Return the image of a die worn from 0 (clean) to 1 (battered)."""
    if wear <= 0:
        return image
    per_lambda = view.pixels_per_lambda
    image = ImageChops.multiply(image, _rgb(_stains(image.size, process, view, seed, wear)))
    dark = Image.new("L", image.size, 255)
    light = Image.new("L", image.size, 0)
    draw_dark, draw_light = ImageDraw.Draw(dark), ImageDraw.Draw(light)
    for rng, x, y in _tiles(process, view, seed):
        if rng.random() < 0.22 * wear:
            _scratch(draw_dark, draw_light, rng, process, view, (x, y))
        if per_lambda >= 4:
            for _ in range(rng.randrange(0, 1 + round(5 * wear))):
                _speck(draw_dark, rng, process, view, (x, y))
    soft = ImageFilter.GaussianBlur(0.14 * per_lambda)
    image = ImageChops.multiply(image, _rgb(dark.filter(soft)))
    image = ImageChops.add(image, _rgb(light.filter(ImageFilter.GaussianBlur(0.06 * per_lambda))))
    return image.filter(ImageFilter.GaussianBlur(0.1 * wear * per_lambda)) if per_lambda >= 4 else image


def _rgb(channel: Image.Image) -> Image.Image:
    return Image.merge("RGB", (channel, channel, channel))


def _tiles(process: Process, view: View, seed: int) -> Iterator[tuple[Random, int, int]]:
    """Yield a generator and the lower left corner of every square in view, and of those just outside."""
    side = TILE * process.grid_per_lambda
    region = view.region
    for ty in range(region.y0 // side - 1, region.y1 // side + 2):
        for tx in range(region.x0 // side - 1, region.x1 // side + 2):
            yield Random(f"dirt {seed} {tx} {ty}"), tx * side, ty * side  # noqa: S311


def _scratch(
    dark: ImageDraw.ImageDraw,
    light: ImageDraw.ImageDraw,
    rng: Random,
    process: Process,
    view: View,
    corner: tuple[int, int],
) -> None:
    unit = process.grid_per_lambda
    x, y = corner[0] + rng.random() * TILE * unit, corner[1] + rng.random() * TILE * unit
    angle = rng.uniform(0.15, 0.55) * math.pi * rng.choice((-1, 1))
    length = rng.uniform(6, TILE) * unit
    bend = rng.uniform(-0.12, 0.12)
    points = []
    for i in range(9):
        t = i / 8
        a = angle + bend * t
        points.append(view.to_pixel(process, x + length * t * math.cos(a), y + length * t * math.sin(a)))
    width = max(1, round(view.pixels_per_lambda * 0.12))
    faint = view.pixels_per_lambda < 4
    light.line(points, fill=34 if faint else 70, width=width)
    shifted = [(px + width, py + width) for px, py in points]
    dark.line(shifted, fill=205 if faint else 130, width=width)


def _speck(draw: ImageDraw.ImageDraw, rng: Random, process: Process, view: View, corner: tuple[int, int]) -> None:
    """Draw a crumb: a crooked little polygon, at most a λ wide, or a fibre."""
    unit, scale = process.grid_per_lambda, view.pixels_per_lambda
    column, row = view.to_pixel(process, corner[0] + rng.random() * TILE * unit, corner[1] + rng.random() * TILE * unit)
    if rng.random() < 0.25:
        angle, length = rng.uniform(0, math.tau), rng.uniform(2, 5) * scale
        points = [
            (
                column + length * t * math.cos(angle + 1.4 * t) / 3,
                row + length * t * math.sin(angle + 1.4 * t) / 3,
            )
            for t in (i / 4 for i in range(13))
        ]
        draw.line(points, fill=110, width=max(1, round(0.15 * scale)))
        return
    radius = rng.uniform(0.15, 0.5) * scale
    corners = sorted(rng.uniform(0, math.tau) for _ in range(6))
    points = [(column + 1.6 * radius * math.cos(a), row + radius * math.sin(a)) for a in corners]
    draw.polygon(points, fill=rng.randrange(60, 150))


def _stains(size: tuple[int, int], process: Process, view: View, seed: int, wear: float) -> Image.Image:
    """Return slow changes of brightness, bound to the die: a coarse grid of values, enlarged."""
    step = 10 * process.grid_per_lambda
    region = view.region
    x0, y1 = region.x0 // step - 1, region.y1 // step + 2
    columns, rows = region.width // step + 4, region.height // step + 4
    values = bytes(
        round(255 - 42 * wear * Random(f"stain {seed} {x0 + i} {y1 - j}").random() ** 2)  # noqa: S311
        for j in range(rows)
        for i in range(columns)
    )
    coarse = Image.frombytes("L", (columns, rows), values)
    left, top = (region.x0 - x0 * step) / step, (y1 * step - region.y1) / step
    scale = view.scale(process) * step
    box = (left, top, left + size[0] / scale, top + size[1] / scale)
    return coarse.transform(size, Image.Transform.EXTENT, box, Image.Resampling.BICUBIC)
