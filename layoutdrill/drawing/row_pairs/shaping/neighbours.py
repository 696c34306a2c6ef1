"""Begin the neighbours of a cell, which do not belong to it and are cut by the edge of the picture."""

from layoutdrill.dice import Dice
from layoutdrill.drawing.row_pairs.shaping.lines import Line, span
from layoutdrill.drawing.row_pairs.shaping.sketch import UPPER, Paint, Sketch, Sort
from layoutdrill.drawing.shared.technique import METAL, Loads, Rings
from layoutdrill.value import value

_BEYOND = 900
"""Number of a neighbour's diffusion among those of its row."""


def begin_neighbour(sketch: Sketch, side: str, widths: tuple[int, int], dice: Dice) -> None:
    """
    Add the beginning of a neighbour beyond the border on the left or right of a sketch that is compacted and has both
    rails: sources on the rails, a gate through both rows, and drains that the edge of the picture cuts.
    """
    t = sketch.technique
    pen = _Pen(sketch, *((Line.RIGHT, 1) if side == "right" else (Line.LEFT, -1)))
    metal, doped = t.wires[METAL], t.doped
    ring = metal.spacing // 2 if t.rings else 0
    start = ring + t.rings.width + t.rings.gap if t.rings else t.diffusion_spacing
    contact = start + t.surround + t.contact // 2
    gate = contact + t.contact // 2 + t.contact_gate + t.gate // 2 + 2 * dice.below(3)
    end = gate + t.gate // 2 + t.diffusion_past + 2 * dice.below(4)
    rows = _rows(sketch, widths)
    if t.rings:
        _ring(pen, t.rings, ring, end)
    for line in Line.RAILS:
        pen.bar(t.metal, (0, end), sketch.y.at[line], t.rail // 2)
    for row, rail, (low, high) in rows:
        if not t.bulk:
            diffusion = Paint(t.diffusion[row], Sort.DIFFUSION, UPPER * row - _BEYOND)
            pen.box(diffusion, (start, end), (low, high))
        middle = (low + high) // 2
        pen.square(t.cut, contact, middle, t.contact // 2)
        pen.square(t.metal, contact, middle, metal.pad // 2)
        wire = metal.width // 2
        pen.box(t.metal, (contact - wire, contact + wire), (middle, rail))
        if doped:
            p, channel, w = doped.past, t.channel // 2, doped.window_past
            pen.box(doped.doping[row], (start - p, gate - channel), (low - p, high + p))
            pen.box(doped.doping[row], (gate + channel, end + p), (low - p, high + p))
            rise = w if doped.island else -doped.inset
            pen.box(doped.window, (gate - channel - w, gate + channel + w), (low - rise, high + rise))
    low = min(low for _, _, (low, _) in rows) - t.gate_past
    high = max(high for _, _, (_, high) in rows) + t.gate_past
    pen.box(t.wires[t.gate_layer].layer, (gate - t.gate // 2, gate + t.gate // 2), (low, high))


@value
class _Pen:
    """Draws outwards from a border, at heights above the lower one."""

    out: Sketch
    border: int
    sense: int

    def box(self, mask: str | Paint, out: tuple[int, int], y: tuple[int, int]) -> None:
        paint = Paint(mask) if isinstance(mask, str) else mask
        self.out.box(paint, span(self.border, *sorted(self.sense * u for u in out)), span(Line.BOTTOM, *sorted(y)))

    def bar(self, mask: str, out: tuple[int, int], y: int, half: int) -> None:
        self.box(mask, out, (y - half, y + half))

    def square(self, mask: str, out: int, y: int, half: int) -> None:
        self.bar(mask, (out - half, out + half), y, half)


def _ring(pen: _Pen, rings: Rings, start: int, end: int) -> None:
    """Begin a neighbour's guard rings, level with those of the cell, and its well."""
    t, wide = pen.out.technique, rings.width
    assert t.doped is not None
    for row in (0, 1):
        legs = [pen.out.rect(s.x, s.y) for s in pen.out.shapes if s.sort is Sort.RING and s.net == row]
        low, high = min(leg.y0 for leg in legs), max(leg.y1 for leg in legs)
        mask = t.doped.doping[1 - row]
        pen.box(mask, (start, start + wide), (low, high))
        pen.box(mask, (start, end), (low, low + wide))
        pen.box(mask, (start, end), (high - wide, high))
        under = (low if row == 0 else high - wide) + wide // 2
        pen.square(t.cut, start + wide + t.contact + t.contact // 2, under, t.contact // 2)
        if row == 0:
            past = rings.well_past
            pen.box(rings.well, (start - past, end + wide), (low - past, high + past))


def _rows(sketch: Sketch, widths: tuple[int, int]) -> list[tuple[int, int, tuple[int, int]]]:
    """Return (row, middle of the rail, bottom and top of the diffusion) for each row in which a neighbour begins."""
    t = sketch.technique
    gap = t.rail // 2 + (t.implants.tap_gap if t.implants else t.wires[METAL].spacing + t.gate_past)
    if t.rings:
        gap = t.rings.width // 2 + t.rings.gap
    rows = []
    for row in {Loads.BURIED: (0,), Loads.TIED: (0,), Loads.PLATE: (1,), None: (0, 1)}[t.loads]:
        rail = sketch.y.at[Line.RAILS[row]]
        low = rail + gap if row == 0 else rail - gap - widths[1]
        rows.append((row, rail, (low, low + widths[row])))
    return rows
