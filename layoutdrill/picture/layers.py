"""The shapes of a layout by mask layer, flattened once; and the digest by which pictures of it are kept."""

from collections import OrderedDict
from hashlib import blake2b

from layoutdrill.geometry.rect import Rect
from layoutdrill.layout.model import Layout
from layoutdrill.layout.text import layout_text

_FLAT: "OrderedDict[int, tuple[Layout, Layout]]" = OrderedDict()
_DIGESTS: "OrderedDict[int, tuple[Layout, str]]" = OrderedDict()
_BOXES: "OrderedDict[int, tuple[Layout, Rect | None]]" = OrderedDict()
_KEPT = 8


def flat(layout: Layout) -> Layout:
    """Flatten, remembering the last few: a frame must not pay for it again."""
    if not layout.placements:
        return layout
    key = id(layout)
    known = _FLAT.get(key)
    if known is not None and known[0] is layout:
        return known[1]
    result = layout.flattened()
    _FLAT[key] = (layout, result)
    if len(_FLAT) > _KEPT:
        _FLAT.popitem(last=False)
    return result


def box_of(layout: Layout) -> Rect | None:
    """Return the layout's bounding box, remembering the last few."""
    key = id(layout)
    known = _BOXES.get(key)
    if known is None or known[0] is not layout:
        known = _BOXES[key] = (layout, flat(layout).box)
        if len(_BOXES) > 4 * _KEPT:
            _BOXES.popitem(last=False)
    return known[1]


def layout_digest(layout: Layout) -> str:
    """
    Return the digest of a layout's canonical text, by which whatever is made of it is kept.

    An address in memory would not do: once a layout has gone, another may have it. That of the last few is
    remembered, with the layouts themselves, so theirs cannot be taken.
    """
    key = id(layout)
    known = _DIGESTS.get(key)
    if known is None or known[0] is not layout:
        digest = blake2b(layout_text(flat(layout)).encode(), digest_size=12).hexdigest()
        known = _DIGESTS[key] = (layout, digest)
        if len(_DIGESTS) > 4 * _KEPT:
            _DIGESTS.popitem(last=False)
    return known[1]
