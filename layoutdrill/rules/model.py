"""What a design-rule check finds."""

from layoutdrill.geometry.rect import Rect
from layoutdrill.value import value


@value
class Violation:
    """A rule that is broken: its name in the process file, what is wrong in words, and where (grid units)."""

    rule: str
    text: str
    place: Rect
