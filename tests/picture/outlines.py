"""
Measure how dark the outlines are by which a reader tells things under metal, beside what slopes and lens foretell.

An outline's contrast is the difference in mean L* between flat metal and the darkest band, one pixel wide and 2 λ long,
within a λ of the edge, as a mean of two places on the grid of pixels. What is foretold: a line as wide as `slopes` says
loses all its light; spread over the pixels and the lens's blur it leaves 1 − erf(w / 2√2 σ) (geometric optics; σ² of a
pixel is a twelfth of its square).
"""

import math
from typing import NamedTuple

from PIL import ImageStat

from layoutdrill.geometry.rect import Rect
from layoutdrill.layout.model import Layout
from layoutdrill.picture.looks import load_look
from layoutdrill.picture.objectives import beyond_light, objective_for, um_per_lambda
from layoutdrill.picture.palette import lot_films
from layoutdrill.picture.pen import Pen, Shapes, as_layout, joined
from layoutdrill.picture.perception import lightness
from layoutdrill.picture.render import render
from layoutdrill.picture.shot import Shot
from layoutdrill.picture.slopes import line_of_film
from layoutdrill.picture.view import View
from layoutdrill.process import Process
from layoutdrill.process.films import holds, load_films

SCALES = (2, 3, 4, 8)
LEAST_SEEN = 8.0
"""L* of a line one pixel wide that is still seen: this project's own, from pictures read blind."""


class Outline(NamedTuple):
    """One edge under metal: its name, the L* measured, the L* foretold."""

    name: str
    measured: float
    foretold: float


def outlines(process: Process, scale: int, lot: int = 0) -> list[Outline]:
    """Return the outlines of what a process has under its first metal, in honest light without aid."""
    found = []
    for name, shapes, edge in _edges(process):
        step = _step(process, shapes, lot)
        if step:
            found.append(Outline(name, _measured(process, shapes, edge, scale, lot), _foretold(process, step, scale)))
    return found


def _edges(process: Process) -> list[tuple[str, Shapes, float]]:
    """Return name, drawing without metal, and the λ from the left at which its edge runs."""
    pen = Pen(process)
    kind = pen.kinds()[0]
    found: list[tuple[str, Shapes, float]] = [("diffusion", {k: [pen.box(0, -8, 12, 16)] for k in pen.island(kind)}, 0)]
    if pen.has("thin-oxide"):
        found.append(("gate window", {pen.layer("thin-oxide"): [pen.box(0, -8, 12, 16)]}, 0))
    if pen.has("poly"):
        found.append(("poly", {pen.layer("poly"): [pen.box(0, -8, 12, 16)]}, 0))
    if pen.has("contact"):
        hole = {pen.layer("contact"): [pen.box(0, -8, 12, 16)]}
        whole = {k: [pen.box(-8, -8, 20, 16)] for k in pen.island(kind)}
        found.append(("contact", joined(whole, hole), 0))
    return found


def _step(process: Process, shapes: Shapes, lot: int) -> float:
    """Return the step in µm between what lies at both sides of the edge."""
    films = lot_films(load_films(process), lot)

    def height(x: int) -> float:
        drawn = {k: any(r.x0 <= x < r.x1 for r in rects) for k, rects in shapes.items()}
        return next(p.height for p in films.places if p.where is None or holds(process, p.where, drawn))

    return 0.0 if films.planar else abs(height(1) - height(-1)) / 1000


def _measured(process: Process, shapes: Shapes, edge: float, scale: int, lot: int) -> float:
    pen = Pen(process)
    covered = joined(shapes, {pen.wire: [pen.box(-30, -20, 40, 30)]})
    layout: Layout = as_layout("edge", covered)
    views = [View(Rect(*pen.box(-8 + off, 0, 8 + off, 8)), scale) for off in (0, 0.5)]
    return sum(_darkest(process, layout, view, edge - off, lot) for view, off in zip(views, (0, 0.5), strict=True)) / 2


def _darkest(process: Process, layout: Layout, view: View, edge: float, lot: int) -> float:
    scale = round(view.pixels_per_lambda)
    image = render(layout, process, Shot(load_look("reflected-light"), view, seed=lot))
    high = round(2 * scale)
    top = image.height // 2 - high // 2

    def tone(x: int) -> float:
        band = image.crop((x, top, x + 1, top + high))
        r, g, b = ImageStat.Stat(band).mean
        return lightness((round(r), round(g), round(b)))

    at = round((8 + edge) * scale)
    near = range(at - scale, at + scale + 1)
    flat = (tone(at - 5 * scale) + tone(at + 5 * scale)) / 2
    return flat - min(tone(x) for x in near)


def _foretold(process: Process, step: float, scale: int) -> float:
    films = load_films(process)
    objective = objective_for(process, scale)
    shrunk = um_per_lambda(process) / 2.5 if beyond_light(process) else 1.0
    width = line_of_film(step, films.metals[0].nm / 1000, objective) * shrunk
    pixel = um_per_lambda(process) / scale
    spread = math.hypot(pixel / math.sqrt(12), 0.0 if beyond_light(process) else objective.blur)
    lost = math.erf(width / (2 * math.sqrt(2) * spread))
    white = 235
    seen = round(white * (1 - lost) ** (1 / 2.2))
    return lightness((white, white, white)) - lightness((seen, seen, seen))
