"""
Give a cell its bonding pad: a square of metal with an opening in the glass, where its net leaves the cell in metal.

A pad is as wide as a bond needs (100 µm and up, common practice); here it is smaller against the cell, so that both
can be seen at once, and stands clear of the rails' ends.
"""

from dataclasses import replace

from layoutdrill.drawing.shared import Canvas, Drawing, Pen, technique_for
from layoutdrill.geometry.rect import Rect, box_round
from layoutdrill.geometry.transform import IDENTITY, Transform
from layoutdrill.process.model import Process

PORT = "pad"
"""A port of this name is bonded."""
SIDE, STUB = 30, 8
"""λ: the pad's side, and the wire that leads to it beyond the cell's box."""


def with_pad(drawn: Drawing, process: Process) -> Drawing:
    """Return the drawing with a pad, moved so that its lower left corner lies at (0, 0); as it is where none fits."""
    pen = Pen(technique_for(process))
    wires = drawn.layout.shapes.get(pen.metal, ())
    label = next((t for t in drawn.layout.labels if t.text == PORT and t.layer == pen.metal), None)
    if not pen.t.glass or label is None:
        return drawn
    for wire in wires:
        on_label = wire.x0 <= label.x <= wire.x1 and wire.y0 <= label.y <= wire.y1
        if on_label and _led_out(pen, wire, box_round(wires), drawn.layout.box or wire):
            return with_beside(drawn, pen)
    return drawn


def with_beside(drawn: Drawing, canvas: Canvas) -> Drawing:
    """Return the drawing with what is on a canvas beside it, its lower left corner moved to (0, 0)."""
    layout = drawn.layout
    more = {mask: (*layout.shapes.get(mask, ()), *rects) for mask, rects in canvas.shapes.items()}
    whole = replace(layout, shapes={**layout.shapes, **more})
    corner = whole.box or drawn.frame
    back = Transform(-corner.x0, -corner.y0)
    return replace(drawn, layout=whole.transformed(back), frame=back.rect(drawn.frame))


def _led_out(pen: Pen, wire: Rect, metal: Rect, box: Rect) -> bool:
    """Draw the wire to the pad and the pad, on the side to which a wire leads out; tell whether it leads anywhere."""
    unit = pen.t.unit
    for at in (IDENTITY, Transform(turns=1, mirrored=True)):  # to the left or right, or else with x for y
        own, all_metal, border, placed = at.rect(wire), at.rect(metal), at.rect(box), pen.placed(at)
        for sense, end, last, edge in (-1, own.x0, all_metal.x0, border.x0), (1, own.x1, all_metal.x1, border.x1):
            if end == last:
                near, y, half = edge + sense * STUB * unit, own.centre[1] // unit * unit, SIDE * unit // 2
                placed.box(pen.metal, (end, near), (own.y0, own.y1))
                placed.bond_pad((near, near + sense * SIDE * unit), (y - half, y + half))
                return True
    return False
