"""The eight orientations and a shift."""

from layoutdrill.geometry.rect import Rect
from layoutdrill.units import GridUnits
from layoutdrill.value import value


@value
class Transform:
    """
    Mirror about the x axis (y → −y), then turn by quarter turns anticlockwise, then shift.

    This is the order of operations of a GDSII reference.
    """

    dx: int = 0
    dy: int = 0
    turns: int = 0
    mirrored: bool = False

    def point(self, x: GridUnits, y: GridUnits) -> tuple[int, int]:
        if self.mirrored:
            y = -y
        turns = self.turns % 4
        if turns == 1:
            x, y = -y, x
        elif turns == 2:
            x, y = -x, -y
        elif turns == 3:
            x, y = y, -x
        return x + self.dx, y + self.dy

    def rect(self, r: Rect) -> Rect:
        xa, ya = self.point(r.x0, r.y0)
        xb, yb = self.point(r.x1, r.y1)
        return Rect(min(xa, xb), min(ya, yb), max(xa, xb), max(ya, yb))

    def after(self, inner: "Transform") -> "Transform":
        """Return the transform that applies `inner` first and this one second."""
        x, y = self.point(inner.dx, inner.dy)
        turns = self.turns + (-inner.turns if self.mirrored else inner.turns)
        return Transform(x, y, turns % 4, self.mirrored != inner.mirrored)

    def to_origin(self, box: Rect) -> "Transform":
        """Return the same turn with the shift that brings the lower left corner of a box to (0, 0)."""
        corner = self.rect(box)
        return Transform(self.dx - corner.x0, self.dy - corner.y0, self.turns, self.mirrored)


IDENTITY = Transform()
