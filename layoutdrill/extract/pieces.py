"""Compute the pieces of every material of a layout: conductors, channels and element bodies as rectangles."""

from collections.abc import Mapping, Sequence

from layoutdrill.extract.materials import Group, Plan
from layoutdrill.geometry.cutting import Partial, disjoint, split
from layoutdrill.geometry.sweep import Box, meeting


def material_pieces(plan: Plan, shapes: Mapping[str, Sequence[Box]]) -> list[Sequence[Box]]:
    """
    Return each material's rectangles, by place in `plan.materials`.

    Those of a region do not overlap; those of a plain mask layer are as drawn.
    """
    result: list[Sequence[Box]] = [()] * len(plan.materials)
    for i, layer in plan.plain:
        result[i] = shapes.get(layer, ())
    for group in plan.groups:
        for i, boxes in _group_pieces(group, shapes).items():
            result[i] = boxes
    return result


def _group_pieces(group: Group, shapes: Mapping[str, Sequence[Box]]) -> dict[int, list[Box]]:
    result: dict[int, list[Box]] = {i: [] for i, _ in group.regions}
    if group.guard is None:
        guards = disjoint([box for layer in group.layers for box in shapes.get(layer, ())])
        base, others = 0, group.layers
    else:
        guards = disjoint(shapes.get(group.guard, ()))
        base, others = 1, group.layers[1:]
    if not guards:
        return result
    boxes: list[Box] = list(guards)
    bits: list[int] = []
    for layer in others:
        drawn = shapes.get(layer, ())
        boxes.extend(drawn)
        bits.extend([1 << group.layers.index(layer)] * len(drawn))
    count = len(guards)
    covers: dict[int, list[Partial]] = {}
    for i, j in meeting(boxes, range(count), range(count, len(boxes))):
        x0, y0, x1, y1 = boxes[j]
        try:
            covers[i].append((x0, y0, x1, y1, bits[j - count]))
        except KeyError:
            covers[i] = [(x0, y0, x1, y1, bits[j - count])]
    lists: dict[int, tuple[list[Box], ...]] = {}
    for i in range(count):
        for piece, mask in split(boxes[i], covers.get(i, ()), base):
            try:
                places = lists[mask]
            except KeyError:
                places = lists[mask] = tuple(result[m] for m, test in group.regions if test(mask))
            for place in places:
                place.append(piece)
    return result
