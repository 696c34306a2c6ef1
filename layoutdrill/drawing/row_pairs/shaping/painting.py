"""Turn a compacted sketch into a layout: rectangles on mask layers, with selects, wells and labels."""

from collections.abc import Iterable, Mapping, Sequence

from layoutdrill.drawing.row_pairs.shaping.decoys import Beyond
from layoutdrill.drawing.row_pairs.shaping.rails import UPPER
from layoutdrill.drawing.row_pairs.shaping.sketch import Shape, Sketch
from layoutdrill.drawing.shared.technique import OTHER, Implants, Technique
from layoutdrill.geometry.rect import Rect, bounding_box
from layoutdrill.layout.model import Label, Layout

SORTS = ("metal", "other", "upper")
"""What shapes of each wiring layer are called where spacing is counted."""


def paint(name: str, sketch: Sketch, technique: Technique, nets: Mapping[int, str], ports: Iterable[int],
          beyond: Sequence[Beyond] = ()) -> Layout:  # fmt: skip
    """Return the layout; every net of `ports` gets a label, at its exit or else on a shape of its own."""
    xs, ys = sketch.xs, sketch.ys
    places: list[tuple[Shape, Rect]] = [
        (s, Rect(xs[s.x0[0]] + s.x0[1], ys[s.y0[0]] + s.y0[1], xs[s.x1[0]] + s.x1[1], ys[s.y1[0]] + s.y1[1]))
        for s in sketch.shapes
    ]
    masks: dict[str, list[Rect]] = {}
    for shape, rect in places:
        if shape.mask:
            masks.setdefault(shape.mask, []).append(rect)
    for sort, wire in zip(SORTS, technique.wires, strict=False):
        own = [(s.net, r, s.mask) for s, r in places if s.sort == sort]
        for mask in sorted({mask for _, _, mask in own}):
            masks[mask].extend(_fills([(net, r) for net, r, m in own if m == mask], wire.spacing))
    for other in beyond:
        for mask, rects in other.masks.items():
            masks.setdefault(mask, []).extend(rects)
    if technique.implants is not None:
        _implant(places, masks, technique.implants, beyond)
    labels = [
        Label(nets[net], layer, xs[x[0]] + x[1], ys[y[0]] + y[1]) for net, layer, x, y in sketch.labels if net in nets
    ]
    labelled = SORTS if technique.wires[OTHER].layer else ("metal",)
    named = {label.text for label in labels}
    for net in ports:
        if nets[net] not in named:
            label = _inner_label(nets[net], net, places, labelled)
            if label is not None:
                labels.append(label)
    shapes = {mask: tuple(dict.fromkeys(rects)) for mask, rects in masks.items() if rects}
    return Layout(name, shapes, tuple(labels))


def _inner_label(name: str, net: int, places: list[tuple[Shape, Rect]], labelled: tuple[str, ...]) -> Label | None:
    """Label a wire, or else the first gate or pad of the net."""
    own = [(s, r) for s, r in places if s.net == net and s.sort in labelled]
    if not own:
        return None
    shape, rect = min(own, key=lambda item: item[0].solid)
    return Label(name, shape.mask, *rect.centre)


def _fills(shapes: list[tuple[int, Rect]], least: int) -> list[Rect]:
    """Fill gaps between shapes of one net that are narrower than the spacing rule; only such gaps can be left."""
    by_net: dict[int, list[Rect]] = {}
    for net, rect in shapes:
        by_net.setdefault(net, []).append(rect)
    fills = []
    for rects in by_net.values():
        for i, a in enumerate(rects):
            for b in rects[i + 1 :]:
                x0, x1 = max(a.x0, b.x0), min(a.x1, b.x1)
                y0, y1 = max(a.y0, b.y0), min(a.y1, b.y1)
                if x1 > x0 and 0 < y0 - y1 < least:
                    fills.append(Rect(x0, y1, x1, y0))
                elif y1 > y0 and 0 < x0 - x1 < least:
                    fills.append(Rect(x1, y0, x0, y1))
    return fills


def _implant(places: list[tuple[Shape, Rect]], masks: dict[str, list[Rect]], t: Implants,
             beyond: Sequence[Beyond]) -> None:  # fmt: skip
    """Draw one select round each device row and the well round the upper one and its taps."""
    by_sort: dict[int, list[Rect]] = {}
    for shape, rect in places:
        if shape.sort == "diffusion":
            by_sort.setdefault(shape.net // UPPER, []).append(rect)
    for other in beyond:
        for row in (0, 1):
            by_sort.setdefault(row, []).extend(other.strips[row])
    for row in (0, 1):
        box = bounding_box(by_sort.get(row, ()))
        if box is not None:
            masks.setdefault(t.doping[row], []).append(box.grown(t.past))
    devices = [r.grown(t.well_past) for r in by_sort.get(1, ())]
    high = bounding_box(devices and devices + [r.grown(t.well_tap) for r in by_sort.get(3, ())])
    if high is not None:
        masks[t.well] = [high]
