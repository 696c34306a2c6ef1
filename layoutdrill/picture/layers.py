"""The shapes of a layout by mask layer, flattened once; and the digest by which pictures of it are kept."""

from functools import lru_cache
from hashlib import blake2b

from layoutdrill.geometry.rect import Rect
from layoutdrill.layout.model import Layout
from layoutdrill.layout.text import layout_text
from layoutdrill.value import Itself

_KEPT = 8


def flat(layout: Layout) -> Layout:
    """Flatten, remembering the last few: a frame must not pay for it again."""
    return _flat(Itself(layout)) if layout.placements else layout


@lru_cache(_KEPT)
def _flat(drawn: Itself[Layout]) -> Layout:
    return drawn.thing.flattened()


def box_of(layout: Layout) -> Rect | None:
    """Return the layout's bounding box, remembering the last few."""
    return _box(Itself(layout))


@lru_cache(4 * _KEPT)
def _box(drawn: Itself[Layout]) -> Rect | None:
    return flat(drawn.thing).box


def layout_digest(layout: Layout) -> str:
    """Return the digest of a layout's canonical text, by which whatever is made of it is kept."""
    return _digest(Itself(layout))


@lru_cache(4 * _KEPT)
def _digest(drawn: Itself[Layout]) -> str:
    return blake2b(layout_text(flat(drawn.thing)).encode(), digest_size=12).hexdigest()
