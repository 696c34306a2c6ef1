"""Draw guard rings round the groups of bars in an array, and the wells below those of the lower kind."""

from collections.abc import Sequence

from layoutdrill.drawing.chains.metal_rows import body, doped
from layoutdrill.drawing.chains.sheet import Sheet, Span
from layoutdrill.drawing.guards import ring_round
from layoutdrill.drawing.shared.technique import Rings, Technique
from layoutdrill.geometry.rect import Rect


def ring(sheet: Sheet, t: Technique, r: Rings, kind: int, y: Span, x: Span) -> Rect:
    """Draw a ring round what lies in a box, in a well if that is of kind 0; return the border of the ring."""
    box, rects = ring_round(Rect(x[0], y[0], x[1], y[1]), r, doped(t), kind)
    for mask, rect in rects:
        sheet.shapes.setdefault(mask, []).append(rect)
    return box


def rings(sheet: Sheet, t: Technique, r: Rings, groups: Sequence[tuple[int, Span]], rails: tuple[int, int],
          right: int) -> Span:  # fmt: skip
    """
    Draw a ring round each group, (kind, from y to y), tied to its rail where the rail crosses it.

    `rails` are the middles of the upright rails, at which the bars begin, `right` is where they end. Returns from where
    to where rings reach.
    """
    boxes = []
    for kind, y in groups:
        box = ring(sheet, t, r, kind, y, (rails[kind] - body(t), right))
        for middle in (box.y0 + r.width // 2, box.y1 - r.width // 2):
            sheet.square("contact", rails[kind], middle, t.contact // 2)
        boxes.append(box)
    return min(box.y0 for box in boxes), max(box.y1 for box in boxes)
