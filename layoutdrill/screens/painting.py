"""Helpers of painting a picture: styles, a stand-in while a piece is drawn, texts, the overview's window."""

from collections.abc import Iterator
from dataclasses import replace
from enum import Enum
from math import ceil

from rich.color import Color as RichColor
from rich.segment import Segment
from rich.style import Style
from textual.strip import Strip

from layoutdrill.drill.visited import ACROSS, Visited
from layoutdrill.geometry.rect import Rect
from layoutdrill.picture.overlay import Overlay, net_rects
from layoutdrill.picture.overlay_ink import ring_radius
from layoutdrill.screens.frame import NEAR, Colour, Note
from layoutdrill.screens.sighting import Focus, out_of_view, pictures_in
from layoutdrill.screens.subject import Indexed, Subject
from layoutdrill.screens.viewport import Viewport

_STYLES: dict[tuple[Colour, Colour], Style] = {}

WHOLE = "All of it: Ctrl+arrows choose, F8 closer."
SHORTLY = "All of it. F8: closer."
"""What is said where the window is too narrow for that."""
ONE_BY_ONE = "All of it. F4: one picture at a time."
BEEN = " Dots: looked at closely."
"""What is added once one has looked at something closely."""
"""What is said below a large overview."""


class Shown(Enum):
    """How the overview is shown: in a corner, over all of the picture, or not."""

    SMALL = "small"
    LARGE = "large"
    NONE = "none"

    @property
    def next(self) -> "Shown":
        order = list(Shown)
        return order[(order.index(self) + 1) % len(order)]


def style_of(ink: Colour, ground: Colour) -> Style:
    """Return the style of a pair of colours, made once."""
    style = _STYLES.get((ink, ground))
    if style is None:
        if len(_STYLES) > 20000:
            _STYLES.clear()
        style = Style.from_color(RichColor.from_rgb(*ink), RichColor.from_rgb(*ground))
        _STYLES[ink, ground] = style
    return style


def fitted(piece: Indexed, region: Rect, scale: float, view: Viewport) -> Indexed:
    """Stand in for a piece still being drawn: the last one stretched to the present scale."""
    if scale == view.scale:
        return piece
    wide, high = (int(side * view.scale // view.per_lambda) for side in (region.width, region.height))
    return Indexed(piece.image.resize((max(1, wide), max(1, high))), piece.colours)


def in_the_middle(view: Viewport, overview: Indexed) -> tuple[int, int]:
    """Return the half-pixel of the window at which the corner of a large overview lies."""
    wide, high = overview.image.size
    return (view.columns - wide) // 2, (view.rows * 2 - high) // 2


def overview_step(view: Viewport) -> tuple[int, int]:
    """Return the grid units, across and up, of about a half-pixel of a large overview."""
    step = max(view.box.width / (view.columns - 2), view.box.height / (view.rows * 2 - 2))
    return ceil(step), ceil(step)


def there(view: Viewport, overview: Indexed, column: int, half: int) -> Viewport:
    """Return the view moved to the place that a half-pixel of a large overview shows."""
    wide, high = overview.image.size
    left, top = in_the_middle(view, overview)
    x, y = max(0, min(wide - 1, column - left)), max(0, min(high - 1, half - top))
    box = view.box
    return view.centred(box.x0 + (2 * x + 1) * box.width // (2 * wide), box.y1 - (2 * y + 1) * box.height // (2 * high))


def seen_in(view: Viewport, overview: Indexed) -> tuple[int, int, int, int]:
    """Return what is in sight as (x0, y0, x1, y1) in pixels of the overview."""
    wide, high = overview.image.size
    across, down = wide / view.width, high / view.height
    return (
        round(view.left * across),
        round(view.top * down),
        round((view.left + view.columns) * across),
        round((view.top + view.rows * 2) * down),
    )


def on_overview(view: Viewport, overview: Indexed, x: int, y: int) -> tuple[int, int]:
    """Return the pixel of the overview that shows a place (grid units)."""
    wide, high = overview.image.size
    box = view.box
    column = min(wide - 1, max(0, (x - box.x0) * wide // box.width))
    return column, min(high - 1, max(0, (box.y1 - y) * high // box.height))


def rung_on(view: Viewport, overview: Indexed, focus: Focus) -> list[tuple[int, int]]:
    """Return the pixels of the overview that show places out of view; whole pictures are lettered, not ringed."""
    away = out_of_view(view, replace(focus, gone_over_at=1))
    apart = {*pictures_in(view, Focus(places=away)), *focus.pictures}
    return [on_overview(view, overview, *rect.centre) for rect in away if rect not in apart]


def dots_of(overview: Indexed, visited: Visited | None) -> list[tuple[int, int]]:
    """Return a pixel of the overview for each field that was looked at closely; where fields are small, every other."""
    if visited is None:
        return []
    wide, high = overview.image.size
    dots = []
    for column, row in visited.fields:
        x = min(wide - 1, (2 * column + 1) * wide // (2 * ACROSS))
        y = min(high - 1, (2 * (ACROSS - 1 - row) + 1) * high // (2 * ACROSS))
        if wide >= 2 * ACROSS or (x + y) % 2 == 0:
            dots.append((x, y))
    return dots


def frames_on(view: Viewport, overview: Indexed, overlay: Overlay) -> list[tuple[int, int, int, int]]:
    """Return the boxes of an overlay's parts in pixels of the overview."""
    return [
        (*on_overview(view, overview, r.x0, r.y1), *on_overview(view, overview, r.x1, r.y0))
        for part in overlay.parts for r in part.rects
    ]  # fmt: skip


def letters_on(view: Viewport, overview: Indexed, subject: Subject) -> dict[int, list[Note]]:
    """
    Return the texts of a large overview, each where it stands: letters of marks, and of pictures that are choices; then
    the names of outlined nets and the numbers of outlined transistors, as far as they keep off one another.
    """
    notes: dict[int, list[Note]] = {}
    left, top = in_the_middle(view, overview)
    overlay = subject.overlay
    pictures = {tag.text: tag for tag in reversed(overlay.ports)}
    marks = [(mark.text, (mark.x, mark.y)) for mark in (*overlay.marks, *pictures.values())]
    for at, (text, place) in enumerate((*marks, *_outlined(subject))):
        column, half = on_overview(view, overview, *place)
        note = Note(left + column, (top + half) // 2, text, strong=True)
        stood = notes.setdefault(note.row, [])
        if at < len(marks) or not any(_touch(note, other) for other in stood):
            stood.append(note)
    return notes


def _outlined(subject: Subject) -> Iterator[tuple[str, tuple[int, int]]]:
    """Yield the name of each outlined net at its widest wire, then the number of each outlined transistor."""
    overlay, extraction = subject.overlay, subject.face.extraction
    for net, text in overlay.nets:
        wires = net_rects(extraction, subject.face.process, net)
        if wires:
            yield text, max(wires, key=lambda r: (min(r.width, r.height), r.area)).centre
    for name, text in overlay.transistors:
        channel = extraction.channel(name)
        if channel:
            yield text, max(channel, key=lambda r: r.area).centre


def _touch(one: Note, other: Note) -> bool:
    return one.column <= other.column + len(other.text) and other.column <= one.column + len(one.text)


def notes_of(
    texts: tuple[tuple[int, int, str], ...], corner: tuple[int, int], strong: frozenset[str], spin: str
) -> dict[int, list[Note]]:
    """Return the overlay's texts by row, moved from the piece, whose `corner` is in half-pixels of the window."""
    notes: dict[int, list[Note]] = {}
    left, top = corner
    for column, row, text in texts:
        place = Note(column + left, (row * 2 + top) // 2, text, strong=text in strong)
        notes.setdefault(place.row, []).append(place)
    if spin:
        notes.setdefault(0, []).append(Note(0, 0, spin))
    return notes


def add_note(notes: dict[int, list[Note]], note: Note | None) -> None:
    if note is not None:
        notes.setdefault(note.row, []).append(note)


def kept_clear(
    view: Viewport, subject: Subject, crosshair: tuple[int, int] | None, focus: Focus
) -> list[tuple[int, int, int, int]]:
    """
    Return the boxes of half-pixels that the overview must not lie on: marks and rings, the crosshair, and pictures
    that are to be compared, where anything may decide.
    """
    overlay, face = subject.overlay, subject.face
    points = [(tag.x, tag.y) for tag in overlay.marks] + list(overlay.spots)
    points += [overlay.yours] if overlay.yours is not None else []
    places = [face.stitched_at(*point) for point in points] + ([crosshair] if crosshair else [])
    reach = max(NEAR, ceil(ring_radius(view.scale)) + 1)
    spots = [view.spot(*place) for place in places]
    pictures = pictures_in(view, focus)
    return [
        *((x - reach, y - reach, x + reach, y + reach) for x, y in spots),
        *((*view.spot(r.x0, r.y1 - 1), *view.spot(r.x1 - 1, r.y0)) for r in pictures),
    ]


def pattern(columns: int, rows: int, style: Style) -> list[Strip]:
    """Return a pattern of small pieces, the same each time."""
    pieces = "▚▞▛▟▜▙ ▌"
    return [
        Strip([Segment("".join(pieces[(x * x + 7 * y * y + 3 * x * y) % len(pieces)] for x in range(columns)), style)])
        for y in range(rows)
    ]


def lies_under(note: Note, covered: tuple[int, int, int, int]) -> bool:
    """Tell whether a text would stand on the overview, which shows another place there."""
    x0, y0, x1, y1 = covered
    return note.column < x1 and note.column + len(note.text) > x0 and y0 < 2 * note.row + 2 and 2 * note.row < y1
