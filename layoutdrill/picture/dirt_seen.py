"""Which dirt stands out in a picture: crumbs of dust, hairs and scratches, and how dark each is on what lies below."""

from PIL import ImageChops

from layoutdrill.geometry.rect import Rect
from layoutdrill.layout.model import Layout
from layoutdrill.picture.die import die_of
from layoutdrill.picture.dirt import crumbs_on, dirt_in, with_dirt
from layoutdrill.picture.looks import Look
from layoutdrill.picture.render import render
from layoutdrill.picture.shot import Shot
from layoutdrill.picture.view import View
from layoutdrill.process import Process
from layoutdrill.value import value

PIXELS = 3
"""Pixels per λ at which dirt must stand out."""
LEAST = 35
"""Levels (of 255) by which the middle of what is asked about must be darker or brighter than without it."""
_REACH = 2


@value
class SeenDirt:
    """A piece of dirt: the point (grid units) at its middle, what it is, how wide and high it is in λ (a line: 0)."""

    x: int
    y: int
    what: str
    width: float
    height: float = 0.0


def seen_dirt(layout: Layout, process: Process, look: Look, number: int, wear: float) -> tuple[SeenDirt, ...]:
    """Return the dirt within a layout's box that stands out in a look, in a fixed order."""
    lying = dirt_on(layout, process, number, wear)
    return tuple(place for place in lying if _stands_out(layout, process, look, number, wear, place))


def dirt_on(layout: Layout, process: Process, number: int, wear: float) -> tuple[SeenDirt, ...]:
    """Return the dirt within a layout's box, whether it can be seen or not, in a fixed order."""
    box = layout.box
    if box is None or wear <= 0:
        return ()
    unit = process.grid_per_lambda
    places = []
    for dirt in dirt_in(process, box, number, wear):
        for speck in crumbs_on(layout, process, dirt):
            x0, y0, x1, y1 = speck.extent
            middle = round((x0 + x1) / 2 * unit), round((y0 + y1) / 2 * unit)
            places.append(SeenDirt(*middle, "crumb", x1 - x0, y1 - y0))
        for trace in dirt.traces:
            x, y = trace.points[len(trace.points) // 2]
            what = "crack" if trace.in_glass else "scratch" if trace.bright else "hair"
            places.append(SeenDirt(round(x * unit), round(y * unit), what, trace.width))
    inside = [place for place in places if box.contains(place.x, place.y)]
    return tuple(dict.fromkeys(inside))


def _stands_out(layout: Layout, process: Process, look: Look, number: int, wear: float, at: SeenDirt) -> bool:
    """Tell whether a place differs enough from the same picture before the dirt fell on it."""
    unit = process.grid_per_lambda
    view = View(Rect(at.x, at.y, at.x + 1, at.y + 1).grown(_REACH * unit), PIXELS)
    clean = render(layout, process, Shot(look, view, seed=number, die=die_of(layout, process, number, wear)))
    dirty = with_dirt(clean, layout, process, Shot(look, view, number, wear), shining=False, glass=True)
    middle = tuple(round(v / 2) for v in clean.size)
    core = (middle[0] - 2, middle[1] - 2, middle[0] + 3, middle[1] + 3)
    levels = ImageChops.difference(clean.convert("L"), dirty.convert("L")).crop(core).histogram()
    return max(level for level, count in enumerate(levels) if count) >= LEAST
