"""
What lies on a die after a hard life and a poor opening: dust, hairs, scratches, cracks of the glass, corrosion, scars.

All of it is bound to the die, so it moves with the layout. Dust has any size, a contact's too; but it is lumpy, and has
no rim round it and no bright floor. Crumbs as large as that keep off contacts, vias and gates, which they would hide;
and `dust_near` tells where a question had better not point.
"""

import math
from collections import OrderedDict
from collections.abc import Iterator, Sequence
from functools import lru_cache

from PIL import Image, ImageChops, ImageDraw, ImageFilter

from layoutdrill.dice import Dice
from layoutdrill.geometry.rect import Rect
from layoutdrill.layout.model import Layout
from layoutdrill.picture.ground import blotches
from layoutdrill.picture.layers import flat, layout_digest
from layoutdrill.picture.shot import Shot
from layoutdrill.process import Process
from layoutdrill.value import value

SIDE = 24
"""λ on a side of the squares that dirt is strewn in."""
SHARP_FROM = 2.0
"""Pixels per λ below which dust is less than a pixel and only veils."""


@value
class Speck:
    """
    A crumb of dust: its middle and radius in λ, the lumps it is made of (place and radius as parts of its own), how
    dark it is (0 to 255: not at all), and whether it lies on the glass, above the plane of focus.
    """

    x: float
    y: float
    radius: float
    lumps: tuple[tuple[float, float, float], ...]
    tone: int
    soft: bool

    @property
    def extent(self) -> tuple[float, float, float, float]:
        """The box round all its lumps, in λ: left, bottom, right, top."""
        left = min(x - r for x, _, r in self.lumps)
        bottom = min(y - r for _, y, r in self.lumps)
        right = max(x + r for x, _, r in self.lumps)
        top = max(y + r for _, y, r in self.lumps)
        return (
            self.x + self.radius * left, self.y + self.radius * bottom,
            self.x + self.radius * right, self.y + self.radius * top,
        )  # fmt: skip


@value
class Trace:
    """A line through points in λ: a scratch, a crack or a hair, at its darkest or brightest in its middle."""

    points: tuple[tuple[float, float], ...]
    width: float
    bright: int
    dark: int
    in_glass: bool = False


@value
class Dirt:
    """What lies in one square."""

    specks: tuple[Speck, ...]
    traces: tuple[Trace, ...]
    spots: tuple[tuple[float, float, float], ...]


@lru_cache(maxsize=256)
def dirt_of(number: int, wear: float, column: int, row: int) -> Dirt:
    """Return the dirt of one square of SIDE λ, which hangs on the die's number and the square alone."""
    dice = Dice.from_text(f"dirt {number} {column} {row}")

    def place() -> tuple[float, float]:
        return (column + dice.fraction()) * SIDE, (row + dice.fraction()) * SIDE

    specks: list[Speck] = []
    traces: list[Trace] = []
    spots: list[tuple[float, float, float]] = []
    specks += [_speck(dice, place()) for _ in range(round(dice.fraction() * 9 * wear))]
    if dice.fraction() < 0.25 * wear:
        traces.append(_line(dice, place(), 8 + 16 * dice.fraction(), 0.12, (150, 120)))
    if dice.fraction() < 0.2 * wear:
        traces.append(_hair(dice, place()))
    if wear > CRACKED and dice.fraction() < 0.22 * (wear - CRACKED) / (1 - CRACKED):
        traces.append(_crack(dice, place()))
    if wear > CORRODED and dice.fraction() < 0.5 * wear:
        spots.extend((*place(), 1.0 + 2.5 * dice.fraction()) for _ in range(1 + dice.below(3)))
    return Dirt(tuple(specks), tuple(traces), tuple(spots))


def _speck(dice: Dice, at: tuple[float, float]) -> Speck:
    """Most dust is fine; the larger a crumb the more lumps it has, strung out to one side; a few are coarse."""
    if dice.chance(COARSE_SHARE):
        return _coarse(dice, at)
    radius = 0.1 + FINEST * dice.fraction() ** 3
    angle = math.tau * dice.fraction()
    lumps = []
    for i in range(2 + round(6 * radius)):
        away = 0.9 * i * (dice.fraction() - 0.15) / 2
        aside = 0.6 * (dice.fraction() - 0.5)
        x, y = away * math.cos(angle) - aside * math.sin(angle), away * math.sin(angle) + aside * math.cos(angle)
        lumps.append((x, y, 0.45 + 0.5 * dice.fraction()))
    return Speck(*at, radius, tuple(lumps), 60 + dice.below(110), dice.chance(45))


def _coarse(dice: Dice, at: tuple[float, float]) -> Speck:
    """A coarse crumb: lumps round its middle, each touching it, so that its outline turns in and out."""
    radius = COARSE_FROM + COARSE_RANGE * dice.fraction()
    first = math.tau * dice.fraction()
    count = 3 + dice.below(4)
    lumps = [(0.0, 0.0, 0.5 + 0.2 * dice.fraction())]
    for i in range(count):
        angle = first + math.tau * (i + 0.6 * dice.fraction()) / count
        away = 0.35 + 0.45 * dice.fraction()
        lumps.append((away * math.cos(angle), away * math.sin(angle), 0.2 + 0.25 * dice.fraction()))
    return Speck(*at, radius, tuple(lumps), 60 + dice.below(110), dice.chance(30))


FINEST = 0.45
"""λ that the largest fine crumb's radius has beyond the least."""
COARSE_SHARE = 8
"""Crumbs in a hundred that are as large as contacts are."""
COARSE_FROM, COARSE_RANGE = 0.7, 0.9
"""λ: the least radius of a coarse crumb, and what the largest has beyond it."""
_HIDDEN_BY = 0.5
"""λ that a coarse crumb keeps off contacts, vias and gates."""
_KEPT_FREE = ("contact", "via", "buried-contact", "thin-oxide")
_KEPT_LAYOUTS = 4
_HIDING: "OrderedDict[str, dict[Speck, bool]]" = OrderedDict()


def crumbs_on(layout: Layout, process: Process, dirt: Dirt) -> Iterator[Speck]:
    """Yield the crumbs that lie on a layout: the coarse ones only where they hide no contact, via or gate."""
    for speck in dirt.specks:
        if speck.radius < COARSE_FROM or not _hides(layout, process, speck):
            yield speck


def _hides(layout: Layout, process: Process, speck: Speck) -> bool:
    """Tell whether a coarse crumb would hide what a reader looks for; what was found out of a layout is kept."""
    known = _HIDING.setdefault(layout_digest(layout), {})
    if len(_HIDING) > _KEPT_LAYOUTS:
        _HIDING.popitem(last=False)
    if speck not in known:
        unit, (x0, y0, x1, y1) = process.grid_per_lambda, speck.extent
        near = tuple(unit * (v + by) for v, by in zip((x0, y0, x1, y1), _AROUND, strict=True))
        met = {process.layers[name].role for name, rects in flat(layout).shapes.items() if _meets(rects, near)}
        known[speck] = bool(met & set(_KEPT_FREE)) or {"poly", "active"} <= met
    return known[speck]


_AROUND = (-_HIDDEN_BY, -_HIDDEN_BY, _HIDDEN_BY, _HIDDEN_BY)


def _meets(rects: Sequence[Rect], box: tuple[float, ...]) -> bool:
    x0, y0, x1, y1 = box
    return any(r.x0 < x1 and x0 < r.x1 and r.y0 < y1 and y0 < r.y1 for r in rects)


CRACKED, CORRODED = 0.6, 0.5
"""The wear from which glass is cracked, and metal corroded."""


def _line(dice: Dice, start: tuple[float, float], length: float, width: float, tones: tuple[int, int]) -> Trace:
    """Draw a scratch: slanting, slightly bent, so that it is not taken for a wire."""
    angle = (0.12 + 0.26 * dice.fraction()) * math.pi * (1 if dice.chance(50) else -1)
    bend = 0.25 * (dice.fraction() - 0.5)
    x, y = start
    points = []
    for i in range(13):
        points.append((x, y))
        a = angle + bend * i / 12
        x, y = x + length / 12 * math.cos(a), y + length / 12 * math.sin(a)
    return Trace(tuple(points), width, *tones)


def _hair(dice: Dice, start: tuple[float, float]) -> Trace:
    angle, turn = math.tau * dice.fraction(), 2.4 * (dice.fraction() - 0.5)
    x, y = start
    points = []
    step = (4 + 6 * dice.fraction()) / 12
    for i in range(13):
        points.append((x, y))
        a = angle + turn * i / 12
        x, y = x + step * math.cos(a), y + step * math.sin(a)
    return Trace(tuple(points), 0.16, 0, 110)


def _crack(dice: Dice, start: tuple[float, float]) -> Trace:
    """A crack in the glass runs on and kinks: a thin bright edge beside a dark one."""
    angle = math.tau * dice.fraction()
    x, y = start
    points = []
    for _ in range(22):
        points.append((x, y))
        angle += 0.9 * (dice.fraction() - 0.5)
        step = 0.8 + 1.4 * dice.fraction()
        x, y = x + step * math.cos(angle), y + step * math.sin(angle)
    return Trace(tuple(points), 0.1, 90, 150, in_glass=True)


def dust_near(process: Process, number: int, wear: float, x: float, y: float, reach: float = 1.6) -> bool:
    """Tell whether dust lies within `reach` λ of a point (grid units): there a question had better not point."""
    if wear <= 0:
        return False
    at = x / process.grid_per_lambda, y / process.grid_per_lambda
    column, row = int(at[0] // SIDE), int(at[1] // SIDE)
    for i in (-1, 0, 1):
        for j in (-1, 0, 1):
            dirt = dirt_of(number, round(wear, 2), column + i, row + j)
            if any(math.hypot(s.x - at[0], s.y - at[1]) < reach + s.radius for s in dirt.specks):
                return True
    return False


def dirt_in(process: Process, region: Rect, number: int, wear: float) -> Iterator[Dirt]:
    """Yield the dirt of every square that a region (grid units) touches, and of those beside it."""
    side = SIDE * process.grid_per_lambda
    for row in range(region.y0 // side - 1, region.y1 // side + 2):
        for column in range(region.x0 // side - 1, region.x1 // side + 2):
            yield dirt_of(number, round(wear, 2), column, row)


def with_dirt(
    image: Image.Image,
    layout: Layout,
    process: Process,
    shot: Shot,
    *,
    shining: bool,
    glass: bool,
) -> Image.Image:
    """Lay the dirt on a picture of the view's size; in dark field (`shining`) it is bright. Only `glass` cracks."""
    view, number, wear = shot.view, shot.seed, shot.wear
    scale, unit = view.pixels_per_lambda, process.grid_per_lambda
    near, far = Image.new("L", image.size, 255), Image.new("L", image.size, 255)
    light = Image.new("L", image.size, 0)
    on_near, on_far, on_light = ImageDraw.Draw(near), ImageDraw.Draw(far), ImageDraw.Draw(light)
    sharp = scale >= SHARP_FROM
    for dirt in dirt_in(process, view.region, number, wear):
        for trace in dirt.traces:
            if trace.in_glass and not glass:
                continue
            points = [view.to_pixel(process, x * unit, y * unit) for x, y in trace.points]
            _draw_trace(on_near, on_light, trace, points, scale, min(1.0, 0.25 + 0.15 * scale))
        for x, y, reach in dirt.spots:
            _draw_spot(on_far, view.to_pixel(process, x * unit, y * unit), reach * scale)
        if sharp:
            for speck in crumbs_on(layout, process, dirt):
                on = on_far if speck.soft else on_near
                _draw_speck(on, view.to_pixel(process, speck.x * unit, speck.y * unit), speck, scale)
    for rect in _openings(layout, process):
        _draw_scar(on_far, view.to_pixel(process, rect[0], rect[3]), view.to_pixel(process, rect[2], rect[1]))
    dark = ImageChops.multiply(
        near.filter(ImageFilter.BoxBlur(max(0.6, 0.13 * scale))), far.filter(ImageFilter.BoxBlur(0.35 * scale))
    )
    frame = (view.region.x0, view.region.y1, view.scale(process))
    stain = blotches(image.size, frame, 100 + number % 8, 9 * unit).point(_stained(round(wear, 2)))
    if shining:
        shine = ImageChops.lighter(ImageChops.invert(dark), light)
        return ImageChops.lighter(image, Image.merge("RGB", (shine, shine, shine)))
    dark = ImageChops.multiply(dark, stain)
    image = ImageChops.multiply(image, Image.merge("RGB", (dark, dark, dark)))
    light = light.filter(ImageFilter.BoxBlur(max(0.6, 0.1 * scale)))
    return ImageChops.add(image, Image.merge("RGB", (light, light, light)))


@lru_cache(maxsize=32)
def _stained(wear: float) -> list[int]:
    return [round(255 - 26 * wear * (1 - v / 255) ** 1.5) for v in range(256)]


def _draw_trace(
    dark: ImageDraw.ImageDraw,
    light: ImageDraw.ImageDraw,
    trace: Trace,
    points: list[tuple[float, float]],
    scale: float,
    strength: float,
) -> None:
    """Draw it piece by piece, faint at both ends: a scratch has no ends, it dies away."""
    width = max(1, round(trace.width * scale))
    pieces = len(points) - 1
    for i in range(pieces):
        share = strength * math.sin(math.pi * (i + 0.5) / pieces)
        ends = (*points[i], *points[i + 1])
        if trace.bright:
            light.line(ends, fill=round(0.4 * trace.bright * share), width=width)
            ends = (ends[0] + width, ends[1] + width, ends[2] + width, ends[3] + width)
        dark.line(ends, fill=round(255 - (255 - trace.dark) * share), width=width)


def _draw_speck(draw: ImageDraw.ImageDraw, at: tuple[float, float], speck: Speck, scale: float) -> None:
    radius = speck.radius * scale
    for x, y, share in speck.lumps:
        middle, r = (at[0] + radius * x, at[1] + radius * y), radius * share
        draw.ellipse((middle[0] - r, middle[1] - r, middle[0] + r, middle[1] + r), fill=speck.tone)


def _draw_spot(draw: ImageDraw.ImageDraw, at: tuple[float, float], reach: float) -> None:
    """Corrosion eats in from a middle: several faint rounds, the inner ones darker."""
    for share, tone in ((1.0, 232), (0.7, 212), (0.4, 190)):
        r = reach * share
        draw.ellipse((at[0] - r, at[1] - 0.8 * r, at[0] + r, at[1] + 0.8 * r), fill=tone)


def _openings(layout: Layout, process: Process) -> Iterator[tuple[int, int, int, int]]:
    for name, layer in process.layers.items():
        if layer.role == "glass-opening":
            yield from flat(layout).shapes.get(name, ())


def _draw_scar(draw: ImageDraw.ImageDraw, first: tuple[float, float], last: tuple[float, float]) -> None:
    """A bond leaves a flattened, scraped oval in the middle of its pad."""
    cx, cy = (first[0] + last[0]) / 2, (first[1] + last[1]) / 2
    across, down = 0.3 * (last[0] - first[0]), 0.22 * (last[1] - first[1])
    for share, tone in ((1.0, 175), (0.82, 205), (0.5, 160)):
        box = (cx - share * across, cy - share * down, cx + share * across, cy + share * down)
        draw.ellipse(box, fill=tone)
