"""What a design-rule check finds."""

from dataclasses import dataclass

from layoutdrill.geometry.rect import Rect


@dataclass(frozen=True, slots=True)
class Violation:
    """A rule that is broken: its name in the process file, what is wrong in words, and where (grid units)."""

    rule: str
    text: str
    place: Rect
