"""Places in the unit that a reader is told: written, read from typed text, and told in words."""

import re

from layoutdrill.errors import LayoutdrillError
from layoutdrill.geometry.rect import Rect
from layoutdrill.units import GridUnits
from layoutdrill.value import value


@value
class Unit:
    """
    The length in which places are told: `per` grid units, with its sign. `down` where y is told from the upper edge
    downwards, as pixels of a picture are.
    """

    per: GridUnits
    sign: str = "λ"
    down: bool = False

    def y(self, y: float) -> float:
        """Return a height as it is told, or a told one as it is."""
        return -y if self.down else y

    def number(self, value: float) -> str:
        """Write a length of so many grid units without its sign, with as many decimals as it needs, at most two."""
        return f"{value / self.per + 0.0:.2f}".rstrip("0").rstrip(".")  # no minus before nothing

    def at(self, x: float, y: float) -> str:
        """Write a point, such as “12.5, 8 λ”."""
        return f"{self.number(x)}, {self.number(self.y(y))} {self.sign}"

    def axes(self, x: float, y: float) -> str:
        """Write a point by its axes, such as “x 12.5, y 8”."""
        return f"x {self.number(x)}, y {self.number(self.y(y))}"

    def span(self, rect: Rect) -> str:
        """Write a rectangle's ranges, such as “x 3 to 12, y 0 to 8.5”."""
        x0, x1 = self.number(rect.x0), self.number(rect.x1)
        y0, y1 = (self.number(y) for y in sorted((self.y(rect.y0), self.y(rect.y1))))
        return f"x {x0} to {x1}, y {y0} to {y1}"

    def read(self, text: str) -> tuple[GridUnits, GridUnits]:
        """Read a typed point (“12.5, 8”, “x=3 y=4.5 λ”) into grid units; raises LayoutdrillError otherwise."""
        number = rf"(-?\d+(?:\.\d+)?)\s*(?:{re.escape(self.sign)})?"
        pattern = rf"\(?\s*(?:x\s*=?\s*)?{number}\s*[,;/ ]\s*(?:y\s*=?\s*)?{number}\s*\)?\Z"
        match = re.match(pattern, text.strip(), re.IGNORECASE)
        if match is None:
            todo = f"type x and y in {self.sign} with a comma between, or point at it"
            raise LayoutdrillError(f'"{text}" is no place', todo=todo)
        return round(float(match.group(1)) * self.per), round(self.y(float(match.group(2))) * self.per)


def whereabouts(box: Rect, x: GridUnits, y: GridUnits) -> str:
    """Say in words in which part of the picture a point lies."""
    if not box.area:
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


def part_of(box: Rect, rect: Rect) -> str:
    """Say in words which part of the picture a rectangle fills, as “the lower 45 %” or “the upper 40 %, left 60 %”."""
    sides = (
        _side(box.y0, box.y1, rect.y0, rect.y1, ("lower", "upper", "the bottom")),
        _side(box.x0, box.x1, rect.x0, rect.x1, ("left", "right", "the left")),
    )
    named = [side for side in sides if side]
    return f"the {', '.join(named)} of the picture" if named else "all of the picture"


NEARLY = 0.05
"""The part of the picture that is left out of account."""


def _side(first: int, last: int, low: int, high: int, names: tuple[str, str, str]) -> str:
    length = max(1, last - first)
    start, end = max(0.0, (low - first) / length), min(1.0, (high - first) / length)
    if start <= NEARLY:
        return "" if end >= 1 - NEARLY else f"{names[0]} {round(100 * end)} %"
    if end >= 1 - NEARLY:
        return f"{names[1]} {round(100 * (1 - start))} %"
    return f"part from {round(100 * start)} to {round(100 * end)} % of the way from {names[2]}"
