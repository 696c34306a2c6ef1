"""Lay the shapes of a layout down as one-channel images, the raw material of every look."""

from bisect import bisect_left, bisect_right
from collections import OrderedDict
from collections.abc import Collection, Iterable, Sequence

from PIL import Image

from layoutdrill.geometry.rect import Rect
from layoutdrill.layout.model import Layout
from layoutdrill.picture.view import View
from layoutdrill.process import Process

_FLAT: "OrderedDict[int, tuple[Layout, Layout]]" = OrderedDict()
_KEPT = 8


def flat(layout: Layout) -> Layout:
    """Flatten, remembering the last few: a frame must not pay for it again."""
    if not layout.placements:
        return layout
    key = id(layout)
    found = _FLAT.get(key)
    if found is not None and found[0] is layout:
        return found[1]
    result = layout.flattened()
    _FLAT[key] = (layout, result)
    if len(_FLAT) > _KEPT:
        _FLAT.popitem(last=False)
    return result


MANY = 300
"""Rectangles of a layer from which it is worth sorting them."""

_SORTED: "OrderedDict[int, tuple[tuple[Rect, ...], list[Rect], list[int], int]]" = OrderedDict()


def _between(rects: tuple[Rect, ...], low: float, high: float) -> list[Rect]:
    """Return those rectangles of a long list that may reach into an x range; sorted lists are remembered."""
    key = id(rects)
    found = _SORTED.get(key)
    if found is None or found[0] is not rects:
        ordered = sorted(rects)
        found = (rects, ordered, [r.x0 for r in ordered], max(r.x1 - r.x0 for r in ordered))
        _SORTED[key] = found
        if len(_SORTED) > 8 * _KEPT:
            _SORTED.popitem(last=False)
    _, ordered, starts, widest = found
    return ordered[bisect_left(starts, low - widest) : bisect_right(starts, high)]


class Raster:
    """
    The frame in which masks are drawn: a view at `factor` times its scale, with a `margin` of pixels on each side.

    Images are mode "L" of size `size`; `mask` draws rectangles with their edges on the nearest pixel.
    """

    def __init__(self, process: Process, view: View, factor: float = 1, margin: int = 0) -> None:
        columns, rows = view.size(process)
        self.margin = margin
        self.inner = (round(columns * factor), round(rows * factor))
        self.size = (self.inner[0] + 2 * margin, self.inner[1] + 2 * margin)
        self.scale = view.scale(process) * factor
        self.per_lambda = view.pixels_per_lambda * factor
        self.x0 = view.region.x0 - margin / self.scale
        self.y1 = view.region.y1 + margin / self.scale

    def boxes(self, rects: Iterable[Rect]) -> list[tuple[int, int, int, int]]:
        """Return the pixel boxes (right and lower edge excluded) of what lies in the frame."""
        scale, x0, y1 = self.scale, self.x0, self.y1
        width, height = self.size
        if isinstance(rects, tuple) and len(rects) > MANY:
            rects = _between(rects, x0, x0 + width / scale)
        found = []
        for ax, ay, bx, by in rects:
            left, right = int((ax - x0) * scale + 0.5), int((bx - x0) * scale + 0.5)
            top, low = int((y1 - by) * scale + 0.5), int((y1 - ay) * scale + 0.5)
            if right > 0 and low > 0 and left < width and top < height:
                found.append((left, top, max(right, left + 1), max(low, top + 1)))
        return found

    def mask(self, rects: Iterable[Rect], value: int = 255) -> Image.Image:
        image = Image.new("L", self.size)
        for box in self.boxes(rects):
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
