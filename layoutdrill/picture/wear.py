"""Wear, from textbook (0) to attic (1): dirt on the die, and what the photograph of it went through."""

from PIL import Image

from layoutdrill.errors import LayoutdrillError, did_you_mean
from layoutdrill.layout.model import Layout
from layoutdrill.picture.camera import taken
from layoutdrill.picture.dirt import with_dirt
from layoutdrill.picture.view import View
from layoutdrill.process import Process

DEGREES = {"textbook": 0.0, "tidy": 0.25, "used": 0.5, "worn": 0.75, "attic": 1.0}
"""The degrees of wear by name."""


def wear_named(text: str) -> float:
    """Return a wear given by name or as a number from 0 to 1; raises LayoutdrillError for another."""
    if text in DEGREES:
        return DEGREES[text]
    try:
        number = float(text)
    except ValueError:
        raise LayoutdrillError(f'no wear "{text}"', todo=did_you_mean(text, DEGREES)) from None
    if not 0 <= number <= 1:
        raise LayoutdrillError(f"wear {text} is out of range", todo="give 0 (textbook) to 1 (attic)")
    return number


def with_wear(
    image: Image.Image, layout: Layout, process: Process, view: View, number: int, wear: float, *, shining: bool = False
) -> Image.Image:
    """Return the picture as the die of a number, worn from 0 to 1, has it; `shining` in dark field."""
    if wear <= 0:
        return image
    image = with_dirt(image, layout, process, view, number, wear, shining=shining)
    return taken(image, layout.box, process, view, number, wear)
