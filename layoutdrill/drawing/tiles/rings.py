"""
Close the guard rings of an array, and lead its upright wires past them.

The rows of an array share their rings: legs between the rows of transistors run through all tiles, pieces lie under
the rails wherever no wire passes below, and the ends of the array close them.
"""

from layoutdrill.drawing.shared.technique import METAL, OTHER, Rings, Technique
from layoutdrill.drawing.tiles.sheet import Ground, Outer, Sheet
from layoutdrill.geometry.rect import Rect


def end_of_rings(t: Technique) -> int:
    """Return how far the ends of the rings reach past the tiles; 0 without rings."""
    return t.rings.gap + t.rings.width if t.rings is not None else 0


def jump(t: Technique) -> int:
    """Return how far from the middle of a rail an upright wire comes up to the metal."""
    return t.rail // 2 + t.wires[METAL].spacing + t.wires[METAL].pad // 2


def rings_apart(t: Technique, rings: Rings, *, wired: bool) -> int:
    """Return how far the low rail of a row lies above the high rail of the row below it, where wires join them."""
    if not wired:
        return rings.width + rings.apart + rings.well_past
    return 2 * jump(t) + t.wires[OTHER].pad + rings.inside + rings.outside


def close_rings(sheet: Sheet, at: Ground, rings: Rings, outer: list[Outer]) -> None:
    """Add the wells across all tiles, and the ends of the rings with their contacts under the rails."""
    t = sheet.technique
    assert t.doped is not None
    half, reach = rings.width // 2, end_of_rings(t)
    low_wired = any(one.side in ("bottom", "top") and one.supply == 0 for one in outer)
    low_wired = low_wired or not at.shared
    below = jump(t) + t.wires[OTHER].pad // 2 + rings.inside if low_wired else half + rings.well_past
    for row, own in enumerate(at.rows):
        put = at.placed(0, row)
        for supply, rail in ((0, 0), (1, own.height)):
            mask = t.doped.doping[1 - supply]
            leg = own.legs[supply]
            low, high = sorted(put.point(0, y)[1] for y in (leg, rail))
            for inner, outermost in ((0, -1), (at.right, 1)):
                a, b = sorted((inner + outermost * rings.gap, inner + outermost * reach))
                sheet.add(mask, Rect(a, low - half, b, high + half))
                a, b = sorted((inner, inner + outermost * reach))
                y = put.point(0, leg)[1]
                sheet.add(mask, Rect(a, y - half, b, y + half))
                y = put.point(0, rail)[1]
                _tie(sheet, inner + outermost * (rings.gap + half), y)
                sheet.add("metal", Rect(a, y - at.rail, b, y + at.rail))
        low, high = sorted(put.point(0, y)[1] for y in (-below, own.legs[0] + half + rings.well_past))
        past = reach + rings.well_past
        sheet.add(rings.well, Rect(-past, low, at.right + past, high))


def _tie(sheet: Sheet, x: int, y: int) -> None:
    cut = sheet.technique.contact // 2
    sheet.add("contact", Rect(x - cut, y - cut, x + cut, y + cut))


def come_up(sheet: Sheet, x: int, rail: int, sense: int, supply: int) -> int:
    """Lead a wire that has passed below a rail up to the metal, above (+1) or below (−1) it; return where it lands."""
    half = sheet.technique.wires[OTHER].width // 2
    y = rail + sense * jump(sheet.technique)
    low, high = sorted((rail, y))
    sheet.other(Rect(x - half, low, x + half, high), supply)
    sheet.contact(x, y, supply)
    return y
