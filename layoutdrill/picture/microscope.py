"""
A layout as a microscope shows it: colours from film optics, dark lines from slopes, then the lens and the camera.

Bright field, dark field, light from below, or both lamps. Flat metal is equally bright at any height; what lies below
it shows by its slopes alone, unless the tracing aid is on (see `aid`).
"""

from PIL import Image, ImageChops

from layoutdrill.errors import LayoutdrillError
from layoutdrill.layout.model import Layout
from layoutdrill.picture.grain import with_grain, with_uneven_light
from layoutdrill.picture.ground import seen_through
from layoutdrill.picture.lens import Lens
from layoutdrill.picture.looks import FROM_BELOW, Style
from layoutdrill.picture.masks import Raster
from layoutdrill.picture.palette import palette
from layoutdrill.picture.shot import Shot, factor_for
from layoutdrill.picture.spread import dimmed
from layoutdrill.picture.stages import Stage, require
from layoutdrill.picture.surface import SEEN_FROM, metal_surface
from layoutdrill.picture.wear import with_wear
from layoutdrill.process import Process
from layoutdrill.process.films import load_films

_BARE = [min(255, round(1.05 * v)) for v in range(256)]
_GLASS_EDGE = [round(0.75 * v) for v in range(256)]
"""The share of its light that the edge of an opening in the glass loses (a guess: clear glass, a steep edge)."""


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
    image = with_wear(image, layout, process, shot, shining=shining, glass=glass)
    grain = _grain(view.pixels_per_lambda) * look.settings.get("grain", 1.0) * (1 + 0.6 * shot.wear)
    return with_grain(image, shot.seed, grain)


def _grain(pixels_per_lambda: float) -> float:
    """Return the standard deviation of the camera's grain (8-bit levels): small pictures are averages, so have less."""
    return 0.0 if pixels_per_lambda < 2 else min(1.8, 0.45 * pixels_per_lambda)


class _Exposed(Lens):
    """One exposure under way, in the light of its look."""

    def image(self) -> Image.Image:
        style = self.shot.look.style
        bits = self.bits()
        surface = bits.point(self.tables.height)
        metal, surface, tone = self.metals(bits, surface)
        lost = self.losses(surface, metal)
        opened = self.openings()
        if opened is not None:
            lost = ImageChops.lighter(lost, opened.point(_GLASS_EDGE))
        if style is Style.DARK_FIELD:
            return self.in_dark(lost)
        if style is Style.TRANSMITTED:
            return self.from_below(bits, metal, lost)
        colour = self._colours(bits, metal)
        light = ImageChops.invert(lost)
        if style is Style.BOTH:
            below = self.from_below(bits, metal, lost)
            return ImageChops.add(self.through_lens(colour, light, tone), below.point(dimmed(0.42) * 3), 1, -6)
        return self.focused(self.through_lens(colour, light, tone), surface)

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
                    channel.paste(grain.point(dimmed(bright / 255)), (0, 0), mask)
        self._bare_pads(channels)
        return Image.merge("RGB", channels)

    def _bare_pads(self, channels: list[Image.Image]) -> None:
        """Let metal in an opening be a little brighter than what lies under glass."""
        names = (name for name, layer in self.process.layers.items() if layer.role == "glass-opening")
        for name in names if self.shot.stage in (None, Stage.WHOLE) else ():
            mask = self.mask(name)
            if mask is not None:
                for channel in channels:
                    channel.paste(channel.point(_BARE), (0, 0), mask)
