"""What comes through the lens of light and colour: blur, focus, dark field, light from below."""

from functools import lru_cache

from PIL import Image, ImageChops, ImageFilter

from layoutdrill.picture.camera import defocused
from layoutdrill.picture.objectives import um_per_lambda
from layoutdrill.picture.relief import Relief
from layoutdrill.picture.shot import factor_for
from layoutdrill.picture.spread import wider

DARK_GAIN = 1.5
"""In dark field the lamp is stronger, for only slopes send light into the lens."""
FOCUS = 0.6
"""The plane of focus, as a part of the way from the lowest surface to the highest."""
BLENDED = 0.5
"""What is left of the blur out of focus: a patient eye turns the fine focus, and cameras blend pictures so taken."""
LEAST_BLUR = 0.4
"""Pixels: a smaller blur is less than the averaging over a pixel and not worth its time."""
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


class Lens(Relief):
    """The frame of one exposure, seen through its objective."""

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

    def through_lens(self, colour: Image.Image, light: Image.Image, tone: Image.Image | None) -> Image.Image:
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

    def in_dark(self, lost: Image.Image) -> Image.Image:
        """Return dark field: only what a slope sends aside comes into the lens."""
        shine = self._small(lost)
        if self.blur > LEAST_BLUR:
            shine = shine.filter(_spread(self.blur))
        return Image.merge("RGB", [shine.point(table) for table in _SHINE])

    def from_below(self, bits: Image.Image, metals: list[Image.Image | None], lost: Image.Image) -> Image.Image:
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

    def focused(self, image: Image.Image, surface: Image.Image) -> Image.Image:
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


def _spread(deviation: float) -> ImageFilter.BoxBlur | ImageFilter.GaussianBlur:
    """Return the lens's blur; where it reaches but the next pixels, a few weights do, in a third of the time."""
    squared = deviation * deviation
    if squared < 0.6:
        return ImageFilter.BoxBlur(squared / (2 - 2 * squared))
    return defocused(deviation) if squared < 1.3 else ImageFilter.GaussianBlur(deviation)


@lru_cache(maxsize=64)
def _out_of_focus(plane: int, unit: float, sharp: float, far: float) -> list[int]:
    """From 0 within the depth of field (µm) to 255 at the farthest height."""
    room = max(0.5, far - sharp)
    return [round(255 * min(1.0, max(0.0, (abs(v - plane) * unit - sharp) / room))) for v in range(256)]
