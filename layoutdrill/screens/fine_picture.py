"""
The fine picture that lies where a view's half-blocks would: which part of it, in which cells, and what goes out.

Where the terminal keeps images (kitty's protocol), one is sent for a piece of the drawing and panned by its rectangle,
cut up so that it leaves free what stands on the picture. Where it shows sixels, a still is laid over the half-blocks
once nothing moves.
"""

from collections.abc import Iterable
from itertools import count

from PIL import Image
from rich.segment import Segment
from rich.style import Style
from textual.strip import Strip

from layoutdrill.geometry.rect import Rect
from layoutdrill.picture.placement import Part, forgotten, lifted, placed, sent
from layoutdrill.picture.sixel import sixels
from layoutdrill.screens.graphics import Graphics
from layoutdrill.screens.viewport import Viewport
from layoutdrill.value import mutable, value

MOST_PIXELS = 2_000_000
"""Of one fine picture: most of a second to draw, three megabytes to send at most; the terminal makes it larger."""
FINEST = 16.0
"""Pixels per λ beyond which nothing more is to be seen."""
SYNC, DONE = "\x1b[?2026h", "\x1b[?2026l"
_NUMBERS = count(701)

Cells = tuple[int, int, int, int]
"""Columns and rows of a window, (left, top, right, bottom), ends excluded."""
Kept = tuple[frozenset[int], ...]
"""For each row of a window the columns that no image may cover."""


def fineness(graphics: Graphics, view: Viewport, region: Rect) -> int:
    """Return the pixels that a half-pixel is drawn with; 1 where no finer picture pays."""
    wide, high = (int(side * view.scale // view.per_lambda) for side in (region.width, region.height))
    half_pixels = wide * high
    most = (MOST_PIXELS / max(1, half_pixels)) ** 0.5
    return max(1, min(max(graphics.wide, graphics.high // 2), int(most), int(FINEST / view.scale) or 1))


@value
class FinePiece:
    """A region drawn `times` as fine as half-pixels, `lead` half-pixels of ground above it so that cells fit."""

    key: tuple[object, ...]
    image: Image.Image
    region: Rect
    times: int
    lead: int


def fine_piece(
    key: tuple[object, ...], image: Image.Image, region: Rect, view: Viewport, ground: tuple[int, int, int]
) -> FinePiece:
    """Set a drawn region of the view's scale on ground, so that it is whole cells high."""
    wide, high = (int(side * view.scale // view.per_lambda) for side in (region.width, region.height))
    times = image.width // wide
    lead = (view.spot(region.x0, region.y1 - 1)[1]) % 2
    rows = -(-(high + lead) // 2)
    canvas = Image.new("RGB", (wide * times, 2 * rows * times), ground)
    canvas.paste(image, (0, lead * times))
    return FinePiece(key, canvas, region, times, lead)


def part_in(piece: FinePiece, view: Viewport) -> tuple[Cells, Part] | None:
    """Return the cells of the window that a piece fills, and the part of it that is seen in them."""
    left, top = view.spot(piece.region.x0, piece.region.y1 - 1)
    top -= piece.lead
    wide, high = piece.image.width // piece.times, piece.image.height // piece.times
    x0, x1 = max(0, left), min(view.columns, left + wide)
    y0, y1 = max(0, top // 2), min(view.rows, (top + high) // 2)
    if x0 >= x1 or y0 >= y1:
        return None
    times = piece.times
    part = Part((x0 - left) * times, (2 * y0 - top) * times, (x1 - x0) * times, 2 * (y1 - y0) * times, x1 - x0, y1 - y0)
    return (x0, y0, x1, y1), part


def apart(plain: Image.Image, out: Image.Image, texts: Iterable[tuple[int, int, int]], rows: int) -> Kept:
    """Return the columns of each row in which something stands on the picture; `texts` as (row, column, length)."""
    wide = out.width
    before, after = plain.tobytes(), out.tobytes()
    changed: list[frozenset[int]] = []
    written: dict[int, set[int]] = {}
    for row, column, length in texts:
        written.setdefault(row, set()).update(range(max(0, column), column + length))
    for row in range(rows):
        columns = written.get(row, set())
        for y in (2 * row, 2 * row + 1):
            old, new = before[y * wide : (y + 1) * wide], after[y * wide : (y + 1) * wide]
            if old != new:
                columns |= {x for x in range(wide) if old[x] != new[x]}
        changed.append(frozenset(columns))
    return tuple(changed)


def rectangles(cells: Cells, kept: Kept) -> list[Cells]:
    """Cover the cells, but for those kept, with few rectangles: rows with the same gaps are joined."""
    x0, y0, x1, y1 = cells
    areas: list[Cells] = []
    top = y0
    for row in range(y0, y1 + 1):
        if row == y1 or kept[row] != kept[top]:
            areas += [(a, top, b, row) for a, b in _gaps(x0, x1, kept[top])]
            top = row
    return areas


def _gaps(start: int, end: int, kept: Iterable[int]) -> Iterable[tuple[int, int]]:
    at = start
    for column in sorted(c for c in kept if start <= c < end):
        if column > at:
            yield at, column
        at = column + 1
    if at < end:
        yield at, end


def blanked(strips: list[Strip], cells: Cells, kept: Kept, style: Style) -> list[Strip]:
    """Return the strips with nothing below the image: then panning it has no half-blocks to send."""
    x0, y0, x1, y1 = cells
    return [
        _blanked(strip, _gaps(x0, x1, kept[row]), style) if y0 <= row < y1 else strip
        for row, strip in enumerate(strips)
    ]


def _blanked(strip: Strip, gaps: Iterable[tuple[int, int]], style: Style) -> Strip:
    parts, at = [], 0
    for start, end in gaps:
        parts += [strip.crop(at, start), Strip([Segment(" " * (end - start), style)], end - start)]
        at = end
    return Strip.join([*parts, strip.crop(at)])


def _at(column: int, row: int) -> str:
    return f"\x1b[{row + 1};{column + 1}H"


@mutable
class FineLayer:
    """What a view has out in the terminal: the image handed over under `number`, and the parts of it that lie there."""

    number: int = 0
    piece: FinePiece | None = None
    handed: tuple[object, ...] | None = None
    lies: tuple[tuple[int, int, Part], ...] = ()

    def still(self, graphics: Graphics, view: Viewport, corner: tuple[int, int]) -> str:
        """Return sixels of what is seen in a window whose upper left cell is `corner` of the screen."""
        seen = part_in(self.piece, view) if self.piece is not None else None
        if self.piece is None or seen is None:
            return ""
        (column, row, _, _), part = seen
        image = self.piece.image.crop((part.x, part.y, part.x + part.width, part.y + part.height))
        image = image.resize((part.columns * graphics.wide, part.rows * graphics.high), Image.Resampling.BILINEAR)
        return f"{SYNC}\x1b7{_at(corner[0] + column, corner[1] + row)}{sixels(image)}\x1b8{DONE}"

    def shown(self, view: Viewport, corner: tuple[int, int], kept: Kept) -> str:
        """Return the commands that lay the image into a window, but for the cells kept; "" where it lies so."""
        seen = part_in(self.piece, view) if self.piece is not None else None
        if self.piece is None or seen is None:
            return self.gone()
        self.number = self.number or next(_NUMBERS)
        first = ""
        if self.handed != self.piece.key:
            first, self.handed, self.lies = sent(self.piece.image, self.number), self.piece.key, ()
        (left, top, _, _), whole = seen
        times = self.piece.times
        lies = tuple(
            (
                corner[0] + x0,
                corner[1] + y0,
                Part(
                    whole.x + (x0 - left) * times,
                    whole.y + 2 * (y0 - top) * times,
                    (x1 - x0) * times,
                    2 * (y1 - y0) * times,
                    x1 - x0,
                    y1 - y0,
                ),
            )
            for x0, y0, x1, y1 in rectangles(seen[0], kept)
        )
        if lies == self.lies:
            return first
        places = [f"{_at(x, y)}{placed(self.number, i, part)}" for i, (x, y, part) in enumerate(lies, 1)]
        over = [lifted(self.number, i) for i in range(len(lies) + 1, len(self.lies) + 1)]
        self.lies = lies
        return f"{first}{SYNC}\x1b7{''.join(places)}{''.join(over)}\x1b8{DONE}"

    def gone(self) -> str:
        """Return the command after which nothing of it is left in the terminal."""
        if self.handed is None:
            return ""
        self.lies, self.handed = (), None
        return forgotten(self.number)
