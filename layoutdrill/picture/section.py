"""
A section: the films of a drawing in their true order and thickness along a line, as a textbook shows them.

Heights are drawn larger than widths by a factor that the figure states. A film laid conformally is drawn as if a ball
of its thickness had been rolled over what lies below; dopings reach down to the depths that the process file gives.
"""

import math
from bisect import bisect_right
from collections.abc import Callable
from itertools import pairwise

from PIL import Image, ImageChops, ImageDraw, ImageFont

from layoutdrill.errors import LayoutdrillError
from layoutdrill.extract.model import Extraction
from layoutdrill.geometry.rect import Rect
from layoutdrill.layout.model import Layout
from layoutdrill.picture.colour import RGB
from layoutdrill.picture.layers import flat
from layoutdrill.process import Process
from layoutdrill.process.films import Films, Junction, Place, holds, load_films
from layoutdrill.process.terms import Kind
from layoutdrill.units import GridUnits, round_length
from layoutdrill.value import value

HEIGHTS = 3.0
"""Heights are drawn so many times larger than widths."""
BELOW, CLEAR_BELOW = 1.15, 700.0
"""How much of the silicon is drawn: so many times the deepest doping; nm of a clear base."""
MOST_BELOW = 9000.0
_ROOM_ABOVE = 1.15
"""The figure's height over the silicon, of that of the highest film."""
_CLEAR = 0.9
"""The part of that height which nothing reaches."""
PAPER: RGB = (250, 249, 246)
INK: RGB = (40, 40, 44)
COLOURS: dict[str, RGB] = {
    "silicon": (206, 203, 198), "n": (196, 220, 190), "p": (238, 219, 176), "light n": (219, 229, 214),
    "light p": (240, 231, 211), "oxide": (222, 233, 246), "nitride": (190, 205, 225), "poly": (206, 122, 110),
    "aluminium": (158, 166, 184), "titanium-nitride": (196, 160, 96), "sapphire": (236, 241, 250),
}  # fmt: skip


@value
class Span:
    """
    A stretch of the line from `x0` to `x1` (grid units) in which nothing changes: the place, what metals lie over it,
    and the dopings below, the last of which shows at the surface. `cuts` are holes drawn there.
    """

    x0: int
    x1: int
    place: Place
    metals: tuple[int, ...]
    junctions: tuple[Junction, ...]
    cuts: frozenset[str]


def section_line(layout: Layout, process: Process, extraction: Extraction | None = None) -> int:
    """Return the height y of a line worth cutting along: through the most gates and contacts."""
    shapes = flat(layout).shapes
    cuts = [r for n, layer in process.layers.items() if layer.role in ("contact", "via") for r in shapes.get(n, ())]
    gates = []
    if extraction is not None:
        gates = [r for t in extraction.netlist.transistors for r in extraction.channel(t.name)]
    if not cuts and not gates:
        box = layout.box
        return box.centre[1] if box else 0

    def worth(y: int) -> int:
        return 3 * sum(r.y0 < y < r.y1 for r in gates) + sum(r.y0 < y < r.y1 for r in cuts)

    tried = sorted({r.centre[1] for r in (*gates, *cuts)})
    return max(tried, key=lambda y: (worth(y), -y))


def spans(layout: Layout, process: Process, y: GridUnits, x0: GridUnits, x1: GridUnits) -> list[Span]:
    """Return what lies along a line from x0 to x1, from left to right."""
    films = load_films(process)
    crossing: dict[str, list[Rect]] = {
        name: [r for r in rects if r.y0 <= y < r.y1 and r.x1 > x0 and r.x0 < x1]
        for name, rects in flat(layout).shapes.items()
    }
    edges = {x0, x1} | {x for rects in crossing.values() for r in rects for x in (r.x0, r.x1) if x0 < x < x1}
    spans: list[Span] = []
    xs = sorted(edges)
    for left, right in pairwise(xs):
        drawn = {name: any(r.x0 <= left < r.x1 for r in rects) for name, rects in crossing.items()}
        span = _span(process, films, drawn, left, right)
        if spans and _alike(spans[-1], span):
            span = Span(spans[-1].x0, right, span.place, span.metals, span.junctions, span.cuts)
            spans.pop()
        spans.append(span)
    return spans


def _span(process: Process, films: Films, drawn: dict[str, bool], left: int, right: int) -> Span:
    fitting = (place for place in films.places[:-1] if place.where and holds(process, place.where, drawn))
    metals = tuple(i for i, metal in enumerate(films.metals) if drawn.get(metal.layer))
    dopings = tuple(j for j in films.junctions if holds(process, j.where, drawn))
    roles = ("contact", "via")
    cuts = frozenset(n for n, on in drawn.items() if on and process.layers[n].role in roles)
    return Span(left, right, next(fitting, films.places[-1]), metals, dopings, cuts)


def _alike(one: Span, other: Span) -> bool:
    return (one.place, one.metals, one.junctions, one.cuts) == (
        other.place, other.metals, other.junctions, other.cuts,
    )  # fmt: skip


def section_table(
    layout: Layout, process: Process, y: GridUnits, x0: GridUnits, x1: GridUnits, place: tuple[str, int] | None = None
) -> list[str]:
    """
    Tell the section, a text a stretch, from left to right: from, to (λ), and what lies there from the top down. The
    stretch that holds the x of a named `place` says so.
    """
    films = load_films(process)
    unit = process.grid_per_lambda
    lines = [
        f"Cut along y = {y / unit:g} λ, from left to right; each stretch from the top down, with how thick it is in µm."
    ]
    for span in spans(layout, process, y, x0, x1):
        parts = [
            f"{process.layers[films.metals[i].layer].title} {_um(films.metals[i].nm)}" for i in reversed(span.metals)
        ]
        parts += [f"{film.material} {_um(film.nm)}" for film in reversed(span.place.films)]
        for junction in reversed(span.junctions):
            parts.append(f"{junction.name} down to {_um(junction.nm)}")
        if not (span.junctions and films.base == "sapphire"):
            parts.append(films.base)
        here = f", here {place[0]}" if place is not None and span.x0 <= place[1] < span.x1 else ""
        lines.append(f"{span.x0 / unit:g} to {span.x1 / unit:g} λ{here}: {', '.join(parts)}")
    return lines


def _um(nm: float) -> str:
    return f"{nm / 1000:.2g}"


class Section:
    """
    A section ready to be drawn: along `y` from `x0` to `x1` in grid units. Its own upright axis is in grid units too,
    0 at the first surface of the silicon, heights being HEIGHTS times too large.
    """

    def __init__(self, layout: Layout, process: Process, y: int, x0: int, x1: int) -> None:
        if x1 <= x0:
            raise LayoutdrillError("a section needs a line of some length", todo="give it two ends")
        self.process, self.films = process, load_films(process)
        self.spans = spans(layout, process, y, x0, x1)
        self.x0, self.x1, self.y = x0, x1, y
        self._starts = [span.x0 for span in self.spans]
        self.per_nm = HEIGHTS / process.grid_nm
        """Grid units of the figure's height in a nm."""
        tall = max(place.height for place in self.films.places) + sum(m.nm + m.insulator for m in self.films.metals)
        deep = max((junction.nm for junction in self.films.junctions), default=1500.0)
        self.top = _ROOM_ABOVE * tall
        self.bottom = CLEAR_BELOW if self.films.base == "sapphire" else min(MOST_BELOW, BELOW * deep + 400)

    @property
    def box(self) -> Rect:
        """Return the extent of the figure in grid units."""
        return Rect(self.x0, round(-self.bottom * self.per_nm), self.x1, round(self.top * self.per_nm))

    def span_at(self, x: float) -> Span:
        return self.spans[max(0, bisect_right(self._starts, x) - 1)]

    def image(self, region: Rect, scale: float) -> Image.Image:
        """Draw a region (grid units of the figure) at pixels in a grid unit."""
        width, height = max(1, round(region.width * scale)), max(1, round(region.height * scale))
        image = Image.new("RGB", (width, height), PAPER)
        draw = ImageDraw.Draw(image)
        margin = round(1500 / self.process.grid_nm * scale) + 1
        columns = range(-margin, width + margin)
        spans_of = [self.span_at(min(max(region.x0 + (x + 0.5) / scale, self.x0), self.x1 - 0.001)) for x in columns]
        nm_across = self.process.grid_nm / scale

        def row(nm: float) -> int:
            return round((region.y1 - nm * self.per_nm) * scale)

        tops = [span.place.height for span in spans_of]
        layers: list[tuple[str, list[float], list[float], list[bool]]] = []
        surface = tops
        for i, metal in enumerate(self.films.metals):
            if metal.insulator:
                surface = _rolled(surface, metal.insulator, nm_across)
            open_here = [bool(metal.holes) and any(name in span.cuts for name in metal.holes) for span in spans_of]
            bed = [low - (metal.insulator if hole else 0) for low, hole in zip(surface, open_here, strict=True)]
            covered = [i in span.metals for span in spans_of]
            over = _rolled(bed, metal.nm, nm_across) if not self.films.planar else [v + metal.nm for v in surface]
            layers.append((metal.material, bed, over, covered))
            surface = [o if on else s for o, s, on in zip(over, surface, covered, strict=True)]
        for i, x in enumerate(columns):
            if not 0 <= x < width:
                continue
            self._column(draw, x, row, spans_of[i])
            below = spans_of[i].place.height
            for material, bed, over, covered in layers:
                if covered[i]:
                    if bed[i] > below:
                        _bar(draw, x, row(bed[i]), row(below), COLOURS["oxide"])
                    _bar(
                        draw, x, row(over[i]), row(min(bed[i], below) if bed[i] < below else bed[i]), COLOURS[material]
                    )
                    below = over[i]
        _edged(image)
        return image

    def point_at(self, image: Image.Image, region: Rect, scale: float, x: GridUnits) -> None:
        """Mark on a drawn region the place x: a stroke in the paper over the highest film."""
        column = (x - region.x0) * scale
        top, low = ((region.y1 - share * self.top * self.per_nm) * scale for share in (1.0, _CLEAR))
        wide = max(1, image.width // 200)
        ImageDraw.Draw(image).rectangle((column, top, column + wide - 1, max(top, low)), fill=INK)

    def _column(self, draw: ImageDraw.ImageDraw, x: int, row: Callable[[float], int], span: Span) -> None:
        """Draw the base, the dopings and the films of one column."""
        silicon = span.place.height - sum(film.nm for film in span.place.films)
        clear = self.films.base == "sapphire"
        _bar(draw, x, row(silicon), row(-self.bottom), COLOURS["sapphire" if clear else self._wafer])
        if not clear:
            for junction in span.junctions:
                heavy = junction.nm < 0.9 * max(j.nm for j in self.films.junctions) or len(self.films.junctions) == 1
                tone = junction.kind.value if heavy else f"light {junction.kind.value}"
                _bar(draw, x, row(silicon), row(silicon - junction.nm), COLOURS[tone])
        level = silicon
        for film in span.place.films:
            colour = COLOURS[film.material]
            if film.material == "silicon" and span.junctions:
                colour = COLOURS[span.junctions[-1].kind.value]
            _bar(draw, x, row(level + film.nm), row(level), colour)
            level += film.nm

    @property
    def _wafer(self) -> str:
        wells = [junction for junction in self.films.junctions if "well" in junction.name]
        if wells:
            return "light p" if wells[0].kind is Kind.N else "light n"
        kind = self.process.transistors[0].kind if self.process.transistors else Kind.N
        return "light p" if kind is Kind.N else "light n"

    def named(self, width: int) -> Image.Image:
        """Return the whole figure, `width` pixels across, with the names at its side and its factor below."""
        box = self.box
        scale = width / box.width
        figure = self.image(box, scale)
        font = ImageFont.load_default(14)
        rows = self.names()
        side = 330
        height = max(figure.height, 24 * len(rows) + 16) + 46
        image = Image.new("RGB", (figure.width + side, height), PAPER)
        image.paste(figure, (0, 8))
        draw = ImageDraw.Draw(image)
        for i, (colour, text) in enumerate(rows):
            y = 10 + 24 * i
            draw.rectangle((figure.width + 18, y, figure.width + 38, y + 15), fill=colour, outline=INK)
            draw.text((figure.width + 46, y), text, fill=INK, font=font)
        bar = round_length(box.width * self.process.grid_nm / 1000 / 5)
        pixels = bar * 1000 / self.process.grid_nm * scale
        base = figure.height + 22
        draw.rectangle((10, base, 10 + pixels, base + 5), fill=INK)
        draw.text((10, base + 7), f"{bar:g} um, heights {HEIGHTS:g} times larger", fill=INK, font=font)
        return image

    def names(self) -> list[tuple[RGB, str]]:
        """Return colour and name of what is in the figure, from the top down."""
        names_of: list[tuple[RGB, str]] = []
        used = {i for span in self.spans for i in span.metals}
        for i in sorted(used, reverse=True):
            metal = self.films.metals[i]
            title = self.process.layers[metal.layer].title
            names_of.append((COLOURS[metal.material], f"{title}, {_um(metal.nm)} um {metal.material}"))
        thicknesses: dict[str, set[float]] = {}
        for span in self.spans:
            for film in span.place.films:
                thicknesses.setdefault(film.material, set()).add(film.nm)
        for material in ("nitride", "poly", "oxide", "silicon"):
            if material in thicknesses:
                low, high = min(thicknesses[material]), max(thicknesses[material])
                span_of = _um(low) if low == high else f"{_um(low)} to {_um(high)}"
                names_of.append((COLOURS[material], f"{material}, {span_of} um"))
        deepest = max((j.nm for j in self.films.junctions), default=0)
        for junction in reversed(dict.fromkeys(j for span in self.spans for j in span.junctions)):
            heavy = junction.nm < 0.9 * deepest or len(self.films.junctions) == 1 or self.films.base == "sapphire"
            tone = junction.kind.value if heavy else f"light {junction.kind.value}"
            names_of.append((COLOURS[tone], f"{junction.name}, {_um(junction.nm)} um deep"))
        if self.films.base == "sapphire":
            names_of.append((COLOURS["sapphire"], "sapphire"))
        else:
            names_of.append((COLOURS[self._wafer], f"silicon wafer, {self._wafer.removeprefix('light ')}"))
        return names_of


def _bar(draw: ImageDraw.ImageDraw, x: int, top: int, low: int, colour: RGB) -> None:
    if low > top:
        draw.line((x, top, x, low - 1), fill=colour)


def _rolled(surface: list[float], thick: float, nm_across: float) -> list[float]:
    """Return the top of a film `thick` nm thick over a surface, as a ball of that radius rolled over it leaves it."""
    reach = int(thick / nm_across)
    lifts = [(i, math.sqrt(max(0.0, thick * thick - (i * nm_across) ** 2))) for i in range(-reach, reach + 1)]
    count = len(surface)
    return [max(surface[x + i] + lift for i, lift in lifts if 0 <= x + i < count) for x in range(count)]


def _edged(image: Image.Image) -> None:
    """Draw a thin line wherever one material meets another."""
    grey = image.convert("L")
    edge = ImageChops.lighter(
        ImageChops.difference(grey, ImageChops.offset(grey, 1, 0)),
        ImageChops.difference(grey, ImageChops.offset(grey, 0, 1)),
    ).point([0] * 4 + [150] * 252)
    edge.paste(0, (0, 0, 1, image.height))
    edge.paste(0, (0, 0, image.width, 1))
    image.paste(INK, (0, 0, *image.size), edge)
