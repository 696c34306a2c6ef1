"""
Mark a picture: devices outlined and numbered, nets in strokes, lettered places, rails, crosshair, scale bar, parts.

Nothing rests on hue: every line has a dark and a bright half, nets differ in stroke, and all carry text. On small
pictures (half-blocks) the text is not drawn but told by `overlay_letters`, to be written as real characters.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import lru_cache

from PIL import Image, ImageChops, ImageDraw, ImageFilter, ImageFont

from layoutdrill.extract.model import Extraction
from layoutdrill.geometry.rect import Rect
from layoutdrill.layout.model import Layout
from layoutdrill.picture.colour import RGB
from layoutdrill.picture.looks import Hatch
from layoutdrill.picture.masks import Raster
from layoutdrill.picture.painted import hatch_tile
from layoutdrill.picture.view import View
from layoutdrill.process import Process
from layoutdrill.process.model import SUBSTRATE

BRIGHT: RGB = (255, 244, 120)
DARK: RGB = (36, 0, 60)
LETTERS_FROM = 6.0
"""Pixels per λ from which text is drawn into the image."""

STROKES = (Hatch.RISING, Hatch.LEVEL, Hatch.DOTS, Hatch.UPRIGHT, Hatch.FALLING, Hatch.CROSSED)
NET_COLOURS: tuple[RGB, ...] = (
    (255, 236, 110),
    (140, 235, 255),
    (255, 175, 235),
    (180, 255, 160),
    (255, 200, 140),
    (225, 215, 255),
    (255, 255, 255),
)


@dataclass(frozen=True, slots=True)
class Tag:
    """A short text at a point (grid units)."""

    text: str
    x: int
    y: int


@dataclass(frozen=True, slots=True)
class Part:
    """A named part of the drawing: outlined in dashes, its name at the upper left."""

    name: str
    rects: tuple[Rect, ...]


@dataclass(frozen=True, slots=True)
class Overlay:
    """
    What to mark. `transistors` and `nets` pair a name in the extraction with the text to show; `marks` are a
    question's lettered places; `spots` are places to ring without a letter.
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


def devices_overlay(extraction: Extraction) -> Overlay:
    """Number every transistor from 1, in reading order: from the top left, row by row."""
    places = [(extraction.channel(t.name), t.name) for t in extraction.netlist.transistors]
    order = sorted((-rects[0].y1, rects[0].x0, name) for rects, name in places if rects)
    return Overlay(transistors=tuple((name, str(i)) for i, (_, _, name) in enumerate(order, 1)), scale_bar=True)


def nets_overlay(extraction: Extraction, nets: Iterable[str] | None = None) -> Overlay:
    """Number nets from 1 (all of them, or those named), in the netlist's order."""
    chosen = extraction.netlist.nets if nets is None else tuple(nets)
    return Overlay(nets=tuple((name, str(i)) for i, name in enumerate(chosen, 1)), scale_bar=True)


def label_tags(layout: Layout, process: Process) -> tuple[tuple[Tag, ...], tuple[Tag, ...]]:
    """Return the layout's port letters and its rail names, each net's first label."""
    ports: dict[str, Tag] = {}
    rails: dict[str, Tag] = {}
    for label in layout.labels:
        kept = rails if label.text in process.supplies else ports
        kept.setdefault(label.text, Tag(label.text, label.x, label.y))
    return tuple(ports.values()), tuple(rails.values())


def net_rects(extraction: Extraction, process: Process, net: str) -> list[Rect]:
    """Return the wires and diffusions of a net; a well would cover all that lies in it, so wells are left out."""
    wells = {name for name, layer in process.layers.items() if layer.role == "well"} | {SUBSTRATE}
    return [r for name, shapes in extraction.net_shapes(net).items() if name not in wells for r in shapes]


def draw_overlay(
    image: Image.Image, extraction: Extraction | None, process: Process, view: View, overlay: Overlay
) -> Image.Image:
    """Return a copy of the image with the marks on it; text only from LETTERS_FROM pixels per λ."""
    image = image.copy()
    raster = Raster(process, view)
    fine = view.pixels_per_lambda >= LETTERS_FROM
    for i, (net, _) in enumerate(overlay.nets):
        assert extraction is not None
        _net(image, raster.mask(net_rects(extraction, process, net)), i, view.pixels_per_lambda)
    for transistor, _ in overlay.transistors:
        assert extraction is not None
        _outline(image, raster.mask(extraction.channel(transistor)), fine=fine)
    for part in overlay.parts:
        _outline(image, raster.mask(part.rects), fine=fine, dashed=True)
    draw = ImageDraw.Draw(image)
    for x, y in overlay.spots:
        _ring(image, view.to_pixel(process, x, y), view.pixels_per_lambda)
    if overlay.crosshair is not None:
        _crosshair(image, view.to_pixel(process, *overlay.crosshair))
    if overlay.scale_bar:
        _scale_bar(image, process, view, fine=fine)
    if fine:
        for tag in overlay.marks:
            _pointer(draw, view.to_pixel(process, tag.x, tag.y), beside(process, view, tag))
        size = int(max(11, min(20, view.pixels_per_lambda * 1.6)))
        for column, row, text, strong in overlay_texts(extraction, process, view, overlay):
            _write(draw, image.size, (column, row), text, size, strong=strong)
    return image


def overlay_letters(
    extraction: Extraction | None, process: Process, view: View, overlay: Overlay
) -> list[tuple[int, int, str]]:
    """
    Return (column, row, text) in terminal cells: what `draw_overlay` leaves out on a small picture.

    A text starts at its cell; where two would collide the later one moves to the nearest free cells.
    """
    columns, pixel_rows = view.size(process)
    rows = (pixel_rows + 1) // 2
    taken: set[tuple[int, int]] = set()
    placed: list[tuple[int, int, str]] = []
    ranked = sorted(overlay_texts(extraction, process, view, overlay), key=lambda t: not t[3])
    for column, row, text, _ in ranked:
        if not (0 <= column < columns and 0 <= row < pixel_rows):
            continue
        c0, r0 = int(column) - (len(text) - 1) // 2, int(row) // 2
        for dr, dc in _NEAR:
            c = max(0, min(columns - len(text), c0 + dc))
            r = max(0, min(rows - 1, r0 + dr))
            cells = {(c + i, r) for i in range(len(text))}
            if not cells & taken:
                taken |= cells | {(c - 1, r), (c + len(text), r)}
                placed.append((c, r, text))
                break
    return placed


_NEAR = sorted(((dr, dc) for dr in range(-2, 3) for dc in range(-4, 5)), key=lambda d: (4 * d[0] ** 2 + d[1] ** 2, d))


def overlay_texts(
    extraction: Extraction | None, process: Process, view: View, overlay: Overlay
) -> list[tuple[float, float, str, bool]]:
    """Return every text with its middle in pixels; the flag marks those that a question needs."""
    texts: list[tuple[float, float, str, bool]] = []
    fine = view.pixels_per_lambda >= LETTERS_FROM
    for tag in overlay.marks:
        place = beside(process, view, tag) if fine else view.to_pixel(process, tag.x, tag.y)
        texts.append((*place, tag.text, True))
    texts.extend((*view.to_pixel(process, t.x, t.y), t.text, False) for t in (*overlay.ports, *overlay.rails))
    for transistor, text in overlay.transistors:
        assert extraction is not None
        rects = extraction.channel(transistor)
        if rects:
            texts.append((*_middle(process, view, max(rects, key=lambda r: r.area)), text, True))
    for net, text in overlay.nets:
        assert extraction is not None
        seen = [r for r in net_rects(extraction, process, net) if r.overlaps(view.region)]
        if seen:
            texts.append(
                (*_middle(process, view, max(seen, key=lambda r: (min(r.width, r.height), r.area))), text, True)
            )
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


def beside(process: Process, view: View, tag: Tag) -> tuple[float, float]:
    """Return where a mark's letter goes on a large picture: not on the place itself, which it would cover."""
    columns, _ = view.size(process)
    column, row = view.to_pixel(process, tag.x, tag.y)
    away = max(20.0, 2.4 * view.pixels_per_lambda)
    return (
        column + away if column + away < columns - 12 else column - away,
        row - away if row - away > 12 else row + away,
    )


def _middle(process: Process, view: View, rect: Rect) -> tuple[float, float]:
    shown = rect.common(view.region) or rect
    return view.to_pixel(process, (shown.x0 + shown.x1) / 2, (shown.y0 + shown.y1) / 2)


def scale_bar(process: Process, view: View) -> tuple[int, str]:
    """Return the bar's length in pixels and its text: 1, 2 or 5 × 10ⁿ µm, a quarter of the picture at most."""
    pixels_per_um = view.scale(process) / process.grid_nm * 1000
    room = view.size(process)[0] / 4
    best = 0.01
    for power in range(-2, 5):
        for digit in (1, 2, 5):
            length = digit * 10.0**power
            if length * pixels_per_um <= room:
                best = length
    return max(2, round(best * pixels_per_um)), f"{best:g} µm"


def _net(image: Image.Image, area: Image.Image, index: int, per_lambda: float) -> None:
    colour = NET_COLOURS[index % len(NET_COLOURS)]
    box = (0, 0, *image.size)
    if per_lambda < LETTERS_FROM:
        stroke = hatch_tile(STROKES[index % len(STROKES)], image.size, 3, 1)
        image.paste(colour, box, ImageChops.darker(area, stroke))
        inner = ImageChops.subtract(area, area.filter(ImageFilter.MinFilter(3)))
        image.paste(DARK, box, ImageChops.darker(inner, ImageChops.invert(stroke)))
        return
    pattern = hatch_tile(STROKES[index % len(STROKES)], image.size, 9, 2)
    shadow = hatch_tile(STROKES[index % len(STROKES)], image.size, 9, 4)
    image.paste(DARK, box, ImageChops.darker(area, shadow))
    image.paste(colour, box, ImageChops.darker(area, pattern))
    ring = ImageChops.subtract(area.filter(ImageFilter.MaxFilter(5)), area)
    image.paste(DARK, box, ring)
    image.paste(colour, box, ImageChops.subtract(area, area.filter(ImageFilter.MinFilter(3))))


def _outline(image: Image.Image, area: Image.Image, *, fine: bool, dashed: bool = False) -> None:
    """Ring an area: bright within dark where there is room, else whichever stands out from the ground."""
    if area.getbbox() is None:
        return
    box = (0, 0, *image.size)
    if fine:
        near = area.filter(ImageFilter.MaxFilter(5))
        ring = ImageChops.subtract(near, area)
        halo = ImageChops.subtract(area.filter(ImageFilter.MaxFilter(9)), area.filter(ImageFilter.MinFilter(3)))
        if dashed:
            dashes = hatch_tile(Hatch.RISING, image.size, 14, 8)
            ring, halo = ImageChops.darker(ring, dashes), ImageChops.darker(halo, dashes)
        image.paste(DARK, box, halo)
        image.paste(BRIGHT, box, ring)
        return
    ring = ImageChops.subtract(area.filter(ImageFilter.MaxFilter(3)), area)
    if dashed:
        ring = ImageChops.darker(ring, hatch_tile(Hatch.RISING, image.size, 4, 2))
    _contrasting(image, ring)


def _contrasting(image: Image.Image, where: Image.Image) -> None:
    ground = image.convert("L").filter(ImageFilter.BoxBlur(1)).point(_OVER)
    image.paste(DARK, (0, 0, *image.size), ImageChops.darker(where, ground))
    image.paste(BRIGHT, (0, 0, *image.size), ImageChops.subtract(where, ground))


_OVER = [0] * 120 + [255] * 136


def _ring(image: Image.Image, at: tuple[float, float], per_lambda: float) -> None:
    radius = max(2.0, 2.2 * per_lambda)
    where = Image.new("L", image.size)
    box = (at[0] - radius, at[1] - radius, at[0] + radius, at[1] + radius)
    width = max(1, round(per_lambda / 4))
    ImageDraw.Draw(where).ellipse(box, outline=255, width=width)
    if per_lambda >= LETTERS_FROM:
        image.paste(DARK, (0, 0, *image.size), where.filter(ImageFilter.MaxFilter(5)))
        image.paste(BRIGHT, (0, 0, *image.size), where)
    else:
        _contrasting(image, where)


def _pointer(draw: ImageDraw.ImageDraw, at: tuple[float, float], letter: tuple[float, float]) -> None:
    """Ring the very place and lead from it to its letter."""
    x, y = at
    side, up = (1 if letter[0] > x else -1), (1 if letter[1] > y else -1)
    for colour, width in ((DARK, 4), (BRIGHT, 2)):
        draw.line((x + 3 * side, y + 3 * up, *letter), fill=colour, width=width)
    draw.ellipse((x - 5, y - 5, x + 5, y + 5), outline=DARK, width=4)
    draw.ellipse((x - 4, y - 4, x + 4, y + 4), outline=BRIGHT, width=2)


def _crosshair(image: Image.Image, at: tuple[float, float]) -> None:
    """Two lines that leave the middle free, so that what is pointed at stays visible."""
    column, row = int(at[0]), int(at[1])
    where = Image.new("L", image.size)
    draw = ImageDraw.Draw(where)
    width, height = image.size
    gap = 2
    for x0, x1 in ((0, column - gap), (column + gap, width - 1)):
        if x0 <= x1:
            draw.line((x0, row, x1, row), fill=255)
    for y0, y1 in ((0, row - gap), (row + gap, height - 1)):
        if y0 <= y1:
            draw.line((column, y0, column, y1), fill=255)
    _contrasting(image, where)


def _scale_bar(image: Image.Image, process: Process, view: View, *, fine: bool) -> None:
    length, _ = scale_bar(process, view)
    height = image.size[1]
    draw = ImageDraw.Draw(image)
    if fine:
        draw.rectangle((8, height - 15, 11 + length, height - 7), fill=DARK)
        draw.rectangle((10, height - 13, 9 + length, height - 9), fill=(255, 255, 255))
    else:
        draw.rectangle((1, height - 2, length, height - 1), fill=DARK)
        draw.rectangle((1, height - 2, length, height - 2), fill=(255, 255, 255))


@lru_cache(maxsize=16)
def _font(size: int) -> "ImageFont.FreeTypeFont | ImageFont.ImageFont":
    return ImageFont.load_default(size)


def _write(
    draw: ImageDraw.ImageDraw, room: Sequence[int], at: tuple[float, float], text: str, size: int, *, strong: bool
) -> None:
    font = _font(size)
    micro = text.find("µ")
    text = text.replace("µ", "u")  # the built-in font has no µ: a u gets its tail below
    left, top, right, low = draw.textbbox((0, 0), text, font=font)
    width, height = right - left, low - top
    x = max(2.0, min(room[0] - width - 4.0, at[0] - width / 2))
    y = max(2.0, min(room[1] - height - 4.0, at[1] - height / 2))
    pad = 2
    box = (x - pad - 1, y - pad, x + width + pad, y + height + pad)
    draw.rectangle(box, fill=BRIGHT if strong else DARK, outline=DARK if strong else BRIGHT)
    ink = DARK if strong else BRIGHT
    draw.text((x - left, y - top), text, fill=ink, font=font)
    if micro >= 0:
        at_x = x - left + draw.textlength(text[:micro], font=font) + max(1, size // 12)
        draw.line((at_x, y + height / 2, at_x, y + height + 1), fill=ink, width=max(1, size // 12))
