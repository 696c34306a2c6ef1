"""Draw a layout on paper as vectors, with its marks, a ruler in λ round it and a scale bar."""

import math
from dataclasses import replace

from layoutdrill.extract.model import Extraction
from layoutdrill.face import Face, Light, Unit
from layoutdrill.geometry.cutting import union
from layoutdrill.geometry.rect import Rect
from layoutdrill.layout.model import Layout
from layoutdrill.picture.colour import RGB
from layoutdrill.picture.looks import Hatch, Look
from layoutdrill.picture.overlay import Overlay, scale_bar
from layoutdrill.picture.vector import Area, Strokes, painted_areas
from layoutdrill.picture.view import View
from layoutdrill.process import Process
from layoutdrill.value import value
from layoutdrill.workshop.paper import BLACK, GREY, Paper

WHITE: RGB = (255, 255, 255)
RULER = 16.0
"""Points left round a picture for its ruler."""
LEAST_SCALE = 1.5
"""Points per λ below which a contact (2 λ) can no longer be told on paper: 2 λ are then 3 points, about 1 mm."""
_MOST_SCALE = 7.0
PICTURE_SCALE = 8.0
"""Pixels per λ of a photographic picture: about 200 to the inch where 1 λ is 3 points."""
_ANGLES = {Hatch.RISING: (45,), Hatch.FALLING: (-45,), Hatch.CROSSED: (0, 90), Hatch.UPRIGHT: (90,), Hatch.LEVEL: (0,)}

Box = tuple[float, float, float, float]


@value
class Frame:
    """Where a picture lies on a page: `scale` points a grid unit, the region's lower left corner at (x, y)."""

    region: Rect
    x: float
    y: float
    scale: float

    def box(self, rect: Rect, fine: int = 1) -> Box:
        scale = self.scale / fine
        return (
            self.x + (rect.x0 - self.region.x0 * fine) * scale,
            self.y + (rect.y0 - self.region.y0 * fine) * scale,
            rect.width * scale,
            rect.height * scale,
        )

    def point(self, x: float, y: float) -> tuple[float, float]:
        return self.x + (x - self.region.x0) * self.scale, self.y + (y - self.region.y0) * self.scale


def fitted(layout: Layout, process: Process, width: float, height: float) -> tuple[View, float]:
    """Return a view of the whole layout and the points per grid unit at which it fits width × height points."""
    region = View.whole(layout, process, 1).region
    most = _MOST_SCALE / process.grid_per_lambda
    scale = min((width - 2 * RULER) / region.width, (height - 2 * RULER) / region.height, most)
    return View(region, scale * process.grid_per_lambda), scale


@value
class Drawn:
    """A drawing as it is set on paper: in a flat or hatched look, with what is outlined on it."""

    layout: Layout
    process: Process
    look: Look
    overlay: Overlay
    extraction: Extraction | None = None


def draw_picture(paper: Paper, drawn: Drawn, *, width: float, height: float) -> None:
    """Draw the layout at the paper's place, centred in `width` points, at most `height` high, and move below it."""
    process = drawn.process
    view, scale = fitted(drawn.layout, process, width, height)
    wide, high = view.region.width * scale, view.region.height * scale
    paper.need(high + 2 * RULER)
    frame = Frame(view.region, (paper.width - wide) / 2, paper.y - RULER - high, scale)
    paint_areas(paper, frame, drawn.layout, process, drawn.look)
    _ruler(paper, frame, Unit(process.grid_per_lambda))
    _marks(paper, frame, drawn.overlay, drawn.extraction)
    _scale(paper, frame, process, view)
    paper.y = frame.y - RULER


def paint_areas(paper: Paper, frame: Frame, layout: Layout, process: Process, look: Look) -> None:
    """Fill a frame with what lies in its region, in a flat or hatched look."""
    view = View(frame.region, frame.scale * process.grid_per_lambda)
    for area in painted_areas(layout, process, look, view):
        _paint(paper, frame, area, process.grid_per_lambda)


def frame_picture(paper: Paper, frame: Frame) -> None:
    paper.stroke(GREY, 0.5)
    paper.boxes([frame.box(frame.region)], stroke=True)


def place_picture(paper: Paper, face: Face, light: Light, overlay: Overlay, *, width: float, height: float) -> None:
    """Set a picture of a die at the paper's place, with its marks and ruler, and move below it."""
    region = face.box.grown(2 * face.process.grid_per_lambda)
    scale = min((width - 2 * RULER) / region.width, (height - 2 * RULER) / region.height,
                _MOST_SCALE / face.process.grid_per_lambda)  # fmt: skip
    wide, high = region.width * scale, region.height * scale
    paper.need(high + 2 * RULER)
    frame = Frame(region, (paper.width - wide) / 2, paper.y - RULER - high, scale)
    view = View(region, PICTURE_SCALE)
    numbered = Overlay(transistors=overlay.transistors)
    image = face.image(view, light)
    paper.image(
        face.marked(image, view, light, numbered) if numbered.transistors else image, frame.x, frame.y, wide, high
    )
    _ruler(paper, frame, face.unit)
    seen = face.followed(overlay, light)  # where one sees what is marked: masks lie a little off
    _marks(paper, frame, replace(seen, transistors=()), None)
    _scale(paper, frame, face.process, View(region, scale * face.process.grid_per_lambda))
    paper.y = frame.y - RULER


def _paint(paper: Paper, frame: Frame, area: Area, per_lambda: int) -> None:
    boxes = [frame.box(rect, area.fine) for rect in area.rects]
    if not boxes:
        return
    if area.strokes is not None:
        with paper.within(boxes):
            _hatch(paper, boxes, area.strokes, frame.scale * per_lambda)
        return
    assert area.fill is not None
    paper.fill(area.fill)
    paper.canvas.setFillAlpha(area.cover)
    paper.boxes(boxes)
    paper.canvas.setFillAlpha(1)


def _hatch(paper: Paper, boxes: list[Box], strokes: Strokes, points_per_lambda: float) -> None:
    """Draw strokes over the boxes' bounds; they are measured from the page's corner, so that areas agree."""
    left, low = min(b[0] for b in boxes), min(b[1] for b in boxes)
    right, top = max(b[0] + b[2] for b in boxes), max(b[1] + b[3] for b in boxes)
    step, stroke = strokes.spacing * points_per_lambda, strokes.stroke * points_per_lambda
    paper.stroke(strokes.ink, stroke)
    if strokes.hatch is Hatch.DOTS:
        paper.canvas.setDash(stroke, step - stroke)
    lines: list[tuple[float, float, float, float]] = []
    for angle in _ANGLES.get(strokes.hatch, (0,)):
        if angle == 90:
            upright = range(math.floor(left / step), math.ceil(right / step) + 1)
            lines += [(i * step, low, i * step, top) for i in upright]
        elif angle == 0:
            level, start = range(math.floor(low / step), math.ceil(top / step) + 1), math.floor(left / step) * step
            lines += [(start, i * step, right, i * step) for i in level]
        else:
            apart = step * math.sqrt(2)  # along the axis, so that the strokes are `step` apart
            sign = 1 if angle > 0 else -1
            first, last = sorted((low - sign * left, top - sign * right))
            first, last = min(first, low - sign * right), max(last, top - sign * left)
            slant = range(math.floor(first / apart), math.ceil(last / apart) + 1)
            lines += [(left, i * apart + sign * left, right, i * apart + sign * right) for i in slant]
    paper.strokes(lines)
    paper.canvas.setDash()


def _ruler(paper: Paper, frame: Frame, unit: Unit) -> None:
    """Frame the picture, with ticks in its unit and their figures, by which a place can be written down."""
    region = frame.region
    frame_picture(paper, frame)
    size = 6.0
    for tick in _ticks(region.x0, region.x1, unit.per, frame.scale):
        x, y = frame.point(tick * unit.per, region.y0)
        paper.line(x, y, x, y - 3)
        text = str(tick)
        paper.put(text, x - paper.wide(text, size) / 2, y - 10, size, GREY)
    for tick in _ticks(region.y0, region.y1, unit.per, frame.scale):
        x, y = frame.point(region.x0, tick * unit.per)
        paper.line(x, y, x - 3, y)
        text = unit.number(unit.y(tick * unit.per))
        paper.put(text, x - 5 - paper.wide(text, size), y - 2, size, GREY)


def _ticks(low: int, high: int, per: int, scale: float) -> range:
    """Return the units of `per` grid units to mark: every 10, or so many tens that figures keep 16 points apart."""
    step = 10
    while step * per * scale < 16:
        step += 10
    first = -(-low // per)
    return range(-(-first // step) * step, high // per + 1, step)


def _marks(paper: Paper, frame: Frame, overlay: Overlay, extraction: Extraction | None) -> None:
    for name, text in overlay.transistors:
        assert extraction is not None
        channel = union(extraction.channel(name))
        if not channel:
            continue
        for colour, width in ((WHITE, 2.6), (BLACK, 1.0)):
            paper.stroke(colour, width)
            paper.boxes([frame.box(rect.grown(1)) for rect in channel], stroke=True)
        box = frame.box(max(channel, key=lambda r: r.area))
        _letter(paper, text, box[0] + box[2] / 2, box[1] + box[3] / 2, 7)
    for x, y in overlay.spots:
        _ring(paper, *frame.point(x, y))
    left, low, wide, high = frame.box(frame.region)
    for tag in overlay.marks:
        across, up = frame.point(tag.x, tag.y)
        _ring(paper, across, up, 7 if tag.ring else 2)
        aside = 15 if tag.ring else 10
        right = across + aside if across + aside < left + wide - 4 else across - aside
        above = up + aside * 0.7 if up + aside * 0.7 < low + high - 4 else up - aside * 0.7
        _letter(paper, tag.text, right, above, 9)


def _ring(paper: Paper, x: float, y: float, radius: float = 7.0) -> None:
    for colour, width in ((WHITE, 3.0), (BLACK, 1.2)):
        paper.stroke(colour, width)
        paper.canvas.circle(x, y, radius, stroke=1, fill=0)


def _letter(paper: Paper, text: str, x: float, y: float, size: float) -> None:
    """Write a short text on a white plate, its middle at (x, y)."""
    wide = paper.wide(text, size) + 3
    paper.fill(WHITE)
    paper.boxes([(x - wide / 2, y - size * 0.62, wide, size * 1.24)])
    paper.put(text, x - (wide - 3) / 2, y - size * 0.36, size)


def _scale(paper: Paper, frame: Frame, process: Process, view: View) -> None:
    length, text = scale_bar(process, view)
    x, y = frame.x + frame.region.width * frame.scale, frame.y + frame.region.height * frame.scale + 4
    paper.fill(BLACK)
    paper.boxes([(x - length, y, length, 2)])
    paper.put(text, x - length - paper.wide(text, 7) - 4, y - 1, 7)
