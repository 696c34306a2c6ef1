"""
Lay a flat or hatched look out as areas that stay sharp at any size, for SVG and for paper.

Colours are laid out flat, without blend modes, so that every viewer and printer shows the same.
"""

from collections.abc import Collection, Iterator

from layoutdrill.geometry.cutting import both, union, without
from layoutdrill.geometry.rect import Rect
from layoutdrill.layout.model import Layout
from layoutdrill.picture.colour import RGB, multiplied
from layoutdrill.picture.looks import Hatch, Look, Paint
from layoutdrill.picture.masks import role_rects
from layoutdrill.picture.view import View
from layoutdrill.process import Process
from layoutdrill.value import value

FINE = 20
"""Parts of a grid unit in which edges are cut out."""


@value
class Strokes:
    """Strokes that fill an area: `spacing` and `stroke` in λ."""

    hatch: Hatch
    spacing: float
    stroke: float
    ink: RGB


@value
class Area:
    """
    Rectangles that do not overlap, in grid units divided by `fine`, to be filled in `fill` or with `strokes`, over what
    was laid before; `cover` below 1 is a veil.
    """

    rects: tuple[Rect, ...]
    fill: RGB | None = None
    cover: float = 1.0
    strokes: Strokes | None = None
    fine: int = 1


def painted_areas(
    layout: Layout, process: Process, look: Look, view: View, hidden: Collection[str] = frozenset()
) -> Iterator[Area]:
    """Yield the areas of a flat or hatched look, from the lowest to the top; `hidden` are mask layers left out."""
    field = view.region
    colours: dict[RGB, list[Rect]] = {look.ground: [field]}
    yield _area([field], look.ground)
    for step in look.paints:
        shapes = _shapes(layout, process, step, field, hidden)
        if not shapes:
            continue
        if step.tint is not None or step.fill is not None:
            colours = _laid(colours, shapes, step)
            if step.fill is not None:
                yield _area(shapes, step.fill, step.cover)
            else:
                for colour, rects in colours.items():
                    changed = both(rects, shapes)
                    if changed:
                        yield _area(changed, colour)
        if step.hatch is Hatch.SOLID:
            yield _area(shapes, step.ink)
        elif step.hatch is not Hatch.NONE:
            strokes = Strokes(step.hatch, step.spacing, step.stroke, step.ink)
            yield Area(tuple(union(shapes)), strokes=strokes)
        if step.edge:
            rim = _rim(shapes, field, step.edge * process.grid_per_lambda)
            yield Area(tuple(union(rim)), step.ink, fine=FINE)


def _area(rects: list[Rect], fill: RGB, cover: float = 1.0) -> Area:
    return Area(tuple(union(rects)), fill, cover)


def _shapes(layout: Layout, process: Process, step: Paint, field: Rect, hidden: Collection[str]) -> list[Rect]:
    area = both([field], role_rects(layout, process, step.role, hidden))
    for role in step.over:
        area = both(area, role_rects(layout, process, role, hidden))
    for role in step.off:
        area = without(area, role_rects(layout, process, role, hidden))
    return area


def _laid(colours: dict[RGB, list[Rect]], area: list[Rect], step: Paint) -> dict[RGB, list[Rect]]:
    """Return which rectangles have which colour after one more paint."""
    laid: dict[RGB, list[Rect]] = {}
    for colour, rects in colours.items():
        changed, kept = both(rects, area), without(rects, area)
        if kept:
            laid.setdefault(colour, []).extend(kept)
        if changed:
            laid.setdefault(_mixed(colour, step), []).extend(changed)
    return laid


def _mixed(colour: RGB, step: Paint) -> RGB:
    if step.tint is not None:
        return multiplied(colour, step.tint)
    assert step.fill is not None
    r, g, b = (round(old + step.cover * (new - old)) for old, new in zip(colour, step.fill, strict=True))
    return r, g, b


def _rim(area: list[Rect], field: Rect, width: float) -> list[Rect]:
    """Return the part of an area within `width` grid units of its border, in 1/FINE of a grid unit."""
    reach = max(1, round(width * FINE))
    fine = [Rect(*(v * FINE for v in rect)) for rect in area]
    room = Rect(*(v * FINE for v in field)).grown(reach)
    return both(fine, [rect.grown(reach) for rect in without([room], fine)])
