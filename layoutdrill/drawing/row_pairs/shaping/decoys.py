"""Draw what does not belong to the cell: wires that only pass through, and the beginning of neighbours."""

from collections.abc import Callable
from dataclasses import dataclass

from layoutdrill.dice import Dice
from layoutdrill.drawing.row_pairs.routing.grid import ABSENT, FREE, Grid, Pin
from layoutdrill.drawing.row_pairs.shaping.rails import LEFT, RAILS, RIGHT
from layoutdrill.drawing.row_pairs.shaping.sketch import Sketch
from layoutdrill.drawing.shared.technique import METAL, OTHER, Loads, Rings, Technique
from layoutdrill.geometry.rect import Rect

ALIEN = 1_000_000
"""Nets from here up belong to no cell."""


@dataclass(frozen=True, slots=True)
class Beyond:
    """What is drawn beyond the cell's border: rectangles by mask, and the diffusions among them by device row."""

    masks: dict[str, list[Rect]]
    strips: tuple[list[Rect], list[Rect]]


def exit_pin(grid: Grid, side: str, net: int, layers: tuple[int, ...] = (METAL, OTHER)) -> Pin:
    """Return a pin that lets a net leave on a side: past rails below them, or above in the second metal."""
    rows = grid.rows
    if side in ("left", "right"):
        column = 0 if side == "left" else grid.columns - 1
        places = [(layer, r, column) for layer in layers for r in range(1, rows.count - 1)]
    else:
        row = 0 if side == "bottom" else rows.count - 1
        places = [(layer, row, c) for layer in range(OTHER, grid.layers) for c in range(grid.columns)]
    nodes = tuple(n for n in (grid.node(*place) for place in places) if grid.owner[n] in (FREE, net))
    return Pin(nodes, joined=False, side=side)


def pass_through(grid: Grid, count: int, dice: Dice, *, ringed: bool = False) -> None:
    """Ask for `count` wires from one side to the other."""
    for number in range(count):
        net = ALIEN + number
        if dice.chance(80) or ringed:
            layers = (METAL,) if dice.chance(75) or ringed else (METAL, OTHER)
            grid.pins[net] = [exit_pin(grid, side, net, layers) for side in ("left", "right")]
        else:
            grid.pins[net] = [exit_pin(grid, side, net) for side in ("bottom", "top")]
        if not all(pin.nodes for pin in grid.pins[net]):
            del grid.pins[net]


def neighbour(sketch: Sketch, side: str, technique: Technique, supplies: tuple[int, int],
              widths: tuple[int, int], dice: Dice) -> Beyond:  # fmt: skip
    """
    Return the beginning of a neighbour beyond the border on the left or right: sources on the rails, a gate
    through both rows, and drains that the edge of the picture cuts.
    """
    t = technique
    edge = sketch.xs[RIGHT] if side == "right" else sketch.xs[LEFT]
    sense = 1 if side == "right" else -1
    found = Beyond({}, ([], []))

    def box(mask: str, u0: int, u1: int, y0: int, y1: int) -> Rect:
        x0, x1 = sorted((edge + sense * u0, edge + sense * u1))
        rect = Rect(x0, y0, x1, y1)
        found.masks.setdefault(mask, []).append(rect)
        return rect

    ring = t.wires[METAL].spacing // 2 if t.rings else 0
    start = ring + t.rings.width + t.rings.gap if t.rings else t.diffusion_spacing
    contact = start + t.surround + t.contact // 2
    gate = contact + t.contact // 2 + t.contact_gate + t.gate // 2 + 2 * dice.below(3)
    end = gate + t.gate // 2 + t.diffusion_past + 2 * dice.below(4)
    pad, half, cut, wire = t.wires[METAL].pad // 2, t.gate // 2, t.contact // 2, t.wires[METAL].width // 2
    rows = _rows(sketch, technique, supplies, widths)
    if t.rings:
        _ring(sketch, t, t.rings, ring, end, box)
    for row, rail in enumerate(sketch.ys[line] for line in RAILS):
        if supplies[row] != ABSENT:
            box("metal", 0, end, rail - t.rail // 2, rail + t.rail // 2)
    for row, rail, (low, high) in rows:
        if t.doped is None or t.doped.island:
            found.strips[row].append(box(t.diffusion[row], start, end, low, high))
        middle = (low + high) // 2
        box("contact", contact - cut, contact + cut, middle - cut, middle + cut)
        box("metal", contact - pad, contact + pad, middle - pad, middle + pad)
        box("metal", contact - wire, contact + wire, min(middle, rail), max(middle, rail))
        if t.doped:
            p, channel, w = t.doped.past, t.channel // 2, t.doped.window_past
            box(t.doped.doping[row], start - p, gate - channel, low - p, high + p)
            box(t.doped.doping[row], gate + channel, end + p, low - p, high + p)
            rise = w if t.doped.island else -t.doped.inset
            box(t.doped.window, gate - channel - w, gate + channel + w, low - rise, high + rise)
    low = min(low for _, _, (low, _) in rows) - t.gate_past
    high = max(high for _, _, (_, high) in rows) + t.gate_past
    box(t.wires[t.gate_layer].layer, gate - half, gate + half, low, high)
    return found


def _ring(sketch: Sketch, t: Technique, rings: Rings, start: int, end: int,
          box: Callable[[str, int, int, int, int], Rect]) -> None:  # fmt: skip
    """Begin a neighbour's guard rings, level with those of the cell, and its well."""
    assert t.doped is not None
    for row in (0, 1):
        legs = [s for s in sketch.shapes if s.sort == "ring" and s.net == row]
        if not legs:
            continue
        low = min(sketch.ys[s.y0[0]] + s.y0[1] for s in legs)
        high = max(sketch.ys[s.y1[0]] + s.y1[1] for s in legs)
        mask = t.doped.doping[1 - row]
        box(mask, start, start + rings.width, low, high)
        box(mask, start, end, low, low + rings.width)
        box(mask, start, end, high - rings.width, high)
        under = (low if row == 0 else high - rings.width) + rings.width // 2
        hole = start + rings.width + t.contact
        box("contact", hole, hole + t.contact, under - t.contact // 2, under + t.contact // 2)
        if row == 0:
            box(rings.well, start - rings.well_past, end + rings.width, low - rings.well_past, high + rings.well_past)


def _rows(sketch: Sketch, technique: Technique, supplies: tuple[int, int],
          widths: tuple[int, int]) -> list[tuple[int, int, tuple[int, int]]]:  # fmt: skip
    """Return (row, middle of the rail, bottom and top of the diffusion) for each row that has a rail."""
    t = technique
    gap = t.rail // 2 + (t.implants.tap_gap if t.implants else t.wires[METAL].spacing + t.gate_past)
    if t.rings:
        gap = t.rings.width // 2 + t.rings.gap
    own = {Loads.BURIED: (0,), Loads.PLATE: (1,), None: (0, 1)}[t.loads]
    found = []
    for row, rail in enumerate(sketch.ys[line] for line in RAILS):
        if supplies[row] != ABSENT and row in own:
            low = rail + gap if row == 0 else rail - gap - widths[1]
            found.append((row, rail, (low, low + widths[row])))
    return found
