"""Draw guard rings, and the well round the n transistors, where a process has them."""

from layoutdrill.drawing.guards import ring_round
from layoutdrill.drawing.planes.metal_rules import MetalRules
from layoutdrill.drawing.planes.pen import Sheet
from layoutdrill.geometry.rect import Rect


def ring_middle(r: MetalRules, area: Rect) -> Rect:
    """Return the middle of a ring's bars round an area of diffusions; the area itself where there are no rings."""
    rings = r.technique.rings
    return area if rings is None else area.grown(rings.gap + rings.width // 2)


def paint_ring(sheet: Sheet, r: MetalRules, area: Rect, kind: int) -> None:
    """Draw the ring of the other doping round the diffusions of a kind, 0 for n, and round those the well."""
    rings = r.technique.rings
    if rings is None:
        return
    for mask, rect in ring_round(area, rings, r.doped, kind)[1]:
        sheet.shapes.setdefault(mask, []).append(rect)
