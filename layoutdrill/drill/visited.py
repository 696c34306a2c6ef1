"""Where one has been on a die: which fields of it were looked at closely."""

from collections.abc import Iterable

from layoutdrill.geometry.rect import Rect
from layoutdrill.units import GridUnits

ACROSS = 24
"""Fields that a die is divided into, each way."""
LARGE = 400
"""λ from which on, each way, a drawing is too large to be looked at all at once, so that a map of it serves."""
_BITS = 4
_ROW = ACROSS // _BITS


def is_large(box: Rect, per_lambda: int) -> bool:
    """Tell whether a drawing is so large that one has to go from place to place in it."""
    return max(box.width, box.height) > LARGE * per_lambda


def field_of(box: Rect, x: GridUnits, y: GridUnits) -> tuple[int, int]:
    """Return (column, row) of the field that holds a point, of the nearest where it lies beyond; rows from below."""
    column = ACROSS * (x - box.x0) // max(1, box.width)
    row = ACROSS * (y - box.y0) // max(1, box.height)
    return max(0, min(ACROSS - 1, column)), max(0, min(ACROSS - 1, row))


def fields_in(box: Rect, seen: Rect) -> Iterable[tuple[int, int]]:
    """Yield (column, row) of each field of which the middle is in sight; rows from below."""
    for column in range(ACROSS):
        x = box.x0 + (2 * column + 1) * box.width // (2 * ACROSS)
        if seen.x0 <= x <= seen.x1:
            for row in range(ACROSS):
                if seen.y0 <= box.y0 + (2 * row + 1) * box.height // (2 * ACROSS) <= seen.y1:
                    yield column, row


class Visited:
    """The fields that have been looked at closely, of the one die that a sitting goes over."""

    def __init__(self, text: str = "") -> None:
        """Begin with what `text` wrote; whatever else stands there is passed over."""
        self.fields: set[tuple[int, int]] = set()
        rows = text.split() if len(text.split()) == ACROSS else ()
        for row, digits in enumerate(rows):
            if len(digits) == _ROW and set(digits) <= set("0123456789abcdef"):
                bits = f"{int(digits, 16):0{ACROSS}b}"
                self.fields |= {(column, row) for column, bit in enumerate(bits) if bit == "1"}

    def note(self, box: Rect, seen: Rect) -> bool:
        """Note that this part of a die was looked at closely; tell whether anything of it is new."""
        new = {*fields_in(box, seen), field_of(box, *seen.centre)} - self.fields
        self.fields |= new
        return bool(new)

    def text(self) -> str:
        """Return the fields in hexadecimal digits, a word a row from the bottom up; "" where there is none."""
        if not self.fields:
            return ""
        rows = []
        for row in range(ACROSS):
            bits = "".join("1" if (column, row) in self.fields else "0" for column in range(ACROSS))
            rows.append(f"{int(bits, 2):0{_ROW}x}")
        return " ".join(rows)
