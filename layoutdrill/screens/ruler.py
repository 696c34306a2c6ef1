"""The scale bar on a picture: how long some λ are here, and how many micrometres that is."""

from collections.abc import Iterable, Mapping, Sequence

from PIL import Image

from layoutdrill.face.model import Face
from layoutdrill.screens.frame import BEYOND, BRIGHT, DARK, Note
from layoutdrill.screens.viewport import Viewport
from layoutdrill.units import round_length

Box = tuple[int, int, int, int]
"""Half-pixels of a window, (x0, y0, x1, y1), ends excluded."""


def scale_bar(half_pixels: float, sign: str, micrometres: float, columns: int) -> tuple[int, str]:
    """
    Return the bar's length in half-pixels and its text: 1, 2 or 5 × 10ⁿ units of so many `half_pixels`, the longest of
    no more than a quarter of the window; the `micrometres` of a unit, 0 where nobody knows them. Lengths below a
    half-pixel are none: 0.
    """
    length = round_length(columns / 4, half_pixels)
    if length * half_pixels < 1:
        return 0, ""
    known = f" = {length * micrometres:.4g} µm" if micrometres else ""
    return round(length * half_pixels), f"{length:g} {sign}{known}"


def bar_of(face: Face, scale: float, columns: int) -> tuple[int, str]:
    """Return the bar for a face at half-pixels per λ: a photograph’s in its pixels, whose size is nobody’s to guess."""
    process, unit = face.process, face.unit
    half_pixels = scale * unit.per / process.grid_per_lambda
    return scale_bar(half_pixels, unit.sign, process.lambda_nm / 1000 if unit.sign == "λ" else 0.0, columns)


def bar_note(
    out: Image.Image,
    view: Viewport,
    face: Face,
    notes: Mapping[int, Sequence[Note]],
    clear: Sequence[Box],
    *,
    over: bool,
) -> Note | None:
    """Lay the bar of a view where it lies beside the drawing, with `over` upon it where need be; return its text."""
    stood = [note for row in notes.values() for note in row]
    length, text = bar_of(face, view.scale, view.columns)
    return draw_scale_bar(out, length, text, kept_clear=clear, notes=stood, over=over)


def draw_scale_bar(
    out: Image.Image,
    length: int,
    text: str,
    *,
    kept_clear: Sequence[Box] = (),
    notes: Iterable[Note] = (),
    over: bool = True,
) -> Note | None:
    """
    Lay the bar in the corner where it covers least of the drawing, and return its text; None where it has no room. It
    meets no box to be kept clear and no other note; without `over` it lies on nothing of the drawing.
    """
    wide, high = out.size
    across = length + 1 + len(text)
    if not length or across + 2 > wide or high < 4:
        return None
    left, right, low = 1, wide - across - 1, (high // 2 - 1) * 2
    taken = [*kept_clear, *((n.column, 2 * n.row, n.column + len(n.text), 2 * n.row + 2) for n in notes)]

    def covered(corner: tuple[int, int]) -> int:
        x, y = corner
        below = out.crop((x, y, x + across, y + 2)).tobytes()
        return len(below) - below.count(BEYOND)

    def meets(corner: tuple[int, int]) -> bool:
        x, y = corner
        return any(x0 < x + across and x < x1 and y0 < y + 2 and y < y1 for x0, y0, x1, y1 in taken)

    corners = [corner for corner in ((left, low), (right, low), (left, 0), (right, 0)) if not meets(corner)]
    best = min(corners, key=covered, default=None)
    if best is None or (covered(best) and not over):
        return None
    x, y = best
    out.paste(DARK, (x, y, x + length, y + 1))
    out.paste(BRIGHT, (x, y + 1, x + length, y + 2))
    for end in (x, x + length - 1):
        out.putpixel((end, y), BRIGHT)
    return Note(x + length + 1, y // 2, text)
