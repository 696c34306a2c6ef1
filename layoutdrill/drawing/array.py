"""What drawing an array or a block gives, whichever way it was drawn."""

from dataclasses import dataclass

from layoutdrill.drawing.shared.sizes import Drawn
from layoutdrill.geometry.rect import Rect
from layoutdrill.geometry.transform import Transform
from layoutdrill.layout.model import Layout


@dataclass(frozen=True, slots=True)
class ArrayDrawing:
    """The layout of an array with what was meant: its border and the sizes by transistor."""

    layout: Layout
    frame: Rect
    sizes: Drawn


def turned(layout: Layout, sizes: Drawn, turns: int, *, mirrored: bool) -> ArrayDrawing:
    """Return a drawing that stands alone, turned, its lower left corner at (0, 0); its frame is all that it shows."""
    box = layout.box
    assert box is not None
    corner = Transform(turns=turns, mirrored=mirrored).rect(box)
    turn = Transform(-corner.x0, -corner.y0, turns, mirrored)
    return ArrayDrawing(layout.transformed(turn), turn.rect(box), sizes)
