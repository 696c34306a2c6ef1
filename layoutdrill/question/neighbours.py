"""What on a picture is not the cell's: a crowded drawing shows where its neighbours begin."""

from layoutdrill.geometry.rect import Rect
from layoutdrill.question.model import Specimen


def border_told(specimen: Specimen) -> tuple[str, ...]:
    """Return the fact that tells where the cell ends; nothing where the cell is all there is."""
    if specimen.frame is None:
        return ()
    unit = specimen.face.unit
    where = f"{unit.span(specimen.frame)} {unit.sign}"
    return (f"The cell lies inside the frame, {where}; what begins beyond it is a neighbour.",)


def inside(specimen: Specimen, rect: Rect) -> bool:
    """Tell whether a shape lies in the cell, and not beyond its frame."""
    frame = specimen.frame
    return frame is None or (
        frame.x0 <= rect.x0 and frame.y0 <= rect.y0 and rect.x1 <= frame.x1 and rect.y1 <= frame.y1
    )


def astride(specimen: Specimen, rect: Rect) -> bool:
    """Tell whether a shape lies partly in the cell and partly beyond: whose it is cannot be said."""
    return specimen.frame is not None and specimen.frame.overlaps(rect) and not inside(specimen, rect)
