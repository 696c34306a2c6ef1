"""Draw guard rings round the groups of bars in an array, and the wells below those of the lower kind."""

from collections.abc import Sequence

from layoutdrill.drawing.chains.metal_rows import doped
from layoutdrill.drawing.chains.sheet import Sheet, Span
from layoutdrill.drawing.technique import Rings, Technique


def rings(sheet: Sheet, t: Technique, r: Rings, groups: Sequence[tuple[int, Span]], rails: tuple[int, int],
          right: int) -> Span:  # fmt: skip
    """
    Draw a ring round each group, (kind, from y to y), tied to its rail where the rail crosses it.

    `rails` are the middles of the upright rails, at which the bars begin, `right` is where they end. Returns from where
    to where rings reach.
    """
    body = t.contact // 2 + t.surround
    for kind, (low, high) in groups:
        mask = doped(t).doping[1 - kind]
        x = rails[kind] - body - r.gap - r.width, right + r.gap + r.width
        y = low - r.gap - r.width, high + r.gap + r.width
        for leg in ((y[0], y[0] + r.width), (y[1] - r.width, y[1])):
            sheet.box(mask, x, leg)
            middle = (leg[0] + leg[1]) // 2
            sheet.square("contact", rails[kind], middle, t.contact // 2)
        sheet.box(mask, (x[0], x[0] + r.width), y)
        sheet.box(mask, (x[1] - r.width, x[1]), y)
        if kind == 0:
            out = r.well_past
            sheet.box(r.well, (x[0] - out, x[1] + out), (y[0] - out, y[1] + out))
    reach = r.gap + r.width
    return min(y[0] for _, y in groups) - reach, max(y[1] for _, y in groups) + reach
