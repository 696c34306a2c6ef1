"""Places written in λ, read from typed text and told in words."""

import re

from layoutdrill.errors import LayoutdrillError
from layoutdrill.geometry.rect import Rect
from layoutdrill.process import Process

_NUMBER = r"(-?\d+(?:\.\d+)?)\s*λ?"
_POINT = re.compile(rf"\(?\s*(?:x\s*=?\s*)?{_NUMBER}\s*[,;/ ]\s*(?:y\s*=?\s*)?{_NUMBER}\s*\)?\Z", re.IGNORECASE)


def in_lambda(process: Process, x: float, y: float) -> str:
    """Write a point in λ, such as “12.5, 8 λ”."""
    unit = process.grid_per_lambda
    return f"{_short(x / unit)}, {_short(y / unit)} λ"


def span(process: Process, rect: Rect) -> str:
    """Write a rectangle's ranges in λ, such as “x 3 to 12, y 0 to 8.5”."""
    x0, y0, x1, y1 = (_short(value / process.grid_per_lambda) for value in rect)
    return f"x {x0} to {x1}, y {y0} to {y1}"


def _short(value: float) -> str:
    return f"{round(value, 2):g}"


def read_point(text: str, process: Process) -> tuple[int, int]:
    """Read a point typed in λ (“12.5, 8”, “x=3 y=4.5”) into grid units; raises LayoutdrillError otherwise."""
    match = _POINT.match(text.strip())
    if match is None:
        raise LayoutdrillError(f'"{text}" is no place', todo="type x and y in λ with a comma between, or point at it")
    unit = process.grid_per_lambda
    return round(float(match.group(1)) * unit), round(float(match.group(2)) * unit)


def whereabouts(box: Rect | None, x: int, y: int) -> str:
    """Say in words in which part of the picture a point lies."""
    if box is None or not box.area:
        return "on the picture"
    across = 3 * (x - box.x0) / max(1, box.width)
    up = 3 * (y - box.y0) / max(1, box.height)
    column = "left" if across < 1 else "right" if across > 2 else ""
    row = "bottom" if up < 1 else "top" if up > 2 else ""
    if row and column:
        return f"at the {row} {column}"
    if row or column:
        return f"at the {row or column}"
    return "in the middle"
