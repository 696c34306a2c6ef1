"""
The tracing aid: metal darkens with the depth at which it lies.

No die shows this. Where a picture is too small for rims (one half-pixel per λ) it is always on, and a learner may
switch it on below four; it is named wherever it is on, and an answer given with it counts as helped.
"""

from functools import lru_cache

from PIL import Image, ImageChops

from layoutdrill.picture.objectives import beyond_light
from layoutdrill.picture.palette import MetalPaint
from layoutdrill.process import Process

ALWAYS_BELOW = 2.0
"""Pixels per λ below which the aid is always on: there rims are thinner than a pixel."""
NEVER_FROM = 4.0
"""Pixels per λ from which it is always off: there every rim can be seen."""
NAME = "tracing aid: metal darker where it lies deeper; no die shows this"
UPPER = 0.4
"""The share of the aid left on an upper metal: planed below, it never lies as deep as the first one does."""


def aided(process: Process, pixels_per_lambda: float, *, wanted: bool) -> bool:
    """Tell whether the aid is on at a scale; a process finer than light is never seen without it."""
    if beyond_light(process) or pixels_per_lambda < ALWAYS_BELOW:
        return True
    return wanted and pixels_per_lambda < NEVER_FROM


@lru_cache(maxsize=64)
def depth_tone(low: int, high: int, depth: float, curve: float) -> list[int]:
    """Darken metal by a power of its depth, so that the deepest place stands out from the next."""
    return [round(255 * (1 - depth * (min(1.0, max(0.0, (high - v) / (high - low)))) ** curve)) for v in range(256)]


@lru_cache(maxsize=64)
def _faded(shade: tuple[int, ...], strength: float) -> list[int]:
    return [round(255 - (255 - v) * strength) for v in shade]


def dimmed(bits: Image.Image, shade: tuple[int, ...]) -> Image.Image:
    """Return how dark the places below make a metal that lies on them (255: not at all)."""
    return bits.point(_faded(shade, 0.8))


def tone_of(
    below: Image.Image,
    contacts: Image.Image | None,
    pits: Image.Image | None,
    paint: MetalPaint,
    reach: tuple[int, int],
    strength: float,
) -> Image.Image:
    """
    Return the aid's tone of a metal (255: untouched) over the heights `below` it.

    `contacts` darkens by the place below (see `dimmed`), `pits` where a hole is bored; `reach` is the lowest and the
    highest level that the metal can lie on.
    """
    low, high = reach
    tone = below.point(depth_tone(max(low, 0), max(high, low + 1), strength, paint.curve))
    if contacts is not None:
        tone = ImageChops.multiply(tone, contacts)
    return tone if pits is None else ImageChops.multiply(tone, pits)
