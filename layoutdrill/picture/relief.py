"""What lies in the frame and how high: masks, the surface that the metals follow, the light lost on its slopes."""

from collections.abc import Callable
from functools import lru_cache, partial

from PIL import Image, ImageChops

from layoutdrill.geometry.rect import Rect
from layoutdrill.layout.model import Layout
from layoutdrill.picture.aid import UPPER, dimmed, tone_of
from layoutdrill.picture.layers import flat
from layoutdrill.picture.looks import Style
from layoutdrill.picture.masks import Raster
from layoutdrill.picture.objectives import Objective, beyond_light, objective_for, um_per_lambda
from layoutdrill.picture.palette import Palette
from layoutdrill.picture.shot import Shot
from layoutdrill.picture.slopes import loss_of_edge, loss_of_film
from layoutdrill.picture.spread import raised, squared, wider
from layoutdrill.picture.stages import Stage
from layoutdrill.process import Process
from layoutdrill.process.films import Films

BALL = 0.55
"""Where the dark line of a conformal film lies: this part of its thickness beyond the step below it."""
WIDEST = 1.0
"""µm: a wider dark line is not drawn."""
AID_DEPTH = 0.4
"""The share of its brightness that metal in the deepest place loses with the tracing aid on, before its curve."""


class Relief:
    """The frame of one exposure, and the heights in it."""

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

    def mask(self, name: str) -> Image.Image | None:
        if name not in self.masks:
            rects: tuple[Rect, ...] = () if name in self.shot.hidden else self.shapes.get(name, ())
            self.masks[name] = self.raster.layer(name, rects) if rects else None
        return self.masks[name]

    def openings(self) -> Image.Image | None:
        """Return the rims of the openings in the glass, where glass lies; None where there is none in the frame."""
        if self.shot.stage not in (None, Stage.WHOLE):
            return None
        names = (name for name, layer in self.process.layers.items() if layer.role == "glass-opening")
        drawn = [mask for name in names if (mask := self.mask(name)) is not None]
        if not drawn:
            return None
        inside = ImageChops.invert(squared(ImageChops.invert(drawn[0])))
        return ImageChops.subtract(squared(drawn[0]), inside)

    def bits(self) -> Image.Image:
        """Return one image whose bits say which mask layers lie at each pixel."""
        total: Image.Image | None = None
        for i, name in enumerate(self.tables.layers):
            rects: tuple[Rect, ...] = () if name in self.shot.hidden else self.shapes.get(name, ())
            drawn = self.raster.layer(name, rects, 1 << i) if rects else None
            if drawn is not None:
                total = drawn if total is None else ImageChops.add(total, drawn)
        return total if total is not None else Image.new("L", self.raster.size)

    def metals(
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
            mask = self.mask(metal.layer)
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
                    hole = self.mask(name)
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
                    contacts = None if i else dimmed(bits, tables.metal_shade)
                    here = tone_of(below, contacts, pits, paint, reach, strength)
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

    def losses(self, surface: Image.Image, metals: list[Image.Image | None]) -> Image.Image:
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


def _of_film(unit: float, pixel: float, thick: float, objective: Objective, away: int) -> list[int]:
    return loss_of_film(unit, pixel, away, thick, objective)


@lru_cache(maxsize=64)
def _dip(by: int) -> list[int]:
    return [min(255, round(v * by / 255)) for v in range(256)]
