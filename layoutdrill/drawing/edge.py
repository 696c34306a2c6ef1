"""
Put a cell at the edge of its die: beyond its frame lie things that are no circuit, to be recognised and passed over.

Beyond the frame: a mark by which masks were laid over each other (a cross of metal within a frame of the layer below),
the numbers of the masks, a transistor by itself with three small pads for probes, and the seal, a wire that leads
nowhere along the line where the wafer was cut. Their forms are common practice; here they are small, so that one
picture holds them. Proofs take what lies beyond the frame for a neighbour's.
"""

from layoutdrill.dice import Dice
from layoutdrill.drawing.pads import with_beside
from layoutdrill.drawing.shared import Drawing, GatePen, PolyPen, pen_for, technique_for
from layoutdrill.geometry.rect import Rect
from layoutdrill.process.model import Process
from layoutdrill.units import GridUnits

AT_THE_EDGE = "at_the_edge"
"""A cell whose name begins so stands at the edge of its die."""
CLEAR, SEAL = 24, 5
"""λ: between the frame and what lies beyond it, and the width of the seal."""
PROBE = 12
"""λ: the side of a probe's pad."""

_SEGMENTS = {"1": "bc", "2": "abged", "3": "abgcd", "4": "fgbc", "5": "afgcd", "6": "afgedc"}
"""Which of seven strokes a number is made of, as on any display: a on top, then clockwise, g in the middle."""
_STROKES = {
    "a": (0, 12, 12, 15),
    "b": (9, 12, 6, 15),
    "c": (9, 12, 0, 9),
    "d": (0, 12, 0, 3),
    "e": (0, 3, 0, 9),
    "f": (0, 3, 6, 15),
    "g": (0, 12, 6, 9),
}
"""λ: from where to where in x, and in y, a stroke lies."""


def at_the_edge(drawn: Drawing, process: Process, seed: int) -> Drawing:
    """Return the drawing with the edge of the die on its left, moved so that its lower left corner lies at (0, 0)."""
    dice = Dice.from_text(f"edge|{process.name}|{seed}")
    t, unit = technique_for(process), process.grid_per_lambda
    pen = pen_for(t)
    kind = int(t.rings is not None or (t.implants is not None and t.implants.row == 0))  # that which needs no well
    box = drawn.layout.box
    assert box is not None
    right = box.x0 - CLEAR * unit
    x, y = right - 44 * unit, box.y0
    _mark(pen, kind, x, y)
    y += 32 * unit
    for number, digit in enumerate(dice.shuffled(tuple(_SEGMENTS))[:2]):
        _digit(pen, digit, x + 18 * number * unit, y)
    y += 24 * unit
    top = _probed(pen, kind, right, y)
    seal = x - (10 + SEAL) * unit, x - 10 * unit
    low, high = box.y0 - 4 * unit, max(box.y1, top) + 4 * unit
    pen.box(pen.metal, seal, (low, high))
    return with_beside(drawn, pen)


def _mark(pen: GatePen, kind: int, x: GridUnits, y: GridUnits) -> None:
    """Draw a cross of metal in a frame of the layer below, 24 λ on a side."""
    unit = pen.t.unit
    side, wide = 24 * unit, 3 * unit
    for box in ((0, side, 0, wide), (0, side, side - wide, side), (0, wide, 0, side), (side - wide, side, 0, side)):
        pen.run_under(kind, (x + box[0], x + box[1]), (y + box[2], y + box[3]))
    middle = side // 2
    half = wide // 2 + wide % 2
    for across, up in ((middle - 6 * unit, half), (half, middle - 6 * unit)):
        pen.box(pen.metal, (x + middle - across, x + middle + across), (y + middle - up, y + middle + up))


def _digit(pen: GatePen, digit: str, x: GridUnits, y: GridUnits) -> None:
    """Draw a figure in metal, 12 λ wide and 15 high."""
    unit = pen.t.unit
    for stroke in _SEGMENTS[digit]:
        x0, x1, y0, y1 = (unit * at for at in _STROKES[stroke])
        pen.box(pen.metal, (x + x0, x + x1), (y + y0, y + y1))


def _probed(pen: GatePen, kind: int, right: GridUnits, y: GridUnits) -> GridUnits:
    """Draw a transistor by itself below three pads for probes, left of a corner; return how high it all reaches."""
    unit = pen.t.unit
    side, apart = PROBE * unit, (PROBE + 4) * unit
    x, middle, top = right - side // 2 - apart, y + 6 * unit, y + 20 * unit
    if isinstance(pen, PolyPen):
        away = pen.beside + 2 * unit
        pen.level(pen.t.diffusion[kind], (x - away - pen.body, x + away + pen.body), middle, pen.body)
        pen.upright(pen.poly, x, (middle - pen.body - pen.t.gate_past, top - 6 * unit), pen.gate)
        if pen.t.implants is not None:
            reach = away + pen.body
            pen.bed(kind, Rect(x - reach, middle - pen.body, x + reach, middle + pen.body), ())
        pen.joint(x, top - 6 * unit)
        half = pen.wire
    else:
        gap, half = pen.t.channel // 2, pen.t.channel // 2 + pen.cover
        away = gap + pen.contact_gate + 2 * unit
        tall = pen.body + pen.doped.inset
        for sense in (-1, 1):
            ends = sorted((x + sense * (gap + pen.doped.past), x + sense * (away + pen.body)))
            pen.bar(kind, (ends[0], ends[1]), middle, tall)
        pen.channel((x - gap, x + gap), middle, 2 * pen.body, level=True)
        pen.upright(pen.metal, x, (middle - tall - pen.over, top), half)
    pen.upright(pen.metal, x, (top - 6 * unit, top), half)
    for sense in (-1, 1):
        end, lane = x + sense * away, x + sense * apart
        pen.contact(end, middle)
        pen.level(pen.metal, (min(end, lane), max(end, lane)), middle, pen.wire)
        pen.upright(pen.metal, lane, (middle - pen.wire, top), pen.wire)
    for lane in (x - apart, x, x + apart):
        pen.bond_pad((lane - side // 2, lane + side // 2), (top, top + side))
    return top + side
