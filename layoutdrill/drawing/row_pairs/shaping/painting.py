"""Turn a compacted sketch into a layout: rectangles on mask layers, with selects, wells and labels."""

from collections.abc import Iterable, Sequence

from layoutdrill.drawing.row_pairs.job import Job
from layoutdrill.drawing.row_pairs.shaping.sketch import UPPER, WIRES, Shape, Sketch, Sort
from layoutdrill.drawing.shared.technique import OTHER, Implants
from layoutdrill.geometry.rect import Rect, bounding_box
from layoutdrill.layout.model import Label, Layout
from layoutdrill.unions import grouped

_Placed = Sequence[tuple[Shape, Rect]]
_Masks = dict[str, list[Rect]]


def paint(job: Job, sketch: Sketch, ports: Iterable[str]) -> Layout:
    """Return the layout; every net of `ports` gets a label, at its exit or else on a shape of its own."""
    t = sketch.technique
    placed = [(shape, sketch.rect(shape.x, shape.y)) for shape in sketch.shapes]
    masks = grouped((shape.mask, rect) for shape, rect in placed if shape.mask)
    wires = grouped(((shape.sort, shape.mask, shape.net), rect) for shape, rect in placed if shape.sort in WIRES)
    for (sort, mask, _), rects in wires.items():
        masks[mask] += _fills(rects, t.wires[WIRES.index(sort)].spacing)
    if t.implants is not None:
        _implant(placed, masks, t.implants)
    labels = sketch.named({number: net for net, number in job.nets.items()})
    labelled = WIRES if t.wires[OTHER].layer else WIRES[:OTHER]
    named = {label.text for label in labels}
    for port in ports:
        shapes = [(s, r) for s, r in placed if s.net == job.nets[port] and s.sort in labelled]
        if port not in named and shapes:  # on a wire, or else on the first gate or pad
            shape, rect = min(shapes, key=lambda item: item[0].solid)
            labels.append(Label(port, shape.mask, *rect.centre))
    return Layout(
        job.netlist.name, {mask: tuple(dict.fromkeys(rects)) for mask, rects in masks.items() if rects}, tuple(labels)
    )


def _fills(rects: Sequence[Rect], least: int) -> list[Rect]:
    """Fill gaps between shapes of one net that are narrower than the spacing rule; only such gaps can be left."""
    fills = []
    for i, a in enumerate(rects):
        for b in rects[i + 1 :]:
            x0, x1 = max(a.x0, b.x0), min(a.x1, b.x1)
            y0, y1 = max(a.y0, b.y0), min(a.y1, b.y1)
            if x1 > x0 and 0 < y0 - y1 < least:
                fills.append(Rect(x0, y1, x1, y0))
            elif y1 > y0 and 0 < x0 - x1 < least:
                fills.append(Rect(x1, y0, x0, y1))
    return fills


def _implant(placed: _Placed, masks: _Masks, t: Implants) -> None:
    """Draw one select round each device row, and the well round its row and the taps there."""
    rows = grouped((shape.net // UPPER, rect) for shape, rect in placed if shape.sort is Sort.DIFFUSION)
    for row in (0, 1):
        box = bounding_box(rows.get(row, ()))
        if box is not None:
            masks.setdefault(t.doping[row], []).append(box.grown(t.past))
    devices = [r.grown(t.well_past) for r in rows.get(t.row, ())]
    well = bounding_box(devices and devices + [r.grown(t.well_tap) for r in rows.get(2 + t.row, ())])
    if well is not None:
        masks[t.well] = [well]
