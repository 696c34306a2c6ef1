"""Flat pictures: each layer laid down as a clear tint, a paint or a hatch."""

from collections.abc import Collection
from functools import lru_cache

from PIL import Image, ImageChops, ImageFilter

from layoutdrill.layout.model import Layout
from layoutdrill.picture.colour import RGB
from layoutdrill.picture.looks import Hatch, Look, Paint
from layoutdrill.picture.masks import Raster, role_rects
from layoutdrill.picture.view import View
from layoutdrill.process import Process

HATCH_FROM = 3.0
"""Pixels per λ below which strokes merge into a blur and flat greys take their place."""


def paint(layout: Layout, process: Process, look: Look, view: View, hidden: Collection[str]) -> Image.Image:
    """Draw the look's paints from the lowest; below 4 pixels per λ drawn larger and averaged."""
    factor = 1 if view.pixels_per_lambda >= 8 else 2 if view.pixels_per_lambda >= 3 else 4
    raster = Raster(process, view, factor)
    per_lambda = view.pixels_per_lambda * factor
    strokes = view.pixels_per_lambda >= HATCH_FROM
    masks: dict[str, Image.Image] = {}

    def mask(role: str) -> Image.Image:
        if role not in masks:
            masks[role] = raster.mask(role_rects(layout, process, role, hidden))
        return masks[role]

    image = Image.new("RGB", raster.size, look.ground)
    for step in look.paints:
        area = mask(step.role)
        if area.getbbox() is None:
            continue
        for role in step.over:
            area = ImageChops.darker(area, mask(role))
        for role in step.off:
            area = ImageChops.subtract(area, mask(role))
        if area.getbbox() is not None:
            image = _lay(image, area, step, per_lambda, strokes=strokes)
    return image.reduce(factor) if factor > 1 else image


def _lay(image: Image.Image, area: Image.Image, step: Paint, per_lambda: float, *, strokes: bool) -> Image.Image:
    tint, fill = step.tint, step.fill
    if not strokes and step.grey is not None:
        tint, fill = None, step.grey
    if tint is not None:
        image.paste(ImageChops.multiply(image, _plain(image.size, tint)), (0, 0), area)
    if fill is not None:
        veil = area if step.cover >= 1 else area.point([round(v * step.cover) for v in range(256)])
        image.paste(fill, (0, 0, *image.size), veil)
    if step.hatch is Hatch.SOLID:
        image.paste(step.ink, (0, 0, *image.size), area)
    elif step.hatch is not Hatch.NONE and strokes:
        pattern = hatch_tile(step.hatch, image.size, step.spacing * per_lambda, step.stroke * per_lambda)
        image.paste(step.ink, (0, 0, *image.size), ImageChops.darker(area, pattern))
    if step.edge:
        width = max(1, round(step.edge * per_lambda))
        image.paste(step.ink, (0, 0, *image.size), rim(area, width))
    return image


def rim(area: Image.Image, width: int) -> Image.Image:
    """Return the part of an area that lies within `width` pixels of its border."""
    inner = area
    left = width
    while left > 0:
        step = min(left, 4)
        inner = inner.filter(ImageFilter.MinFilter(2 * step + 1))
        left -= step
    return ImageChops.subtract(area, inner)


@lru_cache(maxsize=32)
def _plain(size: tuple[int, int], colour: RGB) -> Image.Image:
    return Image.new("RGB", size, colour)


@lru_cache(maxsize=32)
def hatch_tile(hatch: Hatch, size: tuple[int, int], spacing: float, stroke: float) -> Image.Image:
    """Return a mask of the size, covered with a hatch whose strokes repeat every `spacing` pixels."""
    pitch = max(3, round(spacing))
    width = max(1, min(pitch - 2, round(stroke)))
    tile = Image.new("L", (pitch, pitch))
    rising = hatch in (Hatch.RISING, Hatch.CROSSED)
    falling = hatch in (Hatch.FALLING, Hatch.CROSSED)
    for y in range(pitch):
        for x in range(pitch):
            on = (
                (hatch is Hatch.LEVEL and y < width)
                or (hatch is Hatch.UPRIGHT and x < width)
                or (hatch is Hatch.DOTS and x < width and y < width)
                or (rising and (x + y) % pitch < width)
                or (falling and (x - y) % pitch < width)
            )
            if on:
                tile.putpixel((x, y), 255)
    row = Image.new("L", (size[0], pitch))
    for x in range(0, size[0], pitch):
        row.paste(tile, (x, 0))
    image = Image.new("L", size)
    for y in range(0, size[1], pitch):
        image.paste(row, (0, y))
    return image
