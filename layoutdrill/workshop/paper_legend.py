"""
What is what in the pictures of a sheet: a swatch of each thing, drawn by a pen in the very process, look and lot.

A thing is named only where the look shows it. Which diffusion is n and which is p is told where the look tells them
apart; elsewhere there is one diffusion, and what a question needs is told with the question.
"""

from collections.abc import Iterator

from layoutdrill.geometry.rect import Rect
from layoutdrill.layout.model import Layout
from layoutdrill.picture.evidence import Fact, Sight, shown
from layoutdrill.picture.looks import PHOTOGRAPHIC, Look
from layoutdrill.picture.pen import Pen, Shapes, as_layout, joined
from layoutdrill.picture.render import render
from layoutdrill.picture.shot import Shot
from layoutdrill.picture.view import View
from layoutdrill.process import Process
from layoutdrill.value import value
from layoutdrill.workshop.paper import GREY, MARGIN, Paper
from layoutdrill.workshop.paper_picture import PICTURE_SCALE, Frame, frame_picture, paint_areas

WIDE, HIGH = 9.0, 6.0
"""λ of a swatch."""
_SCALE = 3.0
"""Points per λ of a swatch: about that of the pictures, so that strokes look alike."""
_SIZE = 7.0
_ROW = HIGH * _SCALE + 5
_MIDDLE, _EDGE = 1.5, 6.0
"""Where a swatch begins, in λ from the left of what a pen draws: round its middle, or over its right end."""
_FACTS = (Fact.KIND, Fact.CONTACT, Fact.GATE, Fact.VIA, Fact.TAP, Fact.BURIED_CONTACT, Fact.DEPLETION)


@value
class Swatch:
    """A thing by its name, and where in a small layout it is cut out."""

    name: str
    layout: Layout
    region: Rect


def swatches(process: Process, look: Look, lot: int) -> tuple[Swatch, ...]:
    """Return what there is to see of a process in a look, from the lowest to the top."""
    pen = Pen(process)
    seen = shown(Sight(look, process, lot), _FACTS)
    return tuple(
        Swatch(name, as_layout("swatch", shapes), pen.box(x, y, x + WIDE, y + HIGH))
        for name, shapes, x, y in _things(pen, seen)
    )


def _things(pen: Pen, seen: frozenset[Fact]) -> Iterator[tuple[str, Shapes, float, float]]:
    """Yield names, shapes, and the lower left corner of each swatch in λ."""
    kinds = pen.kinds()
    apart = Fact.KIND in seen or len(kinds) == 1
    for kind in kinds if apart else kinds[:1]:
        yield f"{kind} diffusion" if apart else "diffusion", pen.island(kind), _EDGE, 1
    if pen.has("poly"):
        yield "poly", {pen.layer("poly"): [pen.box(0, 2, 12, 6)]}, _EDGE, 1
    yield _title(pen, pen.wire), {pen.wire: [pen.box(0, 2, 12, 6)]}, _EDGE, 1
    upper = pen.upper
    if upper is not None:
        yield _title(pen, upper), {upper: [pen.box(0, 2, 12, 6)]}, _EDGE, 1
    if Fact.CONTACT in seen:
        yield "contact", pen.contacted(kinds[0], 0, 5), _MIDDLE, 1
    if upper is not None and pen.has("via") and Fact.VIA in seen:
        cross = {pen.wire: [pen.box(0, 2, 12, 6)], upper: [pen.box(4, -3, 8, 11)]}
        yield "via", joined(cross, {pen.layer("via"): [pen.box(5, 3, 7, 5)]}), _MIDDLE, 1
    if pen.has("buried-contact") and pen.has("poly") and Fact.BURIED_CONTACT in seen:
        over = {pen.layer("poly"): [pen.box(4, 2, 14, 6)], pen.layer("buried-contact"): [pen.box(3, 1, 9, 7)]}
        yield "buried contact", joined(pen.island(kinds[0], x=-3), over), _MIDDLE, 1
    if Fact.GATE in seen:
        yield "gate", pen.transistor(kinds[0]), _MIDDLE, 1
        if Fact.DEPLETION in seen and any(rule.mode == "depletion" for rule in pen.process.transistors):
            yield "depletion gate", pen.transistor("d"), _MIDDLE, 1
    yield "crossing, not joined", pen.crossing(kinds[0]), _MIDDLE, 1
    tap = pen.tap() if Fact.TAP in seen else None
    if tap is not None:
        yield "tap", tap, _MIDDLE, 0


def _title(pen: Pen, layer: str) -> str:
    return pen.process.layers[layer].title


def write_legend(paper: Paper, process: Process, look: Look, lot: int) -> None:
    """Write which picture of this process shows what, at the paper's place, and move below it."""
    rows = _rows(paper, swatches(process, look, lot))
    paper.write(f"In {process.title}:", _SIZE, colour=GREY, gap=3)
    for row in rows:
        paper.y -= _ROW
        for left, swatch in row:
            frame = Frame(swatch.region, MARGIN + left, paper.y, _SCALE / process.grid_per_lambda)
            if look.style in PHOTOGRAPHIC:
                image = render(swatch.layout, process, Shot(look, View(swatch.region, PICTURE_SCALE), seed=lot))
                paper.image(image, frame.x, frame.y, WIDE * _SCALE, HIGH * _SCALE)
            else:
                paint_areas(paper, frame, swatch.layout, process, look)
            frame_picture(paper, frame)
            paper.put(swatch.name, frame.x + WIDE * _SCALE + 3, paper.y + HIGH * _SCALE / 2 - _SIZE * 0.36, _SIZE)
    paper.y -= 4


def _rows(paper: Paper, shown_things: tuple[Swatch, ...]) -> list[list[tuple[float, Swatch]]]:
    """Set swatches in rows as wide as the page, each with its distance from the margin."""
    rows: list[list[tuple[float, Swatch]]] = [[]]
    left = 0.0
    for swatch in shown_things:
        wide = WIDE * _SCALE + 3 + paper.wide(swatch.name, _SIZE) + 10
        if left + wide > paper.room and rows[-1]:
            rows.append([])
            left = 0.0
        rows[-1].append((left, swatch))
        left += wide
    return rows
