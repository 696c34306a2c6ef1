"""The axis-parallel rectangle, the one shape every other room works with."""

from collections.abc import Iterable, Sequence
from typing import NamedTuple

from layoutdrill.units import GridUnits


class Rect(NamedTuple):
    """A rectangle in grid units, `x0 < x1` and `y0 < y1`; y grows upwards."""

    x0: GridUnits
    y0: GridUnits
    x1: GridUnits
    y1: GridUnits

    @property
    def width(self) -> GridUnits:
        return self.x1 - self.x0

    @property
    def height(self) -> GridUnits:
        return self.y1 - self.y0

    @property
    def area(self) -> int:
        return (self.x1 - self.x0) * (self.y1 - self.y0)

    @property
    def centre(self) -> tuple[int, int]:
        return (self.x0 + self.x1) // 2, (self.y0 + self.y1) // 2

    def moved(self, dx: GridUnits, dy: GridUnits) -> "Rect":
        return Rect(self.x0 + dx, self.y0 + dy, self.x1 + dx, self.y1 + dy)

    def grown(self, by: GridUnits) -> "Rect":
        return Rect(self.x0 - by, self.y0 - by, self.x1 + by, self.y1 + by)

    def contains(self, x: GridUnits, y: GridUnits) -> bool:
        """Tell whether the point lies inside or on the edge."""
        return self.x0 <= x <= self.x1 and self.y0 <= y <= self.y1

    def covers(self, other: "Rect") -> bool:
        return self.x0 <= other.x0 and self.y0 <= other.y0 and self.x1 >= other.x1 and self.y1 >= other.y1

    def overlaps(self, other: "Rect") -> bool:
        """Tell whether the two share area."""
        return self.x0 < other.x1 and other.x0 < self.x1 and self.y0 < other.y1 and other.y0 < self.y1

    def touches(self, other: "Rect") -> bool:
        """Tell whether the two share area or a stretch of edge; a shared corner does not count."""
        w = min(self.x1, other.x1) - max(self.x0, other.x0)
        h = min(self.y1, other.y1) - max(self.y0, other.y0)
        return (w > 0 and h >= 0) or (w >= 0 and h > 0)

    def common(self, other: "Rect") -> "Rect | None":
        """Return the shared area, or None."""
        x0, y0 = max(self.x0, other.x0), max(self.y0, other.y0)
        x1, y1 = min(self.x1, other.x1), min(self.y1, other.y1)
        return Rect(x0, y0, x1, y1) if x0 < x1 and y0 < y1 else None


def bounding_box(rects: Iterable[Rect]) -> Rect | None:
    """Return the smallest rectangle round all of them, or None for none."""
    boxes = list(rects)
    return box_round(boxes) if boxes else None


def box_round(boxes: Sequence[Sequence[int]]) -> Rect:
    """Return the smallest rectangle round boxes (x0, y0, x1, y1, …), of which there must be one at least."""
    return Rect(min(b[0] for b in boxes), min(b[1] for b in boxes), max(b[2] for b in boxes), max(b[3] for b in boxes))
