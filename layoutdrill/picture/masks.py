"""Lay the shapes of a layout down as one-channel images, the raw material of every look."""

from bisect import bisect_left, bisect_right
from collections.abc import Collection, Iterable, Sequence
from functools import lru_cache

from PIL import Image

from layoutdrill.geometry.rect import Rect
from layoutdrill.layout.model import Layout
from layoutdrill.picture.corners import corners
from layoutdrill.picture.die import PERFECT, Die
from layoutdrill.picture.layers import flat
from layoutdrill.picture.view import View
from layoutdrill.process import Process
from layoutdrill.value import Itself, value

MANY = 300
"""Rectangles of a layer from which it is worth sorting them."""

_SORTED_KEPT = 64


def _between(rects: tuple[Rect, ...], low: float, high: float) -> list[Rect]:
    """Return those rectangles of a long list that may reach into an x range; sorted lists are remembered."""
    ordered, starts, widest = _sorted(Itself(rects))
    return ordered[bisect_left(starts, low - widest) : bisect_right(starts, high)]


@lru_cache(_SORTED_KEPT)
def _sorted(rects: Itself[tuple[Rect, ...]]) -> tuple[list[Rect], list[int], int]:
    """Return rectangles by their left edges, those edges, and the widest rectangle's width."""
    ordered = sorted(rects.thing)
    return ordered, [r.x0 for r in ordered], max(r.x1 - r.x0 for r in ordered)


@value
class _Moved:
    """Where the rectangles of a mask layer lie on a die, sorted by their left edges, and the widest of them."""

    boxes: "list[Box]"
    starts: list[float]
    widest: float

    def between(self, low: float, high: float) -> "list[Box]":
        """Return those that may reach into an x range."""
        return self.boxes[bisect_left(self.starts, low - self.widest) : bisect_right(self.starts, high)]


@lru_cache(_SORTED_KEPT)
def _moved(die: Itself[Die], name: str, rects: Itself[Sequence[Rect]]) -> _Moved:
    """Return where the rectangles of a mask layer lie on a die; the last few lists are kept: a frame needs them all."""
    boxes = sorted(die.thing.moved(name, rect) for rect in rects.thing)
    widest = max((right - left for left, _, right, _ in boxes), default=0)
    return _Moved(boxes, [box[0] for box in boxes], widest)


LEAST_RADIUS = 2
"""Pixels below which a rounded corner is a square one."""

Box = tuple[float, float, float, float]


@lru_cache(maxsize=64)
def corner_tip(radius: int, across: int, down: int) -> Image.Image:
    """Return the mask of what a circle of a radius in pixels leaves of the square at a corner."""
    tip = Image.new("L", (radius, radius))
    for y in range(radius):
        for x in range(radius):
            if (radius - x - 0.5) ** 2 + (radius - y - 0.5) ** 2 > radius * radius:
                tip.putpixel((x if across > 0 else radius - 1 - x, y if down > 0 else radius - 1 - y), 255)
    return tip


class Raster:
    """
    The frame in which masks are drawn: a view at `factor` times its scale, with a `margin` of pixels on each side.

    Images are mode "L" of size `size`; `mask` draws rectangles with their edges on the nearest pixel.
    """

    def __init__(self, process: Process, view: View, factor: float = 1, margin: int = 0, die: Die = PERFECT) -> None:
        columns, rows = view.size(process)
        self.margin = margin
        self.inner = (round(columns * factor), round(rows * factor))
        self.size = (self.inner[0] + 2 * margin, self.inner[1] + 2 * margin)
        self.scale = view.scale(process) * factor
        self.per_lambda = view.pixels_per_lambda * factor
        self.x0 = view.region.x0 - margin / self.scale
        self.y1 = view.region.y1 + margin / self.scale
        self.die = die

    def boxes(self, rects: Iterable[Rect]) -> list[tuple[int, int, int, int]]:
        """Return the pixel boxes (right and lower edge excluded) of what lies in the frame."""
        return self._pixels(self._near(rects))

    def _near(self, rects: Iterable[Rect]) -> Iterable[Rect]:
        """Leave out of a long list what surely lies outside the frame."""
        if not isinstance(rects, tuple) or len(rects) <= MANY:
            return rects
        return _between(rects, *self._reach())

    def _reach(self) -> tuple[float, float]:
        """Return the x range of the frame, and a little past it."""
        past = 2 / self.scale * self.per_lambda
        return self.x0 - past, self.x0 + self.size[0] / self.scale + past

    def layer(self, name: str, rects: Sequence[Rect], value: int = 255) -> Image.Image | None:
        """Return the mask of a layer as this die has it, corners round; None where nothing of it lies in the frame."""
        die = self.die
        near = self._near(rects) if die is PERFECT else _moved(Itself(die), name, Itself(rects)).between(*self._reach())
        boxes = self._pixels(near)
        if not boxes:
            return None
        image = Image.new("L", self.size)
        for box in boxes:
            image.paste(value, box)
        radius = round(die.rounding * self.per_lambda)
        if radius < LEAST_RADIUS:
            return image
        if name in die.cuts:
            for left, top, right, low in boxes:
                for across, down in ((1, 1), (-1, 1), (1, -1), (-1, -1)):
                    tip = corner_tip(min(radius, (right - left) // 2, (low - top) // 2) or 1, across, down)
                    at = (left if across > 0 else right - tip.width, top if down > 0 else low - tip.height)
                    image.paste(0, at, tip)
        elif isinstance(rects, tuple):
            self._round(image, name, rects, value, radius)
        return image

    def _round(self, image: Image.Image, name: str, rects: tuple[Rect, ...], value: int, radius: int) -> None:
        """Take the tips of outer corners off, and fill inner ones."""
        die, scale, x0, y1 = self.die, self.scale, self.x0, self.y1
        width, height = self.size
        wider = die.bias.get(name, 0.0)
        all_corners = corners(rects)
        past = (radius + 2) / scale + self.per_lambda / scale
        first = bisect_left(all_corners, x0 - past, key=lambda corner: corner.x)
        last = bisect_right(all_corners, x0 + width / scale + past, key=lambda corner: corner.x)
        for corner in all_corners[first:last]:
            across, down = corner.across, corner.down
            dx, dy = die.shift(name, corner.x, corner.y)
            out = wider if corner.drawn else -wider
            x, y = corner.x + dx - across * out, corner.y + dy + down * out
            column, row = int((x - x0) * scale + 0.5), int((y1 - y) * scale + 0.5)
            if -radius < column < width + radius and -radius < row < height + radius:
                left, top = column if across > 0 else column - radius, row if down > 0 else row - radius
                image.paste(0 if corner.drawn else value, (left, top), corner_tip(radius, across, down))

    def _pixels(self, rects: Iterable[Box]) -> list[tuple[int, int, int, int]]:
        scale, x0, y1 = self.scale, self.x0, self.y1
        width, height = self.size
        boxes = []
        for ax, ay, bx, by in rects:
            left, right = int((ax - x0) * scale + 0.5), int((bx - x0) * scale + 0.5)
            top, low = int((y1 - by) * scale + 0.5), int((y1 - ay) * scale + 0.5)
            if right > 0 and low > 0 and left < width and top < height:
                boxes.append((left, top, max(right, left + 1), max(low, top + 1)))
        return boxes

    def mask(self, rects: Iterable[Rect], value: int = 255) -> Image.Image:
        image = Image.new("L", self.size)
        for box in self.boxes(rects):
            image.paste(value, box)
        return image

    def outline(self, areas: Iterable[tuple[str | None, Sequence[Rect]]], value: int = 255) -> Image.Image:
        """Return the mask of shapes, each with the mask layer whose edges it follows on this die."""
        image = Image.new("L", self.size)
        for name, rects in areas:
            moved: Iterable[Box] = rects if name is None else (self.die.moved(name, rect) for rect in rects)
            for box in self._pixels(moved):
                image.paste(value, box)
        return image

    def cropped(self, image: Image.Image) -> Image.Image:
        """Cut the margin off."""
        if not self.margin:
            return image
        m = self.margin
        return image.crop((m, m, m + self.inner[0], m + self.inner[1]))


def layers_of_role(process: Process, role: str, hidden: Collection[str] = ()) -> tuple[str, ...]:
    return tuple(name for name, layer in process.layers.items() if layer.role == role and name not in hidden)


def role_rects(layout: Layout, process: Process, role: str, hidden: Collection[str] = ()) -> Sequence[Rect]:
    """Return the shapes of a role."""
    drawn = flat(layout).shapes
    names = [name for each in _standing_for(process, role) for name in layers_of_role(process, each, hidden)]
    if len(names) == 1:
        return drawn.get(names[0], ())
    return [rect for name in names for rect in drawn.get(name, ())]


def _standing_for(process: Process, role: str) -> tuple[str, ...]:
    """
    Return the roles that stand for one.

    A metal-gate process often draws diffusion as one layer and the gate's window over the gap in it: there, windows
    count as active area too, and the one layer is both the active area and the doping of its kind.
    """
    roles = {layer.role for layer in process.layers.values()}
    doped = {"n-doping", "p-doping"} & roles
    if "thin-oxide" in roles and not ("active" in roles and doped):
        if role == "active":
            return (*(("active",) if "active" in roles else sorted(doped)), "thin-oxide")
        if not doped and role in {f"{rule.kind}-doping" for rule in process.transistors}:
            return ("active",)
    return (role,)
