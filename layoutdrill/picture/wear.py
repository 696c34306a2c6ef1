"""Wear, from textbook (0) to attic (1): dirt on the die, and what the photograph of it went through."""

from PIL import Image

from layoutdrill.layout.model import Layout
from layoutdrill.picture.camera import taken
from layoutdrill.picture.dirt import with_dirt
from layoutdrill.picture.layers import box_of
from layoutdrill.picture.shot import Shot
from layoutdrill.process import Process


def with_wear(
    image: Image.Image,
    layout: Layout,
    process: Process,
    shot: Shot,
    *,
    shining: bool = False,
    glass: bool = True,
) -> Image.Image:
    """Return the picture of a die worn from 0 to 1: `shining` in dark field, under `glass` or not."""
    if shot.wear <= 0:
        return image
    image = with_dirt(image, layout, process, shot, shining=shining, glass=glass)
    return taken(image, box_of(layout), process, shot.view, shot.seed, shot.wear)
