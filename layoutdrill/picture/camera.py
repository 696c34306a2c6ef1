"""
What taking, stitching and keeping adds to a photograph: seams, a tilted die, a cast, flare, compression.

Figures from memory (common practice): a seam jumps by 0.5 to 2 pixels and 1 to 4 % in tone, corners lose 5 to 20 % of
their light, a tilt of a tenth of a degree puts the edge of a field out of focus.
"""

import io
from functools import lru_cache

from PIL import Image, ImageChops, ImageFilter

from layoutdrill.dice import Dice
from layoutdrill.geometry.rect import Rect
from layoutdrill.picture.view import View
from layoutdrill.process import Process

SEAM_EVERY = 70
"""λ from one seam to the next, on the mean."""
SEAMS_FROM = 0.3
COMPRESSED_FROM = 6.0
"""Pixels per λ from which blocks of compression are not averaged away."""


def taken(image: Image.Image, box: Rect | None, process: Process, view: View, number: int, wear: float) -> Image.Image:
    """Return the picture as a worn photograph has it; `box` is the die's."""
    dice = Dice.from_text(f"camera {number}")
    warm, green, veil, side = (dice.fraction() for _ in range(4))
    image = _tilted(image, box, process, view, wear, side)
    if wear > SEAMS_FROM:
        image = _stitched(image, process, view, number, wear)
    image = _cast(image, round(wear * (warm - 0.4), 2), round(wear * (green - 0.5), 2), round(0.11 * wear * veil, 3))
    if view.pixels_per_lambda >= COMPRESSED_FROM and wear > SEAMS_FROM:
        image = _compressed(image, round(80 - 45 * wear))
    return image


def _tilted(
    image: Image.Image, box: Rect | None, process: Process, view: View, wear: float, side: float
) -> Image.Image:
    """Let focus fall off towards one side of the die."""
    blur = 0.16 * wear * view.pixels_per_lambda
    if box is None or blur < 0.3:
        return image
    left, _ = view.to_pixel(process, box.x0, 0)
    right, _ = view.to_pixel(process, box.x1, 0)
    if side < 0.5:
        left, right = right, left
    ramp = _ramp(image.size, round(left), round(right))
    return Image.composite(image.filter(defocused(blur)), image, ramp)


def defocused(deviation: float) -> ImageFilter.BoxBlur:
    """Return the blur of a spot out of focus, which is evenly lit to its edge, by its standard deviation in pixels."""
    return ImageFilter.BoxBlur(max(0.0, ((12 * deviation * deviation + 1) ** 0.5 - 1) / 2))


@lru_cache(maxsize=8)
def _ramp(size: tuple[int, int], sharp: int, soft: int) -> Image.Image:
    """Return a mask that goes from 0 at one column, and well past the middle, to 255 at another."""
    reach = (soft - sharp) or 1
    row = bytes(round(255 * min(1.0, max(0.0, (x - sharp) / reach * 1.5 - 0.5))) for x in range(size[0]))
    return Image.frombytes("L", (size[0], 1), row).resize(size)


def _stitched(image: Image.Image, process: Process, view: View, number: int, wear: float) -> Image.Image:
    """Shift and tone what lies beyond each seam; seams are bound to the die."""
    unit, scale = process.grid_per_lambda, view.pixels_per_lambda
    every = SEAM_EVERY * unit
    for i in range(view.region.x0 // every - 1, view.region.x1 // every + 2):
        dice = Dice.from_text(f"seam {number} {i}")
        at = (i + 0.2 + 0.6 * dice.fraction()) * every
        jump = (dice.fraction() - 0.5) * 0.7 * wear * scale
        tone = 1 + (dice.fraction() - 0.5) * 0.08 * wear
        column = round(view.to_pixel(process, at, 0)[0])
        if not 0 < column < image.width:
            continue
        beyond = image.crop((column, 0, image.width, image.height))
        beyond = ImageChops.offset(beyond, 0, round(jump)).point(_toned(round(tone, 3)) * 3)
        image.paste(beyond, (column, 0))
    return image


@lru_cache(maxsize=64)
def _toned(share: float) -> list[int]:
    return [min(255, round(v * share)) for v in range(256)]


@lru_cache(maxsize=64)
def _cast_tables(warm: float, green: float, veil: float) -> list[int]:
    tables: list[int] = []
    for share in (1 + 0.10 * warm, 1 + 0.06 * green, 1 - 0.14 * warm):
        tables += [min(255, round((v * min(1.0, share)) * (1 - veil) + 235 * veil)) for v in range(256)]
    return tables


def _cast(image: Image.Image, warm: float, green: float, veil: float) -> Image.Image:
    return image.point(_cast_tables(warm, green, veil))


def _compressed(image: Image.Image, quality: int) -> Image.Image:
    buffer = io.BytesIO()
    image.save(buffer, "JPEG", quality=quality)
    buffer.seek(0)
    return Image.open(buffer).convert("RGB")
