"""The edge of a die: marks for the masks in its corners, and the street along which it was sawn or broken out."""

from layoutdrill.dice import Dice
from layoutdrill.drawing.shared.canvas import frame_round
from layoutdrill.drawing.shared.pen import Pen
from layoutdrill.geometry.rect import Rect

_AWAY, _ARM, _BAR = 14, 12, 4
"""λ: from the outermost metal to the street, a mark's arm, and the width of its bars."""


def draw_street(pen: Pen, dice: Dice) -> None:
    """Draw a band of doped silicon round all, with metal on it where the wafer's plating ended, and crosses inside."""
    t, unit, border = pen.t, pen.t.unit, pen.border
    inner = border.grown(_AWAY * unit)
    if t.doped is not None:  # a band of n+: on bulk it ties the wafer, on sapphire it is an island like any other
        for r in frame_round(inner, 2 * pen.body + 2 * unit):
            pen.diffuse(0, (r.x0, r.x1), (r.y0, r.y1))
        for x, y in _contacts(inner, pen.body + unit, 40 * unit):
            pen.square(t.cut, x, y, pen.cut)
    for r in frame_round(inner.grown(unit), 2 * pen.body):
        pen.box(pen.metal, (r.x0, r.x1), (r.y0, r.y1))
    corners = dice.sample([(0, 0), (0, 1), (1, 0), (1, 1)], 3)
    arm, half = _ARM * unit // 2, _BAR * unit // 2
    for right, upper in corners:
        x = (border.x1 if right else border.x0) + (-arm if right else arm)
        y = (border.y1 if upper else border.y0) + (arm if upper else -arm)
        room = Rect(x, y, x, y).grown(arm + pen.metal_gap)
        if any(r.overlaps(room) for r in pen.shapes[pen.metal]):
            continue
        pen.level(pen.metal, (x - arm, x + arm), y, half)
        pen.upright(pen.metal, x, (y - arm, y + arm), half)


def _contacts(inner: Rect, out: int, apart: int) -> list[tuple[int, int]]:
    """Return places along the middle of the band, at about equal distances."""
    places = []
    for k in range(inner.width // apart):
        x = inner.x0 + apart // 2 + k * apart
        places += [(x, inner.y0 - out), (x, inner.y1 + out)]
    for k in range(inner.height // apart):
        y = inner.y0 + apart // 2 + k * apart
        places += [(inner.x0 - out, y), (inner.x1 + out, y)]
    return places
