"""
A layout as a microscope shows it: colours from film optics, dark lines from slopes, then the lens and the camera.

Bright field, dark field, light from below, or both lamps. Flat metal is equally bright at any height; what lies below
it shows by its slopes alone, unless the tracing aid is on (see `aid`).
"""

from collections.abc import Callable, Collection
from functools import lru_cache, partial

from PIL import Image, ImageChops, ImageFilter

from layoutdrill.errors import LayoutdrillError
from layoutdrill.geometry.rect import Rect
from layoutdrill.layout.model import Layout
from layoutdrill.picture.aid import UPPER, tone_of
from layoutdrill.picture.camera import defocused
from layoutdrill.picture.die import Die
from layoutdrill.picture.grain import with_grain, with_uneven_light
from layoutdrill.picture.ground import seen_through
from layoutdrill.picture.layers import flat
from layoutdrill.picture.looks import FROM_BELOW, Look, Style
from layoutdrill.picture.masks import Raster
from layoutdrill.picture.objectives import Objective, beyond_light, objective_for, um_per_lambda
from layoutdrill.picture.palette import Palette, palette
from layoutdrill.picture.slopes import loss_of_edge, loss_of_film
from layoutdrill.picture.stages import Stage, require
from layoutdrill.picture.surface import SEEN_FROM, metal_surface
from layoutdrill.picture.view import View
from layoutdrill.picture.wear import with_wear
from layoutdrill.process import Process
from layoutdrill.process.films import Films, load_films
from layoutdrill.value import value

BALL = 0.55
"""Where the dark line of a conformal film lies: this part of its thickness beyond the step below it."""
WIDEST = 1.0
"""µm: a wider dark line is not drawn."""
AID_DEPTH = 0.4
"""The share of its brightness that metal in the deepest place loses with the tracing aid on, before its curve."""
DARK_GAIN = 1.5
"""In dark field the lamp is stronger, for only slopes send light into the lens."""


@value
class Shot:
    """
    How a picture is taken. `seed` chooses the lot and the dirt, `wear` goes from 0 to 1, `aid` puts the tracing aid on;
    `hidden` are the mask layers taken off, and `stage` how far the die has been; without an `objective` the one that
    suits the scale is used.
    """

    look: Look
    view: View
    seed: int
    wear: float
    hidden: Collection[str]
    die: Die
    aid: bool
    objective: Objective | None
    stage: Stage | None = None


def factor_for(pixels_per_lambda: float) -> int:
    """Return how much larger than the view a picture is drawn, to be averaged over."""
    return 3 if pixels_per_lambda < 3 else 2 if pixels_per_lambda < 8 else 1


def photograph(layout: Layout, process: Process, shot: Shot) -> Image.Image:
    """Return the picture in a photographic look; see `render`."""
    look, view = shot.look, shot.view
    films = load_films(process)
    if shot.stage is not None:
        require(process, films, shot.stage)
    if look.style in FROM_BELOW and films.base != "sapphire":
        raise LayoutdrillError(
            f'no light passes through the {films.base} below "{process.name}"', todo='choose the look "reflected-light"'
        )
    factor = factor_for(view.pixels_per_lambda)
    raster = Raster(process, view, factor, margin=4 * factor, die=shot.die)
    exposed = _Exposed(
        layout, process, shot, raster, films, palette(process, look, shot.seed, shot.stage or Stage.GLASS_OFF)
    )
    image = exposed.image()
    vignette = 0.09 * look.settings.get("vignette", 1.0) * (1 + 0.7 * shot.wear)
    image = with_uneven_light(image, shot.seed, vignette)
    shining = look.style is Style.DARK_FIELD
    glass = shot.stage in (None, Stage.WHOLE)
    image = with_wear(image, layout, process, view, shot.seed, shot.wear, shining=shining, glass=glass)
    grain = _grain(view.pixels_per_lambda) * look.settings.get("grain", 1.0) * (1 + 0.6 * shot.wear)
    return with_grain(image, shot.seed, grain)


def _grain(pixels_per_lambda: float) -> float:
    """Return the standard deviation of the camera's grain (8-bit levels): small pictures are averages, so have less."""
    return 0.0 if pixels_per_lambda < 2 else min(1.8, 0.45 * pixels_per_lambda)


class _Exposed:
    """One exposure under way: the frame, what lies in it, and how high."""

    def __init__(
        self, layout: Layout, process: Process, shot: Shot, raster: Raster, films: Films, tables: Palette
    ) -> None:
        self.shapes = flat(layout).shapes
        self.process, self.shot, self.raster, self.films, self.tables = process, shot, raster, films, tables
        self.pixel = um_per_lambda(process) / raster.per_lambda
        self.objective = shot.objective or objective_for(process, shot.view.pixels_per_lambda)
        # A process finer than light is drawn as if its lines were 2.5 µm.
        self.shrunk = 1.0 if not beyond_light(process) else um_per_lambda(process) / 2.5
        self.masks: dict[str, Image.Image | None] = {}

    def image(self) -> Image.Image:
        style = self.shot.look.style
        bits = self._bits()
        surface = bits.point(self.tables.height)
        metal, surface, tone = self._metals(bits, surface)
        lost = self._losses(surface, metal)
        opened = self._openings()
        if opened is not None:
            lost = ImageChops.lighter(lost, opened.point(_GLASS_EDGE))
        if style is Style.DARK_FIELD:
            return self._in_dark(lost)
        if style is Style.TRANSMITTED:
            return self._from_below(bits, metal, lost)
        colour = self._colours(bits, metal)
        light = ImageChops.invert(lost)
        if style is Style.BOTH:
            below = self._from_below(bits, metal, lost)
            return ImageChops.add(self._through_lens(colour, light, tone), below.point(_dimmed(0.42) * 3), 1, -6)
        return self._focused(self._through_lens(colour, light, tone), surface)

    def _mask(self, name: str) -> Image.Image | None:
        if name not in self.masks:
            rects: tuple[Rect, ...] = () if name in self.shot.hidden else self.shapes.get(name, ())
            self.masks[name] = self.raster.layer(name, rects) if rects else None
        return self.masks[name]

    def _openings(self) -> Image.Image | None:
        """Return the rims of the openings in the glass, where glass lies; None where there is none in the frame."""
        if self.shot.stage not in (None, Stage.WHOLE):
            return None
        names = (name for name, layer in self.process.layers.items() if layer.role == "glass-opening")
        drawn = [mask for name in names if (mask := self._mask(name)) is not None]
        if not drawn:
            return None
        inside = ImageChops.invert(squared(ImageChops.invert(drawn[0])))
        return ImageChops.subtract(squared(drawn[0]), inside)

    def _bits(self) -> Image.Image:
        """Return one image whose bits say which mask layers lie at each pixel."""
        total: Image.Image | None = None
        for i, name in enumerate(self.tables.layers):
            rects: tuple[Rect, ...] = () if name in self.shot.hidden else self.shapes.get(name, ())
            drawn = self.raster.layer(name, rects, 1 << i) if rects else None
            if drawn is not None:
                total = drawn if total is None else ImageChops.add(total, drawn)
        return total if total is not None else Image.new("L", self.raster.size)

    def _metals(
        self, bits: Image.Image, surface: Image.Image
    ) -> tuple[list[Image.Image | None], Image.Image, Image.Image | None]:
        """
        Lay the metals one after another on the surface. Return their masks, the new surface, and the tracing
        aid's tone.
        """
        films, tables, shot = self.films, self.tables, self.shot
        masks: list[Image.Image | None] = []
        tone: Image.Image | None = None
        level = tables.highest
        aid = shot.aid and shot.look.style is Style.REFLECTED
        for i, (metal, paint) in enumerate(zip(films.metals, tables.metals, strict=True)):
            level += paint.insulator
            mask = self._mask(metal.layer)
            masks.append(mask)
            if mask is not None:
                lowest = level - (0 if films.planar else tables.highest - tables.lowest)
                if films.planar:
                    below = Image.new("L", self.raster.size, level)
                else:
                    below = self._rolled(surface, metal.nm)
                    if paint.insulator:
                        below = below.point(raised(paint.insulator))
                pits: Image.Image | None = None
                for name in metal.holes:
                    hole = self._mask(name)
                    if hole is None:
                        continue
                    below = ImageChops.subtract(below, hole.point(_dip(paint.dip)))
                    lowest = min(lowest, level - paint.dip)
                    if aid:
                        dark = hole.point(_dip(round(255 * 0.8 * (1 - metal.hole_shade))))
                        pits = ImageChops.invert(dark) if pits is None else ImageChops.subtract(pits, dark)
                if aid:
                    reach = (lowest, level)
                    strength = (AID_DEPTH + 0.05 * metal.curve) * (UPPER if i else 1.0)
                    here = tone_of(below, bits, tables.metal_shade if i == 0 else None, pits, paint, reach, strength)
                    tone = Image.composite(here, tone or Image.new("L", self.raster.size, 255), mask)
                surface = Image.composite(below.point(raised(paint.rise)), surface, mask)
            level += paint.rise
        return masks, surface, tone

    def _rolled(self, surface: Image.Image, nm: float) -> Image.Image:
        """Widen what is high, as a film does that follows it: like a ball of the film's thickness rolled over it."""
        for i in range(round(BALL * nm / 1000 * self.shrunk / self.pixel)):
            # Crosses and squares by turns make an octagon, which is round enough.
            surface = wider(surface) if i % 2 == 0 else squared(surface)
        return surface

    def _losses(self, surface: Image.Image, metals: list[Image.Image | None]) -> Image.Image:
        """Return the light that slopes send past the lens, 255 where all is lost."""
        unit = self.tables.unit * self.shrunk
        step = ImageChops.lighter(
            ImageChops.difference(ImageChops.offset(surface, 1, 0), ImageChops.offset(surface, -1, 0)),
            ImageChops.difference(ImageChops.offset(surface, 0, 1), ImageChops.offset(surface, 0, -1)),
        )
        # A dark line wider than the two pixels that see a step goes on in those beside them.
        steps = [step]
        for i in range(max(0, round((WIDEST * self.shrunk / self.pixel - 2) / 2))):
            steps.append(wider(steps[-1]) if i % 2 == 0 else squared(steps[-1]))
        lost = self._lost(steps, lambda away: loss_of_edge(unit, self.pixel, away))
        for metal, mask in zip(self.films.metals, metals, strict=True):
            if mask is not None:
                thick = metal.nm / 1000 * self.shrunk
                of_metal = self._lost(steps, partial(_of_film, unit, self.pixel, thick, self.objective))
                own = mask
                for i in range(len(steps)):  # a metal's own flank is metal
                    own = wider(own) if i % 2 == 0 else squared(own)
                lost = Image.composite(of_metal, lost, own)
        return lost

    @staticmethod
    def _lost(steps: list[Image.Image], table: Callable[[int], list[int]]) -> Image.Image:
        lost = steps[0].point(table(0))
        for away, step in enumerate(steps[1:], 1):
            beside = table(away)
            if not any(beside):
                break
            lost = ImageChops.lighter(lost, step.point(beside))
        return lost

    def _colours(self, bits: Image.Image, metals: list[Image.Image | None]) -> Image.Image:
        tables = self.tables
        if tables.ground is not None and self.shot.look.style is Style.REFLECTED:
            channels = seen_through(bits, tables.ground, self.raster, self.process, self.shot.seed)
        else:
            channels = [bits.point(table) for table in (tables.red, tables.green, tables.blue)]
        grain: Image.Image | None = None
        raster, unit = self.raster, self.process.grid_per_lambda
        for i, (mask, paint) in enumerate(zip(metals, tables.metals, strict=True)):
            if mask is None:
                continue
            if self.shot.view.pixels_per_lambda >= SEEN_FROM:
                left, top = raster.x0 / unit, -raster.y1 / unit
                grain = metal_surface(raster.size, left, top, raster.per_lambda, self.shot.seed + i)
            for channel, bright in zip(channels, paint.colour, strict=True):
                if grain is None:
                    channel.paste(bright, (0, 0, *channel.size), mask)
                else:
                    channel.paste(grain.point(_dimmed(bright / 255)), (0, 0), mask)
        self._bare_pads(channels)
        return Image.merge("RGB", channels)

    def _bare_pads(self, channels: list[Image.Image]) -> None:
        """Let metal in an opening be a little brighter than what lies under glass."""
        names = (name for name, layer in self.process.layers.items() if layer.role == "glass-opening")
        for name in names if self.shot.stage in (None, Stage.WHOLE) else ():
            mask = self._mask(name)
            if mask is not None:
                for channel in channels:
                    channel.paste(channel.point(_BARE), (0, 0), mask)

    def _small(self, image: Image.Image) -> Image.Image:
        image = self.raster.cropped(image)
        factor = factor_for(self.shot.view.pixels_per_lambda)
        return image.reduce(factor) if factor > 1 else image

    @property
    def blur(self) -> float:
        """Return the lens's blur in pixels of the view."""
        soft = self.shot.look.settings.get("blur", 1.0)
        if self.shrunk < 1 and self.shot.objective is None:
            return 0.0
        return soft * self.objective.blur * self.shot.view.pixels_per_lambda / um_per_lambda(self.process)

    def _through_lens(self, colour: Image.Image, light: Image.Image, tone: Image.Image | None) -> Image.Image:
        """Average colour and light over each pixel and what the lens spreads; light adds up before it is coded."""
        if tone is not None:
            colour = ImageChops.multiply(colour, Image.merge("RGB", (tone, tone, tone)))
        colour, light = self._small(colour), self._small(light)
        soft = _spread(self.blur)
        if self.blur > LEAST_BLUR / 2:
            light = light.filter(soft)
        if self.blur > LEAST_BLUR:
            colour = colour.filter(soft)
        seen = light.point(CODED)
        return ImageChops.multiply(colour, Image.merge("RGB", (seen, seen, seen)))

    def _in_dark(self, lost: Image.Image) -> Image.Image:
        """Return dark field: only what a slope sends aside comes into the lens."""
        shine = self._small(lost)
        if self.blur > LEAST_BLUR:
            shine = shine.filter(_spread(self.blur))
        return Image.merge("RGB", [shine.point(table) for table in _SHINE])

    def _from_below(self, bits: Image.Image, metals: list[Image.Image | None], lost: Image.Image) -> Image.Image:
        """Return light sent through the die: metal is black but for a glow at its edges, where light bends round."""
        tables = self.tables
        channels = [bits.point(table) for table in (tables.below or (tables.red, tables.green, tables.blue))]
        faint = ImageChops.invert(lost).point(_FAINT)
        channels = [ImageChops.multiply(channel, faint) for channel in channels]
        for mask in metals:
            if mask is not None:
                inner = ImageChops.invert(wider(ImageChops.invert(mask)))
                for i, channel in enumerate(channels):
                    glow = channel.point(_GLOW)
                    channel.paste(glow, (0, 0), mask)
                    channel.paste(METAL_FROM_BELOW[i], (0, 0, *channel.size), inner)
        image = self._small(Image.merge("RGB", channels))
        return image.filter(_spread(self.blur)) if self.blur > LEAST_BLUR else image

    def _focused(self, image: Image.Image, surface: Image.Image) -> Image.Image:
        """Blur what lies away from the plane of focus, which is where a patient eye puts it: high, for the wires."""
        if self.shrunk < 1 and self.shot.objective is None:
            return image
        unit = self.tables.unit / 1000
        laid = [
            paint.insulator + paint.rise
            for metal, paint in zip(self.films.metals, self.tables.metals, strict=True)
            if self.masks.get(metal.layer) is not None
        ]
        top = self.tables.highest + sum(laid)
        plane = self.tables.lowest + FOCUS * (top - self.tables.lowest)
        far = FOCUS * (top - self.tables.lowest) * unit
        scale = self.shot.view.pixels_per_lambda / um_per_lambda(self.process)
        blur = BLENDED * self.objective.defocus(far) * self.shot.look.settings.get("blur", 1.0) * scale
        if blur < 0.7:
            return image
        away = self._small(surface).point(_out_of_focus(round(plane), unit, self.objective.depth_of_field / 2, far))
        return Image.composite(image.filter(defocused(blur)), image, away)


def _of_film(unit: float, pixel: float, thick: float, objective: Objective, away: int) -> list[int]:
    return loss_of_film(unit, pixel, away, thick, objective)


FOCUS = 0.6
"""The plane of focus, as a part of the way from the lowest surface to the highest."""
BLENDED = 0.5
"""What is left of the blur out of focus: a patient eye turns the fine focus, and cameras blend pictures so taken."""
LEAST_BLUR = 0.4
"""Pixels: a smaller blur is less than the averaging over a pixel and not worth its time."""
_BARE = [min(255, round(1.05 * v)) for v in range(256)]
_GLASS_EDGE = [round(0.75 * v) for v in range(256)]
"""The share of its light that the edge of an opening in the glass loses (a guess: clear glass, a steep edge)."""
METAL_FROM_BELOW = (18, 18, 18)
CODED = [round(255 * (v / 255) ** (1 / 2.2)) for v in range(256)]
"""The share of light as a factor of coded brightness."""
_FAINT = [round(255 * (1 - 0.45 * (1 - v / 255))) for v in range(256)]
_GLOW = [round(0.3 * v) for v in range(256)]
_SHINE = [
    [round(floor + (top - floor) * min(1.0, DARK_GAIN * v / 255) ** (1 / 2.2)) for v in range(256)]
    for floor, top in ((9, 250), (10, 246), (13, 236))
]
"""Dark field's three channels: slopes shine a little warmer than the black between them."""


def _spread(deviation: float) -> ImageFilter.BoxBlur | ImageFilter.GaussianBlur:
    """Return the lens's blur; where it reaches but the next pixels, a few weights do, in a third of the time."""
    squared = deviation * deviation
    if squared < 0.6:
        return ImageFilter.BoxBlur(squared / (2 - 2 * squared))
    return defocused(deviation) if squared < 1.3 else ImageFilter.GaussianBlur(deviation)


def wider(image: Image.Image) -> Image.Image:
    """Spread what is bright by a pixel up, down, left and right."""
    spread = image
    for dx, dy in ((1, 0), (-1, 0), (0, 1), (0, -1)):
        spread = ImageChops.lighter(spread, ImageChops.offset(image, dx, dy))
    return spread


def squared(image: Image.Image) -> Image.Image:
    """Spread what is bright by a pixel to all eight neighbours."""
    for dx, dy in ((1, 0), (0, 1)):
        sides = ImageChops.lighter(ImageChops.offset(image, dx, dy), ImageChops.offset(image, -dx, -dy))
        image = ImageChops.lighter(image, sides)
    return image


@lru_cache(maxsize=64)
def raised(by: int) -> list[int]:
    return [min(255, v + by) for v in range(256)]


@lru_cache(maxsize=64)
def _dip(by: int) -> list[int]:
    return [min(255, round(v * by / 255)) for v in range(256)]


@lru_cache(maxsize=64)
def _dimmed(share: float) -> list[int]:
    return [round(v * share) for v in range(256)]


@lru_cache(maxsize=64)
def _out_of_focus(plane: int, unit: float, sharp: float, far: float) -> list[int]:
    """From 0 within the depth of field (µm) to 255 at the farthest height."""
    room = max(0.5, far - sharp)
    return [round(255 * min(1.0, max(0.0, (abs(v - plane) * unit - sharp) / room))) for v in range(256)]
