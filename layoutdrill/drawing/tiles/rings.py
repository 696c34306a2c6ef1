"""
Close the guard rings of an array, and lead its upright wires past them.

The rows of an array share their rings: legs between the rows of transistors run through all tiles, pieces lie under
the rails wherever no wire passes below, and the ends of the array close them.
"""

from layoutdrill.drawing.shared.pen import Pen
from layoutdrill.drawing.shared.technique import METAL, OTHER, Rings, Technique
from layoutdrill.drawing.tiles.floor import Floor, Outer
from layoutdrill.geometry.rect import Rect
from layoutdrill.units import GridUnits


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


def close_rings(pen: Pen, at: Floor, rings: Rings, outer: list[Outer]) -> None:
    """Add the wells across all tiles, and the ends of the rings with their contacts under the rails."""
    half, reach = rings.width // 2, end_of_rings(pen.t)
    low_wired = len(at.rails) > len(at.rows) + 1  # rows that share no rails are joined across them
    low_wired |= any(end.side in ("bottom", "top") and end.supply == 0 for end in outer)
    below = jump(pen.t) + pen.under.pad // 2 + rings.inside if low_wired else half + rings.well_past
    for row, own in enumerate(at.rows):
        put = at.placed(0, row)
        for supply, rail in ((0, 0), (1, own.tile.height)):
            mask = pen.doped.doping[1 - supply]
            leg, edge = put.point(0, own.tile.legs[supply])[1], put.point(0, rail)[1]
            low, high = sorted((leg, edge))
            for border, sense in ((0, -1), (at.right, 1)):
                pen.box(mask, (border + sense * rings.gap, border + sense * reach), (low - half, high + half))
                pen.level(mask, (border, border + sense * reach), leg, half)
                pen.square(pen.t.cut, border + sense * (rings.gap + half), edge, pen.cut)
                pen.level(pen.metal, (border, border + sense * reach), edge, at.rail)
        low, high = sorted(put.point(0, y)[1] for y in (-below, own.tile.legs[0] + half + rings.well_past))
        past = reach + rings.well_past
        pen.add(rings.well, (Rect(-past, low, at.right + past, high),))


def come_up(pen: Pen, x: GridUnits, rail: GridUnits, sense: int, supply: int) -> int:
    """Lead a wire that has passed below a rail up to the metal, above (+1) or below (−1) it; return where it lands."""
    y = rail + sense * jump(pen.t)
    pen.upright_under(supply, x, (rail, y))
    pen.joint(x, y, supply)
    return y
