"""
The strokes of an overlay: each has a bright and a dark half, so that it shows on any ground and in grey.

`fine` pictures have room for wide lines; on others (half-blocks) a line is one pixel, bright or dark by its ground.
"""

from collections.abc import Sequence
from functools import lru_cache

from PIL import Image, ImageChops, ImageDraw, ImageFilter, ImageFont

from layoutdrill.picture.colour import RGB
from layoutdrill.picture.looks import Hatch
from layoutdrill.picture.painted import hatch_tile

BRIGHT: RGB = (255, 244, 120)
DARK: RGB = (36, 0, 60)
WHITE: RGB = (255, 255, 255)
STROKES = (Hatch.DOTS, Hatch.RISING, Hatch.LEVEL, Hatch.UPRIGHT, Hatch.FALLING, Hatch.CROSSED)
"""The first two are those of the low and the high supply, wherever they are shown."""
NET_COLOURS: tuple[RGB, ...] = (
    (255, 236, 110),
    (140, 235, 255),
    (255, 175, 235),
    (180, 255, 160),
    (255, 200, 140),
    (225, 215, 255),
    (255, 255, 255),
)


def ink_net(image: Image.Image, area: Image.Image, index: int, *, fine: bool) -> None:
    colour = NET_COLOURS[index % len(NET_COLOURS)]
    box = (0, 0, *image.size)
    if not fine:
        stroke = hatch_tile(STROKES[index % len(STROKES)], image.size, 3, 1)
        image.paste(colour, box, ImageChops.darker(area, stroke))
        inner = ImageChops.subtract(area, area.filter(ImageFilter.MinFilter(3)))
        image.paste(DARK, box, ImageChops.darker(inner, ImageChops.invert(stroke)))
        return
    pattern = hatch_tile(STROKES[index % len(STROKES)], image.size, 9, 2)
    shadow = hatch_tile(STROKES[index % len(STROKES)], image.size, 9, 4)
    image.paste(DARK, box, ImageChops.darker(area, shadow))
    image.paste(colour, box, ImageChops.darker(area, pattern))
    ring = ImageChops.subtract(area.filter(ImageFilter.MaxFilter(5)), area)
    image.paste(DARK, box, ring)
    image.paste(colour, box, ImageChops.subtract(area, area.filter(ImageFilter.MinFilter(3))))


_ROOM = 8
"""Pixels round an area that its outline may reach into, and what stands out from the ground is told by."""


def ink_outline(image: Image.Image, area: Image.Image, *, fine: bool, dashed: bool = False) -> None:
    """Ring an area: bright within dark where there is room, else whichever stands out from the ground."""
    bounds = area.getbbox()
    if bounds is None:
        return
    left, top, right, bottom = bounds
    near_by = (
        max(0, left - _ROOM),
        max(0, top - _ROOM),
        min(image.width, right + _ROOM),
        min(image.height, bottom + _ROOM),
    )
    part = image.crop(near_by)
    _ink_outline(part, area.crop(near_by), near_by[:2], image.size, fine=fine, dashed=dashed)
    image.paste(part, near_by[:2])


def _ink_outline(
    image: Image.Image, area: Image.Image, at: tuple[int, int], whole: tuple[int, int], *, fine: bool, dashed: bool
) -> None:
    """Ring an area in the part of a `whole` picture that begins `at` a place; filters cost by the pixel."""
    box = (0, 0, *image.size)
    there = (*at, at[0] + image.width, at[1] + image.height)
    if fine:
        near = area.filter(ImageFilter.MaxFilter(5))
        ring = ImageChops.subtract(near, area)
        halo = ImageChops.subtract(area.filter(ImageFilter.MaxFilter(9)), area.filter(ImageFilter.MinFilter(3)))
        if dashed:
            dashes = hatch_tile(Hatch.RISING, whole, 14, 8).crop(there)
            ring, halo = ImageChops.darker(ring, dashes), ImageChops.darker(halo, dashes)
        image.paste(DARK, box, halo)
        image.paste(BRIGHT, box, ring)
        return
    ring = ImageChops.subtract(area.filter(ImageFilter.MaxFilter(3)), area)
    if dashed:
        ring = ImageChops.darker(ring, hatch_tile(Hatch.RISING, whole, 4, 2).crop(there))
    _contrasting(image, ring)


def _contrasting(image: Image.Image, where: Image.Image) -> None:
    ground = image.convert("L").filter(ImageFilter.BoxBlur(1)).point(_OVER)
    image.paste(DARK, (0, 0, *image.size), ImageChops.darker(where, ground))
    image.paste(BRIGHT, (0, 0, *image.size), ImageChops.subtract(where, ground))


_OVER = [0] * 120 + [255] * 136


def ring_radius(per_lambda: float) -> float:
    """Return the radius in pixels of the ring round a place: wide enough that what it rings is seen within."""
    return max(3.0, 2.2 * per_lambda)


def ink_ring(image: Image.Image, at: tuple[float, float], per_lambda: float, *, fine: bool) -> None:
    """Ring a place in white within dark, both whole lines: no outline looks so, whatever lies below."""
    radius = ring_radius(per_lambda)
    draw = ImageDraw.Draw(image)
    width = 3 if fine else max(1, round(per_lambda / 4))

    def ellipse(reach: float, colour: RGB, thick: int) -> None:
        draw.ellipse((at[0] - reach, at[1] - reach, at[0] + reach, at[1] + reach), outline=colour, width=thick)

    ellipse(radius + (2 if fine else 1), DARK, width + (4 if fine else 1))
    ellipse(radius, WHITE, width)


def ink_leader(
    image: Image.Image, at: tuple[float, float], letter: tuple[float, float], radius: float, *, fine: bool
) -> None:
    """Lead from a ring to its letter."""
    across, down = letter[0] - at[0], letter[1] - at[1]
    far = max(1.0, (across**2 + down**2) ** 0.5)
    start = (at[0] + across * radius / far, at[1] + down * radius / far)
    draw = ImageDraw.Draw(image)
    if fine:
        draw.line((*start, *letter), fill=DARK, width=6)
    draw.line((*start, *letter), fill=WHITE, width=2 if fine else 1)


def ink_pointer(draw: ImageDraw.ImageDraw, at: tuple[float, float], letter: tuple[float, float]) -> None:
    """Ring the very place and lead from it to its letter."""
    x, y = at
    side, up = (1 if letter[0] > x else -1), (1 if letter[1] > y else -1)
    for colour, width in ((DARK, 4), (BRIGHT, 2)):
        draw.line((x + 3 * side, y + 3 * up, *letter), fill=colour, width=width)
    draw.ellipse((x - 5, y - 5, x + 5, y + 5), outline=DARK, width=4)
    draw.ellipse((x - 4, y - 4, x + 4, y + 4), outline=BRIGHT, width=2)


def ink_crosshair(image: Image.Image, at: tuple[float, float]) -> None:
    """Two lines that leave the middle free, so that what is pointed at stays visible."""
    column, row = int(at[0]), int(at[1])
    where = Image.new("L", image.size)
    draw = ImageDraw.Draw(where)
    width, height = image.size
    gap = 2
    for x0, x1 in ((0, column - gap), (column + gap, width - 1)):
        if x0 <= x1:
            draw.line((x0, row, x1, row), fill=255)
    for y0, y1 in ((0, row - gap), (row + gap, height - 1)):
        if y0 <= y1:
            draw.line((column, y0, column, y1), fill=255)
    _contrasting(image, where)


def ink_cross(image: Image.Image, at: tuple[float, float], per_lambda: float, *, fine: bool) -> None:
    """Cross a place slantwise, bright within dark, its middle left free."""
    draw = ImageDraw.Draw(image)
    far, near = max(3.0, 1.2 * per_lambda), 1.0
    for colour, width in ((DARK, 6 if fine else 2), (WHITE, 2 if fine else 1)):
        for across, down in ((1, 1), (1, -1), (-1, 1), (-1, -1)):
            start = (at[0] + across * near, at[1] + down * near)
            draw.line((*start, at[0] + across * far, at[1] + down * far), fill=colour, width=width)


def ink_scale_bar(image: Image.Image, length: int, *, fine: bool) -> None:
    height = image.size[1]
    draw = ImageDraw.Draw(image)
    if fine:
        draw.rectangle((8, height - 15, 11 + length, height - 7), fill=DARK)
        draw.rectangle((10, height - 13, 9 + length, height - 9), fill=(255, 255, 255))
    else:
        draw.rectangle((1, height - 2, length, height - 1), fill=DARK)
        draw.rectangle((1, height - 2, length, height - 2), fill=(255, 255, 255))


@lru_cache(maxsize=16)
def _font(size: int) -> "ImageFont.FreeTypeFont | ImageFont.ImageFont":
    return ImageFont.load_default(size)


def ink_text(
    draw: ImageDraw.ImageDraw, room: Sequence[int], at: tuple[float, float], text: str, size: int, *, strong: bool
) -> None:
    font = _font(size)
    micro = text.find("µ")
    text = text.replace("µ", "u")  # the built-in font has no µ: a u gets its tail below
    left, top, right, low = draw.textbbox((0, 0), text, font=font)
    width, height = right - left, low - top
    x = max(2.0, min(room[0] - width - 4.0, at[0] - width / 2))
    y = max(2.0, min(room[1] - height - 4.0, at[1] - height / 2))
    pad = 2
    box = (x - pad - 1, y - pad, x + width + pad, y + height + pad)
    draw.rectangle(box, fill=BRIGHT if strong else DARK, outline=DARK if strong else BRIGHT)
    ink = DARK if strong else BRIGHT
    draw.text((x - left, y - top), text, fill=ink, font=font)
    if micro >= 0:
        at_x = x - left + draw.textlength(text[:micro], font=font) + max(1, size // 12)
        draw.line((at_x, y + height / 2, at_x, y + height + 1), fill=ink, width=max(1, size // 12))
