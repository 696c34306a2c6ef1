"""What drawing an array gives, whichever way it was drawn."""

from dataclasses import dataclass

from layoutdrill.drawing.sizes import Drawn
from layoutdrill.geometry.rect import Rect
from layoutdrill.layout.model import Layout


@dataclass(frozen=True, slots=True)
class ArrayDrawing:
    """The layout of an array with what was meant: its border and the sizes by transistor."""

    layout: Layout
    frame: Rect
    sizes: Drawn
