"""Draw what does not belong to the cell: wires that only pass through, and the beginning of neighbours."""

from dataclasses import dataclass

from layoutdrill.drawing.dice import Dice
from layoutdrill.drawing.grid import ABSENT, FREE, Grid, Pin
from layoutdrill.drawing.rails import LEFT, RAILS, RIGHT
from layoutdrill.drawing.sketch import Sketch
from layoutdrill.drawing.technique import METAL, OTHER, Technique
from layoutdrill.geometry.rect import Rect

ALIEN = 1_000_000
"""Nets from here up belong to no cell."""


@dataclass(frozen=True, slots=True)
class Beyond:
    """What is drawn beyond the cell's border: rectangles by mask, and the diffusions among them by device row."""

    masks: dict[str, list[Rect]]
    strips: tuple[list[Rect], list[Rect]]


def exit_pin(grid: Grid, side: str, net: int, layers: tuple[int, ...] = (METAL, OTHER)) -> Pin:
    """Return a pin that lets a net leave on a side; below rails only the other layer can."""
    rows = grid.rows
    if side in ("left", "right"):
        column = 0 if side == "left" else grid.columns - 1
        places = [(layer, r, column) for layer in layers for r in range(1, rows.count - 1)]
    else:
        row = 0 if side == "bottom" else rows.count - 1
        places = [(OTHER, row, c) for c in range(grid.columns)]
    nodes = tuple(n for n in (grid.node(*place) for place in places) if grid.owner[n] in (FREE, net))
    return Pin(nodes, joined=False, side=side)


def pass_through(grid: Grid, count: int, dice: Dice) -> None:
    """Ask for `count` wires from one side to the other."""
    for number in range(count):
        net = ALIEN + number
        if dice.chance(80):
            layers = (METAL,) if dice.chance(75) else (METAL, OTHER)
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

    start = t.diffusion_spacing
    contact = start + t.surround + t.contact // 2
    gate = contact + t.contact // 2 + t.contact_gate + t.gate // 2 + 2 * dice.below(3)
    end = gate + t.gate // 2 + t.diffusion_past + 2 * dice.below(4)
    pad, half, cut, wire = t.wires[METAL].pad // 2, t.gate // 2, t.contact // 2, t.wires[METAL].width // 2
    rows = _rows(sketch, technique, supplies, widths)
    for row, rail, (low, high) in rows:
        found.strips[row].append(box(t.diffusion, start, end, low, high))
        middle = (low + high) // 2
        box("contact", contact - cut, contact + cut, middle - cut, middle + cut)
        box("metal", contact - pad, contact + pad, middle - pad, middle + pad)
        box("metal", contact - wire, contact + wire, min(middle, rail), max(middle, rail))
        box("metal", 0, end, rail - t.rail // 2, rail + t.rail // 2)
        if t.window:
            p, channel, w = t.doping_past, t.channel // 2, t.window_past
            box(t.doping[row], start - p, gate - channel, low - p, high + p)
            box(t.doping[row], gate + channel, end + p, low - p, high + p)
            box(t.window, gate - channel - w, gate + channel + w, low - w, high + w)
    low = min(low for _, _, (low, _) in rows) - t.gate_past
    high = max(high for _, _, (_, high) in rows) + t.gate_past
    box(t.wires[t.gate_layer].layer, gate - half, gate + half, low, high)
    return found


def _rows(sketch: Sketch, technique: Technique, supplies: tuple[int, int],
          widths: tuple[int, int]) -> list[tuple[int, int, tuple[int, int]]]:  # fmt: skip
    """Return (row, middle of the rail, bottom and top of the diffusion) for each row that has a rail."""
    t = technique
    gap = t.rail // 2 + (t.tap_gap if t.well else t.wires[METAL].spacing + t.gate_past)
    found = []
    for row, rail in enumerate(sketch.ys[line] for line in RAILS):
        if supplies[row] != ABSENT:
            low = rail + gap if row == 0 else rail - gap - widths[1]
            found.append((row, rail, (low, low + widths[row])))
    return found
