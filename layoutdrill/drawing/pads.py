"""
Give a cell its bonding pad: a square of metal with an opening in the glass, where its net leaves the cell in metal.

A pad is as wide as a bond needs (100 µm and up, common practice); here it is smaller against the cell, so that both
can be seen at once, and stands clear of the rails' ends.
"""

from dataclasses import replace

from layoutdrill.drawing.row_pairs.draw import Drawing
from layoutdrill.drawing.shared.canvas import ArrayDrawing
from layoutdrill.geometry.rect import Rect, bounding_box
from layoutdrill.geometry.transform import Transform
from layoutdrill.layout.model import Layout
from layoutdrill.process.model import Process

PORT = "pad"
"""A port of this name is bonded."""
SIDE, STUB, RIM = 30, 8, 3
"""λ: the pad's side, the wire that leads to it beyond the cell's box, and the metal that the glass laps over."""


def with_pad(drawn: Drawing | ArrayDrawing, process: Process) -> Drawing | ArrayDrawing:
    """Return the drawing with a pad, moved so that its lower left corner lies at (0, 0); as it is where none fits."""
    by_role = {layer.role: name for name, layer in process.layers.items()}
    opening, metal = by_role.get("glass-opening"), by_role.get("metal")
    layout, box = drawn.layout, drawn.layout.box
    if opening is None or metal is None or box is None:
        return drawn
    wires = layout.shapes.get(metal, ())
    reach = bounding_box(list(wires))
    label = next((t for t in layout.labels if t.text == PORT and t.layer == metal), None)
    if label is None or reach is None:
        return drawn
    unit = process.grid_per_lambda
    for wire in wires:
        if not (wire.x0 <= label.x <= wire.x1 and wire.y0 <= label.y <= wire.y1):
            continue
        parts = _parts(wire, reach, box, unit)
        if parts is not None:
            stub, pad = parts
            shapes = dict(layout.shapes)
            shapes[metal] = (*wires, stub, pad)
            shapes[opening] = (*shapes.get(opening, ()), pad.grown(-RIM * unit))
            whole = Layout(layout.name, shapes, layout.labels, layout.placements)
            corner = whole.box or box
            back = Transform(-corner.x0, -corner.y0)
            return replace(drawn, layout=whole.transformed(back), frame=back.rect(drawn.frame))
    return drawn


def _parts(wire: Rect, reach: Rect, box: Rect, unit: int) -> tuple[Rect, Rect] | None:
    """Return the wire to the pad and the pad, on the side to which a wire leads out; None where it leads nowhere."""
    half, stub, side = SIDE * unit // 2, STUB * unit, SIDE * unit
    x, y = (part // unit * unit for part in wire.centre)
    if wire.x0 == reach.x0:
        edge = box.x0 - stub
        return Rect(edge, wire.y0, wire.x0, wire.y1), Rect(edge - side, y - half, edge, y + half)
    if wire.x1 == reach.x1:
        edge = box.x1 + stub
        return Rect(wire.x1, wire.y0, edge, wire.y1), Rect(edge, y - half, edge + side, y + half)
    if wire.y0 == reach.y0:
        edge = box.y0 - stub
        return Rect(wire.x0, edge, wire.x1, wire.y0), Rect(x - half, edge - side, x + half, edge)
    if wire.y1 == reach.y1:
        edge = box.y1 + stub
        return Rect(wire.x0, wire.y1, wire.x1, edge), Rect(x - half, edge, x + half, edge + side)
    return None
