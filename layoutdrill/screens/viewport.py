"""
Keep the arithmetic of looking: which part of a drawing fills the picture, at which scale, and where the pointer is.

Lengths on the picture are half-pixels: one column wide, half a row high, so about square. Lengths on the drawing are
grid units, y upwards. Scale is whole half-pixels per λ, so that equal widths stay equal wherever they lie.
"""

from dataclasses import replace
from math import ceil, floor

from layoutdrill.geometry.rect import Rect
from layoutdrill.value import value

NEARLY = 0.6
"""The share of the drawing that must be in sight for the opening view to prefer scale 2 to seeing all."""

SCALES = (1, 2, 3, 4, 6, 8, 12, 16)
"""Half-pixels per λ, smallest first. Below 1 contacts vanish, so there is nothing below 1."""

REDUCED = (0.6875, 0.75)
"""
Half-pixels per λ at which one of several pictures that are to be compared is seen whole where it would not be at 1:
every contact of 2 λ still stands out there, as it does no more at ½ (a test measures it).
"""


def snapped(box: Rect, per_lambda: int, margin: int = 1) -> Rect:
    """Return the box grown by `margin` λ and outwards to whole λ, so that it is whole half-pixels at every scale."""
    low_x, low_y = floor(box.x0 / per_lambda) - margin, floor(box.y0 / per_lambda) - margin
    high_x, high_y = ceil(box.x1 / per_lambda) + margin, ceil(box.y1 / per_lambda) + margin
    return Rect(low_x * per_lambda, low_y * per_lambda, high_x * per_lambda, high_y * per_lambda)


@value
class Viewport:
    """
    A window of `columns` × `rows` cells on the snapped `box`.

    `left` and `top` are the window's corner in half-pixels from the box's upper left corner; negative where the drawing
    is smaller than the window and stands in its middle. `alone` is the one of several pictures that the box is drawn
    round, as if there were no other.
    """

    box: Rect
    per_lambda: int
    columns: int
    rows: int
    scale: float
    left: int = 0
    top: int = 0
    alone: Rect | None = None

    @property
    def scales(self) -> tuple[float, ...]:
        """The scales that it can be seen at, smallest first."""
        return SCALES if self.alone is None else (*REDUCED, *SCALES)

    @property
    def width(self) -> int:
        """The whole drawing's width in half-pixels."""
        return ceil(self.box.width * self.scale / self.per_lambda)

    @property
    def height(self) -> int:
        return ceil(self.box.height * self.scale / self.per_lambda)

    @property
    def whole(self) -> bool:
        """Tell whether all of the drawing is in sight."""
        return self.width <= self.columns and self.height <= self.rows * 2

    @property
    def share(self) -> float:
        """The part of the drawing's area that is in sight."""
        return min(1.0, self.columns / self.width) * min(1.0, self.rows * 2 / self.height)

    def widest(self) -> "Viewport":
        """Return the view of all of the drawing, or of its middle where even scale 1 does not show it all."""
        if self.alone is not None:
            return alone(self.alone, self)
        return opening(self.box, self.per_lambda, self.columns, self.rows, nearly=1.0)

    def panned(self, dx: int, dy: int) -> "Viewport":
        """Move the window by half-pixels; dy is even, as two half-rows are one row, and the drawing stays in sight."""
        return replace(self, left=self.left + dx, top=self.top + dy).clamped()

    def clamped(self) -> "Viewport":
        """Keep the drawing in sight; `top` stays even, so that a row of cells always holds the same two half-rows."""
        high = self.rows * 2
        left = -((self.columns - self.width) // 2) if self.width <= self.columns else self.left
        top = -((high - self.height) // 2) if self.height <= high else self.top
        if self.width > self.columns:
            left = max(0, min(left, self.width - self.columns))
        if self.height > high:
            top = max(0, min(top, self.height - high + 1))
        return replace(self, left=left, top=top - top % 2)

    def centred(self, x: int, y: int) -> "Viewport":
        """Put the point (grid units) in the middle, as far as the drawing reaches."""
        px, py = self.pixel(x, y)
        return replace(self, left=px - self.columns // 2, top=py - self.rows).clamped()

    def scaled(self, scale: float, about: tuple[int, int] | None = None) -> "Viewport":
        """Return the view at another scale, keeping the middle, or the point `about` (grid units), where it is."""
        column, half = self.columns // 2, self.rows
        if about is not None:
            px, py = self.pixel(*about)
            column, half = px - self.left, py - self.top
        x, y = about or self.point(column, half)
        changed = replace(self, scale=scale)
        px, py = changed.pixel(x, y)
        return replace(changed, left=px - column, top=py - half).clamped()

    def zoomed(self, steps: int, about: tuple[int, int] | None = None) -> "Viewport":
        """Step through the scales; past either end nothing changes."""
        at = self.scales.index(self.scale)
        return self.scaled(self.scales[max(0, min(len(self.scales) - 1, at + steps))], about)

    def resized(self, columns: int, rows: int) -> "Viewport":
        """Give the window another size, keeping its middle."""
        if (columns, rows) == (self.columns, self.rows):
            return self
        x, y = self.point(self.columns // 2, self.rows)
        return replace(self, columns=columns, rows=rows).centred(x, y)

    def point(self, column: int, half: int) -> tuple[int, int]:
        """Return the grid point in the middle of the half-pixel at (column, half-row) of the window."""
        across = (2 * (self.left + column) + 1) * self.per_lambda
        down = (2 * (self.top + half) + 1) * self.per_lambda
        return self.box.x0 + int(across // (2 * self.scale)), self.box.y1 - int(down // (2 * self.scale))

    def pixel(self, x: int, y: int) -> tuple[int, int]:
        """Return the half-pixel of the whole drawing (from its upper left corner) that holds a grid point."""
        across = (x - self.box.x0) * self.scale // self.per_lambda
        down = -((y - self.box.y1) * self.scale // self.per_lambda) - 1
        return int(across), int(down)

    def spot(self, x: int, y: int) -> tuple[int, int]:
        """Return (column, half-row) of a grid point in the window; it may lie outside."""
        px, py = self.pixel(x, y)
        return px - self.left, py - self.top

    def shows(self, rect: Rect) -> bool:
        """Tell whether all of a rectangle (grid units) is in sight, as far as the drawing reaches."""
        part = rect.common(self.box)
        if part is None:
            return False
        left, top = self.spot(part.x0, part.y1 - 1)
        right, low = self.spot(part.x1 - 1, part.y0)
        return left >= 0 and top >= 0 and right < self.columns and low < self.rows * 2

    def nudged(self, rect: Rect) -> "Viewport":
        """Move no further than it takes to bring a rectangle into sight."""
        left, top = self.spot(rect.x0, rect.y1 - 1)
        right, low = self.spot(rect.x1 - 1, rect.y0)
        over_x = min(0, left) + max(0, right - self.columns + 1)
        over_y = min(0, top) + max(0, low - self.rows * 2 + 1)
        return self.panned(over_x, over_y + over_y % 2 if over_y > 0 else over_y - over_y % 2)

    def beyond(self) -> tuple[str, ...]:
        """Name the sides to which more of the drawing lies."""
        sides = {
            "left": self.left > 0,
            "right": self.left + self.columns < self.width,
            "above": self.top > 0,
            "below": self.top + self.rows * 2 < self.height,
        }
        return tuple(side for side, more in sides.items() if more)

    def side_of(self, x: int, y: int) -> str:
        """Say on which side of what is in sight a place lies, or "" where it is in sight."""
        column, half = self.spot(x, y)
        down = "above" if half < 0 else "below" if half >= self.rows * 2 else ""
        across = "left" if column < 0 else "right" if column >= self.columns else ""
        return " ".join(word for word in (down, across) if word)

    def tile(self, reach: int = 1) -> Rect:
        """
        Return the piece of the drawing to draw for this window: grown by `reach` half windows on each side, whole λ,
        cut to the drawing. Small drawings give the whole box, so panning in them never draws again.
        """
        grow_x, grow_y = self.columns * reach // 2, self.rows * reach
        grain_x = max(1, self.columns // 2)
        grain_y = max(1, self.rows)
        x0 = floor((self.left - grow_x) / grain_x) * grain_x
        y0 = floor((self.top - grow_y) / grain_y) * grain_y
        x1 = x0 + self.columns + 2 * grow_x + grain_x
        y1 = y0 + self.rows * 2 + 2 * grow_y + grain_y
        step = self.per_lambda
        left = self.box.x0 + floor(x0 / self.scale) * step
        right = self.box.x0 + ceil(x1 / self.scale) * step
        upper = self.box.y1 - floor(y0 / self.scale) * step
        lower = self.box.y1 - ceil(y1 / self.scale) * step
        region = Rect(left, lower, right, upper)
        return region.common(self.box) or self.box

    def visible(self) -> Rect:
        """Return what is in sight, in grid units rounded outwards, cut to the drawing."""
        unit = self.per_lambda / self.scale
        seen = Rect(
            self.box.x0 + floor(self.left * unit),
            self.box.y1 - ceil((self.top + self.rows * 2) * unit),
            self.box.x0 + ceil((self.left + self.columns) * unit),
            self.box.y1 - floor(self.top * unit),
        )
        return seen.common(self.box) or self.box


def alone(picture: Rect, like: Viewport, least: float = 1) -> Viewport:
    """
    Return one of several pictures by itself, in a window like another: whole, as large as may be; where even the
    smallest scale that shows what is asked (`least`, for 1 the first of REDUCED) cuts it, at `least`, upper left first.
    """
    smallest = REDUCED[0] if least <= 1 else least
    for scale in reversed([scale for scale in (*REDUCED, *SCALES) if scale >= smallest]):
        for margin in (1, 0):
            view = replace(like, box=_own_box(picture, like.per_lambda, margin), scale=scale, alone=picture)
            if view.whole:
                return view.clamped()
    return replace(like, box=_own_box(picture, like.per_lambda, 1), scale=least, left=0, top=0, alone=picture).clamped()


def _own_box(picture: Rect, per_lambda: int, margin: int) -> Rect:
    """Return the box of whole λ round a picture, from its own corner: pictures of one size then lie dot on dot."""
    grown = picture.grown(margin * per_lambda)
    across, down = (-(-side // per_lambda) * per_lambda for side in (grown.width, grown.height))
    return Rect(grown.x0, grown.y1 - down, grown.x0 + across, grown.y1)


def opening(box: Rect, per_lambda: int, columns: int, rows: int, nearly: float = NEARLY) -> Viewport:
    """
    Return the first view: the largest scale at which everything is in sight; where not even scale 1 shows it all,
    scale 1 on the middle (an overview then tells where one is). Scale 2, the first at which the rims of contacts show,
    is taken as soon as `nearly` so much of the drawing's area is in sight: an overview and one key show the rest.
    """
    twice = Viewport(box, per_lambda, columns, rows, 2)
    best = 2 if twice.share >= nearly else 1
    for scale in SCALES:
        view = Viewport(box, per_lambda, columns, rows, scale)
        if view.whole:
            best = max(best, scale)
    return Viewport(box, per_lambda, columns, rows, best).centred(*box.centre)
