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
    is smaller than the window and stands in its middle.
    """

    box: Rect
    per_lambda: int
    columns: int
    rows: int
    scale: int
    left: int = 0
    top: int = 0

    @property
    def width(self) -> int:
        """The whole drawing's width in half-pixels."""
        return self.box.width * self.scale // self.per_lambda

    @property
    def height(self) -> int:
        return self.box.height * self.scale // self.per_lambda

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

    def scaled(self, scale: int, about: tuple[int, int] | None = None) -> "Viewport":
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
        """Step through SCALES; past either end nothing changes."""
        at = SCALES.index(self.scale)
        return self.scaled(SCALES[max(0, min(len(SCALES) - 1, at + steps))], about)

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
        return self.box.x0 + across // (2 * self.scale), self.box.y1 - down // (2 * self.scale)

    def pixel(self, x: int, y: int) -> tuple[int, int]:
        """Return the half-pixel of the whole drawing (from its upper left corner) that holds a grid point."""
        across = (x - self.box.x0) * self.scale // self.per_lambda
        down = -((y - self.box.y1) * self.scale // self.per_lambda) - 1
        return across, down

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


SMALL = 20
"""λ up to which a place is seen only where its middle is, and a line is as wide as."""


@value
class Focus:
    """
    What the first view must show, in grid units: the first of `wanted` that fits, else the middle of the last; then,
    moving as little as may be, the nearest of `any_of`, where none of these is in sight. `places` are what is spoken
    of, one by one. At a smaller scale than `least` the picture does not show what is asked: several places that are in
    sight together only so are shown so first, and a jump goes close to each in its turn; where `close` is set, the
    first view is close all the same. Where all of the first of `wanted` fits at the scale `near`, it is seen so near.
    """

    wanted: tuple[Rect, ...] = ()
    any_of: tuple[Rect, ...] = ()
    least: int = 1
    places: tuple[Rect, ...] = ()
    close: bool = False
    near: int = 1

    @property
    def furthest(self) -> int:
        """The smallest scale of a first view."""
        return 1 if len(self.places) > 1 and not self.close else self.least


def out_of_view(view: Viewport, focus: Focus) -> tuple[Rect, ...]:
    """
    Return the places spoken of that are out of sight: of a long line all of it, of a whole picture among several any of
    it that the view has room for, of anything else its middle; every place where the view is too far off to show what
    is asked.
    """
    places = panes_of(view, focus)
    if view.scale < focus.least:
        return places
    seen, small = view.visible(), SMALL * view.per_lambda

    def sighted(rect: Rect) -> bool:
        line = min(rect.width, rect.height) <= small < max(rect.width, rect.height)
        if min(rect.width, rect.height) >= PICTURE * view.per_lambda:
            return _has_room_for(seen.x0, seen.x1, rect.x0, rect.x1) and _has_room_for(
                seen.y0, seen.y1, rect.y0, rect.y1
            )
        return seen.contains(*rect.centre) or (line and rect.overlaps(seen))

    return tuple(rect for rect in places if not sighted(rect))


def _has_room_for(low: int, high: int, start: int, end: int) -> bool:
    """Tell whether a stretch lies within another, or, being longer, has its middle there."""
    return low <= start and end <= high if end - start <= high - low else low <= (start + end) // 2 <= high


def pictures_in(view: Viewport, focus: Focus) -> tuple[Rect, ...]:
    """Return the places spoken of that are pictures of their own, less than all of the drawing."""
    least = PICTURE * view.per_lambda
    return tuple(r for r in focus.places if min(r.width, r.height) >= least and not r.grown(least).covers(view.box))


def panes_of(view: Viewport, focus: Focus) -> tuple[Rect, ...]:
    """
    Return the places spoken of as one key brings them up: a picture that is too large for the window in as few panes
    as show all of it, from the upper left on; what would take more than MOST_PANES, such as a whole die, as one place.
    """
    unit = view.per_lambda / max(view.scale, focus.least)
    wide, high = int((view.columns - 1) * unit), int((view.rows * 2 - 2) * unit)
    least = PICTURE * view.per_lambda
    places: list[Rect] = []
    for rect in focus.places:
        across, down = -(-rect.width // max(1, wide)), -(-rect.height // max(1, high))
        if min(rect.width, rect.height) < least or not 1 < across * down <= MOST_PANES:
            places.append(rect)
            continue
        xs, ys = _stretches(rect.x0, rect.x1, across, wide), _stretches(rect.y0, rect.y1, down, high)
        places += [Rect(x0, y0, x1, y1) for y0, y1 in reversed(ys) for x0, x1 in xs]
    return tuple(places)


def _stretches(start: int, end: int, count: int, most: int) -> list[tuple[int, int]]:
    """Return `count` stretches no longer than `most`, evenly from one end to the other."""
    if count == 1:
        return [(start, end)]
    steps = (start + (end - start - most) * at // (count - 1) for at in range(count))
    return [(low, low + most) for low in steps]


def jumped(view: Viewport, focus: Focus, last: Rect | None) -> tuple[Viewport, Rect | None]:
    """
    Return the view at the next place spoken of that is out of view, after the `last` jumped to, and that place; the
    view itself where there is none.
    """
    away = out_of_view(view, focus)
    if not away:
        return view, last
    order = [*panes_of(view, focus)]
    start = order.index(last) + 1 if last in order else 0
    place = next(rect for rect in (*order[start:], *order[:start]) if rect in away)
    near = replace(view, scale=max(view.scale, focus.least)).centred(*place.centre)
    beside = near.nudged(place)  # whole rows may have put it half a row out
    return beside if beside.shows(place) else near, place


def starting(box: Rect, per_lambda: int, columns: int, rows: int, focus: Focus) -> Viewport:
    """Return the first view of a drawing of which something is asked."""
    view = opening(box, per_lambda, columns, rows)
    if view.scale < focus.near and focus.wanted:
        nearer = replace(view, scale=focus.near).centred(*focus.wanted[0].centre)
        nearer = nearer if nearer.shows(focus.wanted[0]) else nearer.nudged(focus.wanted[0])
        view = nearer if nearer.shows(focus.wanted[0]) else view
        if view is nearer and view.scale >= focus.least:
            return view
    if view.whole and view.scale >= focus.least:
        return view
    if view.scale < focus.furthest:
        about = (focus.wanted or focus.any_of or (box,))[-1].centre
        view = replace(view, scale=focus.least).centred(*about)
    view = _on(view, focus)
    if focus.any_of and not any(view.shows(rect) for rect in focus.any_of):
        x, y = view.point(view.columns // 2, view.rows)
        return view.nudged(min(focus.any_of, key=lambda r: (abs(r.centre[0] - x) + abs(r.centre[1] - y), r)))
    return view


LITTLE = 0.25
"""The share of a drawing in sight below which a piece of it says nothing, such as of an array or a whole die."""
PICTURE = 12
"""λ of both sides from which a place is a picture of its own, to be seen whole."""
MOST_PANES = 6
"""Panes up to which a picture that is larger than the window is brought up pane by pane."""


def whole_first(view: Viewport, focus: Focus, box: Rect) -> bool:
    """Tell whether the overview comes first: of a drawing that is asked about as a whole, where little is in sight."""
    asked = focus.wanted[0].covers(box) if focus.wanted else not focus.any_of
    return asked and view.share < LITTLE


def kept_on(view: Viewport, focus: Focus) -> Viewport:
    """Return a view that shows what must be seen, as near to this one as may be: itself where it does already."""
    if not focus.wanted or view.shows(focus.wanted[0]):
        return view
    return _on(view.nudged(focus.wanted[0]), focus)


def _on(view: Viewport, focus: Focus) -> Viewport:
    """
    Return the view that shows the first of what is wanted that it can show, no nearer than this one or `least`; else
    one that shows as many of the places as may be.
    """
    for rect in focus.wanted:
        nearest = max(view.scale, focus.least)
        for scale in reversed([scale for scale in SCALES if focus.furthest <= scale <= nearest]):
            if scale == view.scale and view.shows(rect):
                return view
            seen = replace(view, scale=scale).centred(*rect.centre)
            seen = seen if seen.shows(rect) else seen.nudged(rect)  # whole rows may have put it half a row out
            if seen.shows(rect):
                return seen
    if not focus.wanted:
        return view
    wide = replace(view, scale=min(focus.furthest, view.scale))
    tried = [wide.centred(*rect.centre) for rect in (focus.wanted[-1], *focus.places)]
    return max(tried, key=lambda seen: sum(seen.shows(rect) for rect in focus.places))
