"""From pixels of the stored picture to places of the face, and back: mirrored, turned, y upwards."""

from layoutdrill.geometry.rect import Rect
from layoutdrill.photo.model import At
from layoutdrill.value import value


@value
class Frame:
    """
    A picture of `width` × `height` pixels shown mirrored (left and right exchanged), then turned by quarter turns
    anticlockwise. In the face y grows upwards and 0 is the picture's upper edge, so y is told with its sign changed.
    """

    width: int
    height: int
    turn: int = 0
    mirror: bool = False

    @property
    def size(self) -> tuple[int, int]:
        """Return the width and height as shown."""
        return (self.height, self.width) if self.turn % 2 else (self.width, self.height)

    @property
    def box(self) -> Rect:
        wide, high = self.size
        return Rect(0, -high, wide, 0)

    def shown(self, at: At) -> At:
        """Return where a stored pixel is shown, y downwards."""
        x, y = at
        wide, high = self.width, self.height
        if self.mirror:
            x = wide - x
        for _ in range(self.turn % 4):
            x, y = y, wide - x
            wide, high = high, wide
        return x, y

    def stored(self, at: At) -> At:
        """Return the stored place of one that is shown, y downwards."""
        x, y = at
        wide = self.size[0]
        high = self.size[1]
        for _ in range(self.turn % 4):
            x, y = high - y, x
            wide, high = high, wide
        return (wide - x if self.mirror else x), y

    def point(self, at: At) -> tuple[int, int]:
        """Return the face's place, whole pixels, y upwards."""
        x, y = self.shown(at)
        return round(x), -round(y)

    def at(self, x: float, y: float) -> At:
        """Return the stored place of one of the face."""
        return self.stored((x, -y))

    def rect(self, left: float, top: float, right: float, bottom: float) -> Rect:
        """Return a rectangle of the face from one of the stored picture; never without area."""
        xa, ya = self.point((left, top))
        xb, yb = self.point((right, bottom))
        x0, y0 = min(xa, xb), min(ya, yb)
        return Rect(x0, y0, max(xa, xb, x0 + 1), max(ya, yb, y0 + 1))
