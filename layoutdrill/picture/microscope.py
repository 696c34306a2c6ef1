"""
A layout as a microscope shows it: colours from film optics, steps from a height map, then lens and camera.

Every zoom has settings of its own: what makes a contact plain at one pixel per λ would be gaudy at eight.
"""

import math
from collections.abc import Collection
from functools import lru_cache

from PIL import Image, ImageChops, ImageFilter

from layoutdrill.errors import LayoutdrillError
from layoutdrill.layout.model import Layout
from layoutdrill.picture.grain import with_grain, with_uneven_light
from layoutdrill.picture.looks import Look, Style
from layoutdrill.picture.masks import Raster, flat
from layoutdrill.picture.palette import Palette, palette
from layoutdrill.picture.view import View
from layoutdrill.picture.wear import with_wear
from layoutdrill.process import Process
from layoutdrill.process.films import Films, load_films
from layoutdrill.value import value


@value
class Lens:
    """
    The settings of one zoom. Drawn at `factor` times the size; `soft` is the blur of the height map, `blur` that of
    the picture (both in λ); a step of `step` nm darkens an edge by about two thirds of `dark`; metal in the deepest
    place loses `depth` of its brightness, metal in a contact what `contact` leaves; `grain` in 8-bit levels, `sharpen`
    in percent; `defocus` is the blur (in λ) of what lies 2 µm out of focus.
    """

    factor: int
    soft: float
    step: float
    dark: float
    depth: float
    contact: float
    relief: float
    blur: float
    grain: float
    sharpen: int
    defocus: float = 0.0


LENSES: tuple[tuple[float, Lens], ...] = (
    (1, Lens(2, 0.18, 500, 0.5, 0.55, 0.75, 0.5, 0, 0, 30)),
    (2, Lens(2, 0.18, 450, 0.60, 0.48, 0.8, 0.7, 0.04, 1.5, 0)),
    (3, Lens(2, 0.18, 450, 0.60, 0.46, 0.8, 0.8, 0.05, 2, 0)),
    (4, Lens(2, 0.18, 450, 0.65, 0.43, 0.8, 0.9, 0.06, 3, 0, 0.12)),
    (6, Lens(2, 0.17, 450, 0.70, 0.42, 0.75, 1.0, 0.07, 4, 0, 0.14)),
    (8, Lens(1, 0.16, 450, 0.75, 0.40, 0.75, 1.0, 0.08, 4.5, 0, 0.16)),
)


def lens_for(per_lambda: float) -> Lens:
    """Return the settings of the nearest zoom that is not larger."""
    found = LENSES[0][1]
    for zoom, lens in LENSES:
        if per_lambda >= zoom:
            found = lens
    return found


def photograph(
    layout: Layout, process: Process, look: Look, view: View, seed: int, wear: float, hidden: Collection[str]
) -> Image.Image:
    """Return the picture in a photographic look; see `render`."""
    films = load_films(process)
    if look.style is Style.TRANSMITTED and films.base != "sapphire":
        raise LayoutdrillError(
            f'no light passes through the {films.base} below "{process.name}"', todo='choose the look "reflected-light"'
        )
    lens = lens_for(view.pixels_per_lambda)
    tables = palette(process, look, seed)
    raster = Raster(process, view, lens.factor, margin=2 * lens.factor + 2)
    image, surface = _lit(layout, look, raster, films, tables, lens, hidden)
    if lens.factor > 1:
        image = image.reduce(lens.factor)
    per_lambda = view.pixels_per_lambda
    softness = look.settings.get("blur", 1.0)
    if lens.defocus and look.style is Style.REFLECTED:
        surface = surface.reduce(lens.factor) if lens.factor > 1 else surface
        image = _focused(image, surface, tables, lens.defocus * softness * per_lambda)
    blur = lens.blur * softness * per_lambda
    if blur > 0.05:
        image = image.filter(ImageFilter.GaussianBlur(blur))
    if lens.sharpen:
        image = image.filter(ImageFilter.UnsharpMask(1, lens.sharpen, 0))
    image = with_uneven_light(image, seed, 0.1 * look.settings.get("vignette", 1.0) * (1 + wear))
    image = with_wear(image, process, view, seed, wear)
    return with_grain(image, seed, lens.grain * look.settings.get("grain", 1.0) * (1 + 0.8 * wear))


def _bits(layout: Layout, raster: Raster, tables: Palette, hidden: Collection[str]) -> Image.Image:
    """Return one image whose bits say which mask layers lie at each pixel."""
    drawn = flat(layout).shapes
    total: Image.Image | None = None
    for i, name in enumerate(tables.layers):
        rects = () if name in hidden else drawn.get(name, ())
        boxes = raster.boxes(rects)
        if not boxes:
            continue
        layer = Image.new("L", raster.size)
        for box in boxes:
            layer.paste(1 << i, box)
        total = layer if total is None else ImageChops.add(total, layer)
    return total if total is not None else Image.new("L", raster.size)


def _lit(
    layout: Layout,
    look: Look,
    raster: Raster,
    films: Films,
    tables: Palette,
    lens: Lens,
    hidden: Collection[str],
) -> tuple[Image.Image, Image.Image]:
    """Return the picture before the lens, and the heights of its surface."""
    bits = _bits(layout, raster, tables, hidden)
    colour = Image.merge("RGB", (bits.point(tables.red), bits.point(tables.green), bits.point(tables.blue)))
    per_lambda = raster.per_lambda
    surface = bits.point(tables.height)
    tone: Image.Image | None = None
    drawn = flat(layout).shapes
    level = tables.highest
    depth = 0.0 if look.style is Style.TRANSMITTED else lens.depth * look.settings.get("depth", 1.0)
    for i, (metal, paint) in enumerate(zip(films.metals, tables.metals, strict=True)):
        level += paint.insulator
        shapes = () if metal.layer in hidden else drawn.get(metal.layer, ())
        boxes = raster.boxes(shapes)
        if boxes:
            mask = Image.new("L", raster.size)
            for box in boxes:
                mask.paste(255, box)
            lowest = level - (0 if films.planar else tables.highest - tables.lowest)
            if films.planar:
                below = Image.new("L", raster.size, level)
            else:
                below = surface.filter(ImageFilter.GaussianBlur(0.15 * per_lambda))
                if paint.insulator:
                    below = below.point(_raised(paint.insulator))
            shade = bits.point(_faded(tables.metal_shade, lens.contact)) if i == 0 else None
            holes = [box for name in metal.holes if name not in hidden for box in raster.boxes(drawn.get(name, ()))]
            if holes:
                pit = Image.new("L", raster.size)
                bored = Image.new("L", raster.size, 255)
                share = round(255 * (1 - lens.contact * (1 - metal.hole_shade)))
                for box in holes:
                    pit.paste(paint.dip, box)
                    bored.paste(share, box)
                below = ImageChops.subtract(below, pit)
                shade = bored if shade is None else ImageChops.multiply(shade, bored)
                lowest = min(lowest, level - paint.dip)
            strength = round(depth * (UPPER if i else 1.0), 3)
            here = below.point(_depth_tone(max(lowest, 0), max(level, lowest + 1), strength, metal.curve))
            if shade is not None:
                here = ImageChops.multiply(here, shade)
            tone = Image.composite(here, tone if tone is not None else Image.new("L", raster.size, 255), mask)
            surface.paste(below.point(_raised(paint.rise)), (0, 0), mask)
            colour.paste(paint.colour, (0, 0, *raster.size), mask)
        level += paint.rise
    if look.style is Style.TRANSMITTED:
        return raster.cropped(colour), raster.cropped(surface)
    image = _with_relief(colour, surface, tone, per_lambda, tables.unit, lens, look)
    return raster.cropped(image), raster.cropped(surface)


def _focused(image: Image.Image, surface: Image.Image, tables: Palette, blur: float) -> Image.Image:
    """Blur what lies away from the plane of focus, which is the top of the lowest metal."""
    plane = tables.highest + (tables.metals[0].rise if tables.metals else 0)
    away = surface.point(_out_of_focus(plane, tables.unit))
    return Image.composite(image.filter(ImageFilter.GaussianBlur(blur)), image, away)


def _with_relief(
    colour: Image.Image,
    surface: Image.Image,
    tone: Image.Image | None,
    per_lambda: float,
    unit: float,
    lens: Lens,
    look: Look,
) -> Image.Image:
    """Darken steps, and light the slopes from the upper left."""
    soft = max(0.35, lens.soft * per_lambda)
    smooth = surface.filter(ImageFilter.GaussianBlur(soft))
    right = ImageChops.subtract(smooth, ImageChops.offset(smooth, 1, 0), 1, 128)
    down = ImageChops.subtract(smooth, ImageChops.offset(smooth, 0, 1), 1, 128)
    slope = lens.step / unit / (2.507 * soft)
    dark = min(1.0, lens.dark * look.settings.get("edges", 1.0))
    edges = ImageChops.multiply(
        right.point(_edge_tone(round(slope, 2), dark)), down.point(_edge_tone(round(slope, 2), dark))
    )
    tone = edges if tone is None else ImageChops.multiply(tone, edges)
    image = ImageChops.multiply(colour, Image.merge("RGB", (tone, tone, tone)))
    strength = lens.relief * look.settings.get("relief", 1.0)
    if strength > 0:
        lit = ImageChops.add(right, down, 2).point(_slope_light(round(slope, 2), round(strength, 2)))
        image = ImageChops.add(image, Image.merge("RGB", (lit, lit, lit)), 1, -128)
    return image


UPPER = 0.4
"""The share of depth tone left on an upper metal: planed below, it never lies as deep as the first one does."""


@lru_cache(maxsize=64)
def _raised(by: int) -> list[int]:
    return [min(255, v + by) for v in range(256)]


@lru_cache(maxsize=64)
def _faded(shade: tuple[int, ...], strength: float) -> list[int]:
    return [round(255 - (255 - v) * strength) for v in shade]


@lru_cache(maxsize=64)
def _depth_tone(low: int, high: int, depth: float, curve: float) -> list[int]:
    """Darken metal by a power of its depth, so that the deepest place stands out from the next."""
    return [round(255 * (1 - depth * (min(1.0, max(0.0, (high - v) / (high - low)))) ** curve)) for v in range(256)]


@lru_cache(maxsize=64)
def _out_of_focus(plane: int, unit: float) -> list[int]:
    """From 0 within the depth of focus (common practice: 0.3 µm at an aperture of 0.9, here 0.5) to 255 at 2 µm."""
    return [round(255 * min(1.0, max(0.0, (abs(v - plane) * unit - 500) / 1500))) for v in range(256)]


@lru_cache(maxsize=64)
def _edge_tone(slope: float, dark: float) -> list[int]:
    return [round(255 * (1 - dark * (1 - math.exp(-(((v - 128) / slope) ** 2))))) for v in range(256)]


@lru_cache(maxsize=64)
def _slope_light(slope: float, strength: float) -> list[int]:
    return [round(128 + 60 * strength * math.tanh((v - 128) / slope)) for v in range(256)]
