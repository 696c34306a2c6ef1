"""
Cut an image into terminal cells: each shows two half-rows with an upper or lower half-block.

Colours are first reduced to a small palette, so that neighbouring cells share a style and a frame stays small.
"""

from functools import lru_cache

from PIL import Image

from layoutdrill.picture.colour import RGB
from layoutdrill.value import value

UPPER, LOWER, FULL, EMPTY = "▀", "▄", "█", " "


@value
class Run:
    """Neighbouring cells of one row that share a foreground and a background colour."""

    text: str
    fg: RGB
    bg: RGB


Rows = tuple[tuple[Run, ...], ...]


def to_cells(image: Image.Image, colours: int = 64) -> Rows:
    """
    Return one tuple of runs for each pair of pixel rows; an odd last row is doubled.

    The last few results are kept. `colours` from 2 to 256.
    """
    rgb = image if image.mode == "RGB" else image.convert("RGB")
    return _cells(rgb.tobytes(), rgb.size, colours)


@lru_cache(maxsize=8)
def _cells(data: bytes, size: tuple[int, int], colours: int) -> Rows:
    image = Image.frombytes("RGB", size, data)
    indexed = reduced(image, colours)
    flat = indexed.getpalette() or []
    palette: list[RGB] = [(flat[i], flat[i + 1], flat[i + 2]) for i in range(0, len(flat), 3)]
    pixels = indexed.tobytes()
    width, height = size
    rows = []
    for y in range(0, height, 2):
        top = pixels[y * width : (y + 1) * width]
        low = pixels[(y + 1) * width : (y + 2) * width] if y + 1 < height else top
        rows.append(_row(top, low, palette))
    return tuple(rows)


def reduced(image: Image.Image, colours: int) -> Image.Image:
    """
    Return a palette image of at most `colours`.

    Coverage, not the median cut: the latter gives the few dark pixels of a contact no colour of their own.
    """
    return image.quantize(colours, method=Image.Quantize.MAXCOVERAGE, dither=Image.Dither.NONE)


def _row(top: bytes, low: bytes, palette: list[RGB]) -> tuple[Run, ...]:
    """A run may hold any cell made of its two colours, either way up, so runs are longer than equal cells."""
    runs: list[Run] = []
    text: list[str] = []
    fg = bg = -1
    for t, b in zip(top, low, strict=True):
        if t == b:
            if t == bg:
                text.append(EMPTY)
                continue
            if t == fg:
                text.append(FULL)
                continue
            if fg == bg and text:  # one colour so far: the new one may join as the foreground
                fg = t
                text.append(FULL)
                continue
        elif t == fg and b == bg:
            text.append(UPPER)
            continue
        elif t == bg and b == fg:
            text.append(LOWER)
            continue
        elif fg == bg and text:
            if b == bg:
                fg = t
                text.append(UPPER)
                continue
            if t == bg:
                fg = b
                text.append(LOWER)
                continue
        if text:
            runs.append(Run("".join(text), palette[fg], palette[bg]))
        text = [EMPTY if t == b else UPPER]
        fg, bg = t, b
    if text:
        runs.append(Run("".join(text), palette[fg], palette[bg]))
    return tuple(runs)
