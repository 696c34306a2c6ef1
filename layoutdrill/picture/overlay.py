"""
Mark a picture: devices outlined and numbered, nets in strokes, lettered places, rails, crosshair, scale bar, parts.

Nothing rests on hue: every line has a dark and a bright half, nets differ in stroke, and all carry text. On small
pictures (half-blocks) the text is not drawn but told by `overlay_letters`, to be written as real characters.
"""

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from itertools import chain

from PIL import Image, ImageChops, ImageDraw

from layoutdrill.extract.model import Extraction
from layoutdrill.geometry.rect import Rect
from layoutdrill.layout.model import Layout
from layoutdrill.netlist.model import Netlist
from layoutdrill.picture.die import PERFECT, Die, mask_of
from layoutdrill.picture.letter_places import letter_places
from layoutdrill.picture.masks import Raster
from layoutdrill.picture.overlay_ink import (
    STROKES,
    ink_cross,
    ink_crosshair,
    ink_leader,
    ink_net,
    ink_outline,
    ink_pointer,
    ink_ring,
    ink_scale_bar,
    ink_text,
    ring_radius,
)
from layoutdrill.picture.view import View
from layoutdrill.process import Process
from layoutdrill.process.model import SUBSTRATE
from layoutdrill.units import round_length
from layoutdrill.value import value

LETTERS_FROM = 6.0
"""Pixels per λ from which text is drawn into the image."""


@value
class Tag:
    """A short text at a point (grid units). With `ring` the point is ringed, and the text stands beside the ring."""

    text: str
    x: int
    y: int
    ring: bool = False


@value
class Part:
    """A named part of the drawing: outlined in dashes, its name at the upper left."""

    name: str
    rects: tuple[Rect, ...]


@value
class Overlay:
    """
    What to mark. `transistors` and `nets` pair a name in the extraction with the text to show; `marks` are a
    question's lettered places; `spots` are places to ring without a letter; `numbered` are transistors with their text
    and no outline; `yours` is the place that a learner pointed at, crossed. What is `shunned`, contacts and gates,
    stays free of strokes, and of the letters of ringed marks where it can.
    """

    transistors: tuple[tuple[str, str], ...] = ()
    nets: tuple[tuple[str, str], ...] = ()
    marks: tuple[Tag, ...] = ()
    ports: tuple[Tag, ...] = ()
    rails: tuple[Tag, ...] = ()
    spots: tuple[tuple[int, int], ...] = ()
    parts: tuple[Part, ...] = ()
    crosshair: tuple[int, int] | None = None
    scale_bar: bool = False
    shunned: tuple[Rect, ...] = ()
    numbered: tuple[tuple[str, str], ...] = ()
    yours: tuple[int, int] | None = None


def devices_overlay(extraction: Extraction, among: Netlist | None = None) -> Overlay:
    """Number the transistors (all, or those of `among`) from 1, in reading order: from the top left, row by row."""
    chosen = extraction.netlist if among is None else among
    places = [(extraction.channel(t.name), t.name) for t in chosen.transistors]
    order = sorted((-rects[0].y1, rects[0].x0, name) for rects, name in places if rects)
    return Overlay(transistors=tuple((name, str(i)) for i, (_, _, name) in enumerate(order, 1)), scale_bar=True)


def nets_overlay(extraction: Extraction, nets: Iterable[str] | None = None) -> Overlay:
    """Number nets from 1 (all of them, or those named), in the netlist's order."""
    chosen = extraction.netlist.nets if nets is None else tuple(nets)
    return Overlay(nets=tuple((name, str(i)) for i, name in enumerate(chosen, 1)), scale_bar=True)


def net_rects(extraction: Extraction, process: Process, net: str) -> list[Rect]:
    """Return the wires and diffusions of a net; a well would cover all that lies in it, so wells are left out."""
    wells = {name for name, layer in process.layers.items() if layer.role == "well"} | {SUBSTRATE}
    return [r for name, shapes in extraction.net_shapes(net).items() if name not in wells for r in shapes]


def net_areas(extraction: Extraction, process: Process, net: str) -> list[tuple[str | None, Sequence[Rect]]]:
    """Return the same with the mask layer whose edges each follows."""
    wells = {name for name, layer in process.layers.items() if layer.role == "well"} | {SUBSTRATE}
    shapes = extraction.net_shapes(net).items()
    return [(mask_of(process, name), rects) for name, rects in shapes if name not in wells]


def _gate_mask(process: Process) -> str | None:
    return mask_of(process, process.transistors[0].channel, channel=True) if process.transistors else None


def on_die(overlay: Overlay, layout: Layout, process: Process, die: Die) -> Overlay:
    """Return the overlay with every point where one sees on a die what it marks (to the nearest grid unit)."""
    if die is PERFECT:
        return overlay

    def seen(x: int, y: int) -> tuple[int, int]:
        at = die.seen_at(layout, process, x, y)
        return round(at[0]), round(at[1])

    def moved(tags: tuple[Tag, ...]) -> tuple[Tag, ...]:
        return tuple(Tag(tag.text, *seen(tag.x, tag.y), tag.ring) for tag in tags)

    return replace(
        overlay,
        marks=moved(overlay.marks),
        ports=moved(overlay.ports),
        rails=moved(overlay.rails),
        spots=tuple(seen(x, y) for x, y in overlay.spots),
        yours=None if overlay.yours is None else seen(*overlay.yours),
    )


def draw_overlay(
    image: Image.Image,
    extraction: Extraction | None,
    process: Process,
    view: View,
    overlay: Overlay,
    die: Die = PERFECT,
) -> Image.Image:
    """
    Return a copy of the image with the marks on it; text only from LETTERS_FROM pixels per λ.

    Outlines follow the masks of the `die`; points of the overlay are already where they are seen (`on_die`).
    """
    image = image.copy()
    raster = Raster(process, view, die=die)
    fine = view.pixels_per_lambda >= LETTERS_FROM
    free = _kept_free(image.size, process, view, overlay)
    for i, (net, _) in enumerate(overlay.nets):
        assert extraction is not None
        area = ImageChops.subtract(raster.outline(net_areas(extraction, process, net)), free)
        ink_net(image, area, stroke_of(process, net, i), fine=fine)
    for transistor, _ in overlay.transistors:
        assert extraction is not None
        ink_outline(image, raster.outline([(_gate_mask(process), extraction.channel(transistor))]), fine=fine)
    for part in overlay.parts:
        ink_outline(image, raster.mask(part.rects), fine=fine, dashed=True)
    draw = ImageDraw.Draw(image)
    letters = mark_letters(process, view, overlay)
    for tag, letter in zip(overlay.marks, letters, strict=True):
        if tag.ring and letter is not None:
            at = view.to_pixel(process, tag.x, tag.y)
            ink_leader(image, at, letter, ring_radius(view.pixels_per_lambda), fine=fine)
    for x, y in rings_of(overlay):
        ink_ring(image, view.to_pixel(process, x, y), view.pixels_per_lambda, fine=fine)
    if overlay.yours is not None:
        ink_cross(image, view.to_pixel(process, *overlay.yours), view.pixels_per_lambda, fine=fine)
    if overlay.crosshair is not None:
        ink_crosshair(image, view.to_pixel(process, *overlay.crosshair))
    if overlay.scale_bar:
        ink_scale_bar(image, scale_bar(process, view)[0], fine=fine)
    if fine:
        for tag, letter in zip(overlay.marks, letters, strict=True):
            if not tag.ring and letter is not None:
                ink_pointer(draw, view.to_pixel(process, tag.x, tag.y), letter)
        size = int(max(11, min(20, view.pixels_per_lambda * 1.6)))
        for column, row, text, strong in overlay_texts(extraction, process, view, overlay):
            ink_text(draw, image.size, (column, row), text, size, strong=strong)
    return image


def stroke_of(process: Process, net: str, place: int) -> int:
    """Return the number of a net's stroke: each rail has one of its own wherever it is shown, other nets the rest."""
    if net in process.supplies:
        return process.supplies.index(net)
    rails = len(process.supplies)
    return rails + place % (len(STROKES) - rails)


def _kept_free(size: tuple[int, int], process: Process, view: View, overlay: Overlay) -> Image.Image:
    """Return the mask of what no stroke may cover: contacts and gates, and whatever is ringed or lettered."""
    free = Image.new("L", size)
    draw = ImageDraw.Draw(free)
    margin = view.pixels_per_lambda / 2
    for rect in overlay.shunned:
        x0, y0, x1, y1 = _pixels(process, view, rect)
        if x1 >= 0 and y1 >= 0 and x0 < size[0] and y0 < size[1]:
            draw.rectangle((x0 - margin, y0 - margin, x1 + margin - 1, y1 + margin - 1), fill=255)
    reach = ring_radius(view.pixels_per_lambda)
    for x, y in (*rings_of(overlay), *((tag.x, tag.y) for tag in overlay.marks)):
        column, row = view.to_pixel(process, x, y)
        draw.ellipse((column - reach, row - reach, column + reach, row + reach), fill=255)
    return free


def overlay_letters(
    extraction: Extraction | None, process: Process, view: View, overlay: Overlay
) -> list[tuple[int, int, str]]:
    """
    Return (column, row, text) in terminal cells: what `draw_overlay` leaves out on a small picture.

    A text starts at its cell; where two would collide the later one moves to the nearest free cells. What is ringed
    stays free of text.
    """
    columns, pixel_rows = view.size(process)
    rows = (pixel_rows + 1) // 2
    taken: set[tuple[int, int]] = set()
    reach = math.ceil(ring_radius(view.pixels_per_lambda))
    for x, y in rings_of(overlay):
        cx, cy = (int(v) for v in view.to_pixel(process, x, y))
        across, down = range(cx - reach, cx + reach + 1), range((cy - reach) // 2, (cy + reach) // 2 + 1)
        taken.update((c, r) for c in across for r in down)
    placed: list[tuple[int, int, str]] = []
    ranked = sorted(overlay_texts(extraction, process, view, overlay), key=lambda t: not t[3])
    for middle, row, text, _ in ranked:
        if not (0 <= middle < columns and 0 <= row < pixel_rows):
            continue
        c0, r0 = int(middle) - (len(text) - 1) // 2, int(row) // 2
        for dr, dc in _NEAR:
            c = max(0, min(columns - len(text), c0 + dc))
            r = max(0, min(rows - 1, r0 + dr))
            cells = {(c + i, r) for i in range(len(text))}
            if not cells & taken:
                taken |= cells | {(c - 1, r), (c + len(text), r)}
                placed.append((c, r, text))
                break
    return placed


_NEAR = sorted(((dr, dc) for dr in range(-7, 8) for dc in range(-16, 17)), key=lambda d: (4 * d[0] ** 2 + d[1] ** 2, d))


def rings_of(overlay: Overlay) -> tuple[tuple[int, int], ...]:
    """Return every place that is ringed, each once."""
    return tuple(dict.fromkeys((*overlay.spots, *((tag.x, tag.y) for tag in overlay.marks if tag.ring))))


def overlay_texts(
    extraction: Extraction | None, process: Process, view: View, overlay: Overlay
) -> list[tuple[float, float, str, bool]]:
    """Return every text with its middle in pixels; the flag marks those that a question needs."""
    texts: list[tuple[float, float, str, bool]] = []
    fine = view.pixels_per_lambda >= LETTERS_FROM
    for tag, letter in zip(overlay.marks, mark_letters(process, view, overlay), strict=True):
        if letter is not None:
            texts.append((*(letter if fine or tag.ring else view.to_pixel(process, tag.x, tag.y)), tag.text, True))
    texts.extend((*view.to_pixel(process, t.x, t.y), t.text, False) for t in (*overlay.ports, *overlay.rails))
    if overlay.yours is not None:
        column, row = view.to_pixel(process, *overlay.yours)
        texts.append((column + max(4.0, 1.5 * view.pixels_per_lambda), row - 2, "you", True))
    for strong, group in ((True, overlay.transistors), (False, overlay.numbered)):
        for transistor, text in group:
            assert extraction is not None
            rects = extraction.channel(transistor)
            if rects:
                texts.append((*_middle(process, view, max(rects, key=lambda r: r.area)), text, strong))
    for net, text in overlay.nets:
        assert extraction is not None
        seen = [r for r in net_rects(extraction, process, net) if r.overlaps(view.region)]
        if seen:
            widest = sorted(seen, key=lambda r: (min(r.width, r.height), r.area), reverse=True)
            spots = chain.from_iterable(_clear_spots(process, view, rect, text, overlay.shunned) for rect in widest)
            marks = [view.to_pixel(process, tag.x, tag.y) for tag in overlay.marks]
            spot = _nearest(spots, marks) if marks else next(spots, None)
            texts.append((*(spot or _middle(process, view, widest[0])), text, True))
    for part in overlay.parts:
        if part.rects:
            left, top = min(r.x0 for r in part.rects), max(r.y1 for r in part.rects)
            column, row = view.to_pixel(process, left, top)
            texts.append((column + len(part.name) / 2, row, part.name, False))
    if overlay.scale_bar:
        length, text = scale_bar(process, view)
        columns, rows = view.size(process)
        if view.pixels_per_lambda < LETTERS_FROM:
            texts.append((min(columns - len(text) / 2 - 1, 3 + length + len(text) / 2), rows - 2, text, False))
        else:
            texts.append((10 + length / 2, rows - 26, text, False))
    return texts


def _pixels(process: Process, view: View, rect: Rect) -> tuple[float, float, float, float]:
    return (*view.to_pixel(process, rect.x0, rect.y1), *view.to_pixel(process, rect.x1, rect.y0))


def _middle(process: Process, view: View, rect: Rect) -> tuple[float, float]:
    shown = rect.common(view.region) or rect
    return view.to_pixel(process, (shown.x0 + shown.x1) / 2, (shown.y0 + shown.y1) / 2)


def mark_letters(process: Process, view: View, overlay: Overlay) -> list[tuple[float, float] | None]:
    """Return where the letter of each mark goes, in pixels; None for a mark that is out of the picture."""
    rings = tuple(view.to_pixel(process, x, y) for x, y in rings_of(overlay))
    taken = tuple(_pixels(process, view, rect) for rect in overlay.shunned)
    marks = [(view.to_pixel(process, tag.x, tag.y), tag.ring) for tag in overlay.marks]
    per = view.pixels_per_lambda
    return letter_places(marks, view.size(process), per, fine=per >= LETTERS_FROM, rings=rings, taken=taken)


def _clear_spots(
    process: Process, view: View, rect: Rect, text: str, shunned: Sequence[Rect]
) -> Iterator[tuple[float, float]]:
    """Yield the places along a wire, from its middle to its ends, where a text stands on nothing `shunned`."""
    x, y = _middle(process, view, rect)
    fine = view.pixels_per_lambda >= LETTERS_FROM
    half, high = (4.5 * len(text) + 3, 9.0) if fine else (len(text) / 2 + 0.5, 1.0)
    left, top, right, low = _pixels(process, view, rect.common(view.region) or rect)
    level = right - left >= low - top
    reach = max(0.0, (right - left - 2 * half) / 2 if level else (low - top - 2 * high) / 2)
    taken = [_pixels(process, view, each) for each in shunned if each.overlaps(rect)]
    for step in range(int(reach) + 1):
        for aside in (step, -step):
            cx, cy = (x + aside, y) if level else (x, y + aside)
            if not any(
                cx - half < x1 and x0 < cx + half and cy - high < y1 and y0 < cy + high for x0, y0, x1, y1 in taken
            ):
                yield cx, cy


def _nearest(spots: Iterable[tuple[float, float]], marks: Sequence[tuple[float, float]]) -> tuple[float, float] | None:
    """Return the spot nearest to any of some marks: what is asked about is in sight, and so is a name beside it."""
    return min(spots, key=lambda spot: (min(math.dist(spot, mark) for mark in marks), spot), default=None)


def scale_bar(process: Process, view: View) -> tuple[int, str]:
    """Return the bar's length in pixels and its text: 1, 2 or 5 × 10ⁿ µm, a quarter of the picture at most."""
    pixels_per_um = view.scale(process) / process.grid_nm * 1000
    best = round_length(view.size(process)[0] / 4, pixels_per_um) or 0.01
    return max(2, round(best * pixels_per_um)), f"{best:g} µm"
