"""What the camera adds: grain from a hash, so that a seed gives the same grain on every machine; and uneven light."""

from functools import lru_cache
from hashlib import shake_256

from PIL import Image, ImageChops, ImageFilter, ImageStat

TILE = 256


@lru_cache(maxsize=8)
def _tile(seed: int, spread: float) -> Image.Image:
    """Return a square of grey noise about 128 with the standard deviation `spread`, slightly soft."""
    data = shake_256(f"grain {seed}".encode()).digest(TILE * TILE)
    image = Image.frombytes("L", (TILE, TILE), data).filter(ImageFilter.GaussianBlur(0.5))
    stat = ImageStat.Stat(image)
    mean, deviation = stat.mean[0], stat.stddev[0]
    return image.point([round(min(255, max(0, 128 + (v - mean) * spread / deviation))) for v in range(256)])


@lru_cache(maxsize=8)
def _sheet(size: tuple[int, int], seed: int, spread: float) -> Image.Image:
    """Cover the size with the tile in its eight orientations, so that no repeat is seen."""
    tile = _tile(seed, spread)
    turns = [
        None,
        Image.Transpose.FLIP_LEFT_RIGHT,
        Image.Transpose.ROTATE_180,
        Image.Transpose.TRANSPOSE,
        Image.Transpose.ROTATE_90,
        Image.Transpose.TRANSVERSE,
        Image.Transpose.ROTATE_270,
        Image.Transpose.FLIP_TOP_BOTTOM,
    ]
    order = shake_256(f"turns {seed}".encode()).digest(64)
    sheet = Image.new("L", size)
    at = 0
    for y in range(0, size[1], TILE):
        for x in range(0, size[0], TILE):
            turn = turns[order[at % 64] % 8]
            sheet.paste(tile if turn is None else tile.transpose(turn), (x, y))
            at += 1
    return Image.merge("RGB", (sheet, sheet, sheet))


def with_grain(image: Image.Image, seed: int, spread: float) -> Image.Image:
    """Add grain of a standard deviation (8-bit levels); 0 leaves the image as it is."""
    if spread <= 0:
        return image
    return ImageChops.add(image, _sheet(image.size, seed % 16, round(spread, 1)), 1, -128)


@lru_cache(maxsize=8)
def _light(size: tuple[int, int], lot: int, fall: float) -> Image.Image:
    """Return the share of light (255: all) over the field: brightest a little off the middle."""
    small = 48
    dx, dy = (lot % 5 - 2) / 10, (lot // 5 % 5 - 2) / 10
    values = bytearray()
    for y in range(small):
        for x in range(small):
            u, v = 2 * x / (small - 1) - 1 - dx, 2 * y / (small - 1) - 1 - dy
            values.append(round(255 * (1 - fall * min(1.0, (u * u + v * v) / 2))))
    image = Image.frombytes("L", (small, small), bytes(values)).resize(size, Image.Resampling.BICUBIC)
    return Image.merge("RGB", (image, image, image))


def with_uneven_light(image: Image.Image, seed: int, fall: float) -> Image.Image:
    """Darken towards the corners by at most `fall` (0 to 1)."""
    if fall <= 0:
        return image
    return ImageChops.multiply(image, _light(image.size, seed % 25, round(fall, 3)))
