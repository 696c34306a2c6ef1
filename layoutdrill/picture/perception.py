"""
How different two colours look, to whom.

CIELAB (CIE 15), ΔE of 1976; colour-blind sight after H. Brettel, F. Viénot and J. D. Mollon (1997) as simplified by
F. Viénot, H. Brettel and J. D. Mollon, Color Res. Appl. 24 (1999) 243: two matrices in linear RGB.
"""

import math
from functools import lru_cache

from PIL import Image

from layoutdrill.picture.colour import RGB

Lab = tuple[float, float, float]

_PROTAN = ((0.11238, 0.88762, 0.0), (0.11238, 0.88762, 0.0), (0.00401, -0.00401, 1.0))
_DEUTAN = ((0.29275, 0.70725, 0.0), (0.29275, 0.70725, 0.0), (-0.02234, 0.02234, 1.0))
SIGHTS = ("colour", "grey", "protan", "deutan", "256")


def linear(byte: float) -> float:
    value = byte / 255
    return value / 12.92 if value <= 0.04045 else float(((value + 0.055) / 1.055) ** 2.4)


def lab(colour: RGB) -> Lab:
    r, g, b = (linear(v) for v in colour)
    x = (0.4124564 * r + 0.3575761 * g + 0.1804375 * b) / 0.95047
    y = 0.2126729 * r + 0.7151522 * g + 0.0721750 * b
    z = (0.0193339 * r + 0.1191920 * g + 0.9503041 * b) / 1.08883
    fx, fy, fz = (v ** (1 / 3) if v > 216 / 24389 else (24389 / 27 * v + 16) / 116 for v in (x, y, z))
    return 116 * fy - 16, 500 * (fx - fy), 200 * (fy - fz)


def lightness(colour: RGB) -> float:
    return lab(colour)[0]


def difference(one: RGB, other: RGB) -> float:
    """Return ΔE*ab (1976)."""
    return math.dist(lab(one), lab(other))


@lru_cache(maxsize=4096)
def as_seen(colour: RGB, sight: str) -> RGB:
    """Return the colour as one of SIGHTS sees it: all of it, in grey, protan, deutan, or on 256 colours."""
    if sight == "grey":
        y = sum(w * linear(v) for w, v in zip((0.2126, 0.7152, 0.0722), colour, strict=True))
        return (_byte(y),) * 3
    if sight in ("protan", "deutan"):
        channels = [linear(v) for v in colour]
        rows = _PROTAN if sight == "protan" else _DEUTAN
        r, g, b = (_byte(sum(w * c for w, c in zip(row, channels, strict=True))) for row in rows)
        return r, g, b
    if sight == "256":
        return nearest_of_256(colour)
    return colour


def _byte(value: float) -> int:
    value = min(max(value, 0.0), 1.0)
    return round(255 * (12.92 * value if value <= 0.0031308 else 1.055 * value ** (1 / 2.4) - 0.055))


_CUBE = (0, 95, 135, 175, 215, 255)
_GREYS = tuple(range(8, 239, 10))


def nearest_of_256(colour: RGB) -> RGB:
    """Return the nearest of the terminal's 6 × 6 × 6 cube and 24 greys (the usual 256 colours)."""
    cube = tuple(min(_CUBE, key=lambda level: abs(level - v)) for v in colour)
    grey = min(_GREYS, key=lambda level: abs(level - sum(colour) / 3))
    grey_miss = sum((grey - v) ** 2 for v in colour)
    cube_miss = sum((c - v) ** 2 for c, v in zip(cube, colour, strict=True))
    return (grey, grey, grey) if grey_miss < cube_miss else (cube[0], cube[1], cube[2])


def seen(image: Image.Image, sight: str) -> Image.Image:
    """Return the picture as one of SIGHTS sees it."""
    if sight == "colour":
        return image
    pixels = image.tobytes()
    kept = {}
    out = bytearray(len(pixels))
    for i in range(0, len(pixels), 3):
        key = pixels[i : i + 3]
        if key not in kept:
            kept[key] = bytes(as_seen((key[0], key[1], key[2]), sight))
        out[i : i + 3] = kept[key]
    return Image.frombytes("RGB", image.size, bytes(out))
