"""Spread and raise what is bright in an image: what slopes, films and rims are made of."""

from functools import lru_cache

from PIL import Image, ImageChops


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
def dimmed(share: float) -> list[int]:
    return [round(v * share) for v in range(256)]
