"""Begin the neighbours of a cell, which do not belong to it and are cut by the edge of the picture."""

from layoutdrill.dice import Dice
from layoutdrill.drawing.row_pairs.job import ABSENT
from layoutdrill.drawing.row_pairs.shaping.sketch import LEFT, RAILS, RIGHT, Sketch, Sort
from layoutdrill.drawing.shared.technique import METAL, Loads, Rings
from layoutdrill.geometry.rect import Rect
from layoutdrill.value import value


@value
class Beyond:
    """What is drawn beyond the cell's border: rectangles by mask, and the diffusions among them by device row."""

    masks: dict[str, list[Rect]]
    strips: tuple[list[Rect], list[Rect]]


def neighbour(sketch: Sketch, side: str, supplies: tuple[int, int], widths: tuple[int, int], dice: Dice) -> Beyond:
    """
    Return the beginning of a neighbour beyond the border on the left or right: sources on the rails, a gate
    through both rows, and drains that the edge of the picture cuts.
    """
    t = sketch.technique
    pen = _Pen(sketch.xs[RIGHT if side == "right" else LEFT], 1 if side == "right" else -1, {})
    metal, doped = t.wires[METAL], t.doped
    ring = metal.spacing // 2 if t.rings else 0
    start = ring + t.rings.width + t.rings.gap if t.rings else t.diffusion_spacing
    contact = start + t.surround + t.contact // 2
    gate = contact + t.contact // 2 + t.contact_gate + t.gate // 2 + 2 * dice.below(3)
    end = gate + t.gate // 2 + t.diffusion_past + 2 * dice.below(4)
    rows = _rows(sketch, supplies, widths)
    strips: tuple[list[Rect], list[Rect]] = ([], [])
    if t.rings:
        _ring(sketch, t.rings, pen, ring, end)
    for row, rail in enumerate(sketch.ys[line] for line in RAILS):
        if supplies[row] != ABSENT:
            pen.box(t.metal, (0, end), (rail - t.rail // 2, rail + t.rail // 2))
    for row, rail, (low, high) in rows:
        if not t.bulk:
            strips[row].append(pen.box(t.diffusion[row], (start, end), (low, high)))
        middle = (low + high) // 2
        pen.square(t.cut, contact, middle, t.contact // 2)
        pen.square(t.metal, contact, middle, metal.pad // 2)
        wire = metal.width // 2
        pen.box(t.metal, (contact - wire, contact + wire), (min(middle, rail), max(middle, rail)))
        if doped:
            p, channel, w = doped.past, t.channel // 2, doped.window_past
            pen.box(doped.doping[row], (start - p, gate - channel), (low - p, high + p))
            pen.box(doped.doping[row], (gate + channel, end + p), (low - p, high + p))
            rise = w if doped.island else -doped.inset
            pen.box(doped.window, (gate - channel - w, gate + channel + w), (low - rise, high + rise))
    low = min(low for _, _, (low, _) in rows) - t.gate_past
    high = max(high for _, _, (_, high) in rows) + t.gate_past
    pen.box(t.wires[t.gate_layer].layer, (gate - t.gate // 2, gate + t.gate // 2), (low, high))
    return Beyond(pen.masks, strips)


@value
class _Pen:
    """Draws outwards from the border at `edge`."""

    edge: int
    sense: int
    masks: dict[str, list[Rect]]

    def box(self, mask: str, out: tuple[int, int], y: tuple[int, int]) -> Rect:
        x0, x1 = sorted(self.edge + self.sense * u for u in out)
        rect = Rect(x0, y[0], x1, y[1])
        self.masks.setdefault(mask, []).append(rect)
        return rect

    def square(self, mask: str, out: int, y: int, half: int) -> None:
        self.box(mask, (out - half, out + half), (y - half, y + half))


def _ring(sketch: Sketch, rings: Rings, pen: _Pen, start: int, end: int) -> None:
    """Begin a neighbour's guard rings, level with those of the cell, and its well."""
    t = sketch.technique
    assert t.doped is not None
    wide = rings.width
    for row in (0, 1):
        legs = [s for s in sketch.shapes if s.sort is Sort.RING and s.net == row]
        if not legs:
            continue
        low = min(sketch.ys[s.y0[0]] + s.y0[1] for s in legs)
        high = max(sketch.ys[s.y1[0]] + s.y1[1] for s in legs)
        mask = t.doped.doping[1 - row]
        pen.box(mask, (start, start + wide), (low, high))
        pen.box(mask, (start, end), (low, low + wide))
        pen.box(mask, (start, end), (high - wide, high))
        under = (low if row == 0 else high - wide) + wide // 2
        pen.square(t.cut, start + wide + t.contact + t.contact // 2, under, t.contact // 2)
        if row == 0:
            past = rings.well_past
            pen.box(rings.well, (start - past, end + wide), (low - past, high + past))


def _rows(sketch: Sketch, supplies: tuple[int, int], widths: tuple[int, int]) -> list[tuple[int, int, tuple[int, int]]]:
    """Return (row, middle of the rail, bottom and top of the diffusion) for each row that has a rail."""
    t = sketch.technique
    gap = t.rail // 2 + (t.implants.tap_gap if t.implants else t.wires[METAL].spacing + t.gate_past)
    if t.rings:
        gap = t.rings.width // 2 + t.rings.gap
    own = {Loads.BURIED: (0,), Loads.TIED: (0,), Loads.PLATE: (1,), None: (0, 1)}[t.loads]
    rows = []
    for row, rail in enumerate(sketch.ys[line] for line in RAILS):
        if supplies[row] != ABSENT and row in own:
            low = rail + gap if row == 0 else rail - gap - widths[1]
            rows.append((row, rail, (low, low + widths[row])))
    return rows
