"""Read a question's key: plain JSON, as it comes back from a record years later."""

from collections.abc import Mapping

from layoutdrill.errors import LayoutdrillError
from layoutdrill.geometry.rect import Rect

Key = Mapping[str, object]


def texts(key: Key, field: str) -> tuple[str, ...]:
    """Return a list of texts, () where the key has none."""
    found = key.get(field, ())
    return tuple(str(text) for text in found) if isinstance(found, (list, tuple)) else ()


def number(key: Key, field: str) -> int:
    found = key.get(field)
    if isinstance(found, bool) or not isinstance(found, int):
        raise LayoutdrillError(f'the question\'s key has no number "{field}"', todo="the record is damaged")
    return found


def rects(key: Key, field: str) -> tuple[Rect, ...]:
    """Return a list of rectangles in grid units."""
    found = key.get(field, ())
    if not isinstance(found, (list, tuple)):
        raise LayoutdrillError(f'the question\'s key has no rectangles "{field}"', todo="the record is damaged")
    return tuple(Rect(*(int(part) for part in one)) for one in found)


def plain(rects_: tuple[Rect, ...]) -> list[list[int]]:
    """Write rectangles as plain JSON."""
    return [list(rect) for rect in rects_]
