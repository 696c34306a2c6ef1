"""
Compose one frame of half-blocks: the piece in sight, the crosshair, the overview, letters on top.

A frame is rows of runs (text, ink, ground): half-blocks show two half-pixels a cell in ink and ground.
Pure Python and Pillow; the widget turns runs into styles.
"""

from collections.abc import Sequence

from PIL import Image

from layoutdrill.screens.subject import Indexed
from layoutdrill.value import value

Colour = tuple[int, int, int]
Run = tuple[str, Colour, Colour]

HALF = "▀"
BEYOND, DARK, BRIGHT, EDGE = 255, 254, 253, 252
"""Palette places kept for what is not drawing: beyond it, the crosshair's two tones, the overview's window."""

ARM_FROM, ARM_TO = 2, 9
"""Half-pixels from the middle of the crosshair at which its arms begin and end."""
OVERVIEW_AT = 128
FRAME = 4
"""Pixels that the overview's frame has at least each way: so that it stays a frame, open in the middle."""
NEAR = 5
"""Half-pixels round a marked place that the overview leaves free, for its letter or ring."""

NOTE_INK: Colour = (24, 16, 40)
NOTE_GROUND: Colour = (255, 240, 150)


@value
class Note:
    """
    A short text standing on the picture, its first character in the cell (column, row). A strong one, the letter of a
    place that is asked, stands bright on dark, so that it is told from numbers.
    """

    column: int
    row: int
    text: str
    strong: bool = False


def window(piece: Indexed, left: int, top: int, columns: int, rows: int) -> Image.Image:
    """Cut columns × 2·rows half-pixels out of a piece whose own corner is at (left, top) of the window."""
    out = Image.new("P", (columns, rows * 2), BEYOND)
    out.paste(piece.image, (left, top))
    return out


def palette(piece: Indexed, overview: Indexed | None, beyond: Colour) -> list[Colour]:
    colours: list[Colour] = [beyond] * 256
    colours[: len(piece.colours)] = piece.colours
    if overview is not None:
        colours[OVERVIEW_AT : OVERVIEW_AT + len(overview.colours)] = overview.colours
    colours[BEYOND], colours[DARK], colours[BRIGHT], colours[EDGE] = beyond, (0, 0, 0), (255, 255, 255), (255, 220, 60)
    return colours[:256]


RING = 1
"""Half-pixels from the middle of a ring on the overview to its line."""


def draw_crosshair(out: Image.Image, column: int, half: int) -> None:
    """
    Mark a half-pixel with four arms, white within black, so that they show on any colour; what lies round the
    half-pixel itself stays open to the eye.
    """
    wide, high = out.size
    for tone, side in ((DARK, 1), (BRIGHT, 0)):
        for far in range(ARM_FROM, ARM_TO):
            for aside in range(-side, side + 1):
                for x, y in ((far, aside), (-far, aside), (aside, far), (aside, -far)):
                    if 0 <= column + x < wide and 0 <= half + y < high:
                        out.putpixel((column + x, half + y), tone)


def corner_for(
    out: Image.Image, overview: Indexed, kept_clear: Sequence[tuple[int, int, int, int]] = ()
) -> tuple[int, int] | None:
    """
    Return the corner for the overview that meets none of the boxes (x0, y0, x1, y1, in half-pixels) to be kept clear,
    of several the one that covers least of the drawing, of these the upper right; None where each meets one.
    """
    wide, high = overview.image.size
    right, low = out.size[0] - wide - 1, out.size[1] - high - 1

    def meets(corner: tuple[int, int]) -> bool:
        left, top = corner
        return any(x0 <= left + wide and left <= x1 and y0 <= top + high and top <= y1 for x0, y0, x1, y1 in kept_clear)

    def covered(corner: tuple[int, int]) -> int:
        left, top = corner
        below = out.crop((left, top, left + wide, top + high)).tobytes()
        return len(below) - below.count(BEYOND)

    clear = [corner for corner in ((right, 1), (right, low), (1, 1), (1, low)) if not meets(corner)]
    return min(clear, key=covered, default=None)


@value
class OnOverview:
    """What is marked on an overview, in its pixels: places ringed, places dotted, boxes (x0, y0, x1, y1) dashed."""

    rung: Sequence[tuple[int, int]] = ()
    been: Sequence[tuple[int, int]] = ()
    framed: Sequence[tuple[int, int, int, int]] = ()


NOTHING_MARKED = OnOverview()


def inset(
    out: Image.Image,
    overview: Indexed,
    seen: tuple[int, int, int, int] | None,
    at: tuple[int, int],
    marked: OnOverview = NOTHING_MARKED,
) -> tuple[int, int, int, int]:
    """
    Lay the overview at a place with a line round it and what is `marked` on it, and outline what is in sight.

    `seen` is (x0, y0, x1, y1) in pixels of the overview, ends excluded, None for no such outline. Returns what it
    covers, in half-pixels.
    """
    wide, high = overview.image.size
    x, y = at
    moved = overview.image.point(lambda index: index + OVERVIEW_AT)
    out.paste(DARK, (x - 1, y - 1, x + wide + 1, y + high + 1))
    out.paste(moved, (x, y))
    for column, row in marked.been:
        out.putpixel((x + column, y + row), EDGE)
    for box in marked.framed:
        _dashed(out, box, at)
    if seen is not None:
        _outline(out, seen, (wide, high), at)
    for column, row in marked.rung:
        _ring(out, x + column, y + row, (x, y, x + wide, y + high))
    return x - 1, y - 1, x + wide + 1, y + high + 1


def _outline(out: Image.Image, seen: tuple[int, int, int, int], size: tuple[int, int], at: tuple[int, int]) -> None:
    """Outline what is in sight on an overview of a size, laid at a place."""
    (x, y), (wide, high) = at, size
    x0, y0, x1, y1 = seen
    x0, y0 = max(0, x0), max(0, y0)
    x1, y1 = min(wide, max(x1, x0 + FRAME)), min(high, max(y1, y0 + FRAME))
    x0, y0 = max(0, min(x0, wide - FRAME)), max(0, min(y0, high - FRAME))
    for box in ((x0, y0, x1, y0 + 1), (x0, y1 - 1, x1, y1), (x0, y0, x0 + 1, y1), (x1 - 1, y0, x1, y1)):
        if box[0] < box[2] and box[1] < box[3]:
            out.paste(EDGE, (x + box[0], y + box[1], x + box[2], y + box[3]))


def _dashed(out: Image.Image, box: tuple[int, int, int, int], at: tuple[int, int]) -> None:
    """Draw a box of the overview in dashes, bright and dark in turn, so that they show on anything."""
    x0, y0, x1, y1 = box
    for column in range(x0, x1 + 1):
        for row in range(y0, y1 + 1):
            if column in (x0, x1) or row in (y0, y1):
                out.putpixel((at[0] + column, at[1] + row), BRIGHT if (column + row) // 2 % 2 else DARK)


def _ring(out: Image.Image, column: int, row: int, within: tuple[int, int, int, int]) -> None:
    """Draw a small bright ring with a dark middle round a half-pixel, as far as it lies within a box."""
    x0, y0, x1, y1 = within
    for dx in range(-RING, RING + 1):
        for dy in range(-RING, RING + 1):
            if x0 <= column + dx < x1 and y0 <= row + dy < y1:
                out.putpixel((column + dx, row + dy), DARK if dx == dy == 0 else BRIGHT)


def name_note(out: Image.Image, name: str) -> Note | None:
    """Return the name of a picture shown alone, in a corner where it lies on nothing of it; None where none is free."""
    wide, rows = len(name) + 2, out.size[1] // 2
    for x, row in ((0, 0), (out.size[0] - wide, 0), (0, rows - 1), (out.size[0] - wide, rows - 1)):
        below = out.crop((x, 2 * row, x + wide, 2 * row + 2)).tobytes()
        if name and x >= 0 and below.count(BEYOND) == len(below):
            return Note(x, row, f" {name} ", strong=True)
    return None


def runs(out: Image.Image, row: int, colours: list[Colour], notes: Sequence[Note]) -> list[Run]:
    """Return a row of cells as runs; the texts of `notes` stand on their own ground."""
    wide = out.size[0]
    data = out.crop((0, row * 2, wide, row * 2 + 2)).tobytes()
    upper, lower = data[:wide], data[wide:]
    at = 0
    joined: list[Run] = []
    for note in sorted(notes, key=lambda n: n.column):
        start = max(at, note.column)
        text = note.text[max(0, start - note.column) : max(0, wide - note.column)]
        if text:
            joined += merged(upper[at:start], lower[at:start], colours)
            joined.append((text, *((NOTE_GROUND, NOTE_INK) if note.strong else (NOTE_INK, NOTE_GROUND))))
            at = start + len(text)
    return joined + merged(upper[at:], lower[at:], colours)


def merged(upper: bytes, lower: bytes, colours: list[Colour]) -> list[Run]:
    """
    Join neighbouring cells that need no more than two colours between them: a cell may be blank, full, or half of
    each, either way up, so runs are far longer than those of equal cells.
    """
    joined: list[Run] = []
    text = ""
    ink = ground = -1
    for pair in zip(upper, lower, strict=True):
        a, b = pair
        cell = _cell(a, b, ink, ground)
        if not cell and ink == ground and text:
            ink = b if a == ground else a
            cell = _cell(a, b, ink, ground)
            if not cell:
                ink = ground
        if not cell:
            if text:
                joined.append((text, colours[ink], colours[ground]))
            text, ink, ground = "", a, b
            cell = " " if a == b else HALF
        text += cell
    if text:
        joined.append((text, colours[ink], colours[ground]))
    return joined


def _cell(a: int, b: int, ink: int, ground: int) -> str:
    """Return the character that shows `a` over `b` in `ink` on `ground`, or "" where there is none."""
    if a == ground:
        return " " if b == ground else "▄" if b == ink else ""
    if a == ink:
        return "█" if b == ink else HALF if b == ground else ""
    return ""
