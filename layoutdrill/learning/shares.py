"""A share of right answers, with how little or much a few answers can tell of it."""

import math

from layoutdrill.value import value

_Z = 1.96
"""Standard deviations of a 95 % interval."""


@value
class Share:
    """How many of some answers were right, with the 95 % interval of the share."""

    name: str
    right: int
    asked: int

    @property
    def part(self) -> float:
        return self.right / self.asked if self.asked else 0.0

    @property
    def interval(self) -> tuple[float, float]:
        return wilson(self.right, self.asked)


def wilson(right: int, asked: int) -> tuple[float, float]:
    """Return the 95 % interval of a share by Wilson's score (E. B. Wilson, J. Am. Stat. Assoc. 22, 1927)."""
    if not asked:
        return 0.0, 1.0
    part, square = right / asked, _Z**2
    middle = (part + square / (2 * asked)) / (1 + square / asked)
    half = _Z / (1 + square / asked) * math.sqrt(part * (1 - part) / asked + square / (4 * asked**2))
    return max(0.0, middle - half), min(1.0, middle + half)
