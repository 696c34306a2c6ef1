"""
Draw what lies beyond the tiles: straps that join rails, wires that leave below them or join rows, the ends of rings.

The rows of an array share their guard rings: legs between the rows of transistors run through all tiles, pieces lie
under the rails wherever no wire passes below, and the ends of the array close them.
"""

from collections.abc import Sequence

from layoutdrill.drawing.shared import Pen
from layoutdrill.drawing.shared.technique import METAL, OTHER, Rings, Technique
from layoutdrill.drawing.tiles.floor import Floor, Outer
from layoutdrill.geometry.rect import Rect
from layoutdrill.geometry.transform import Transform
from layoutdrill.units import GridUnits

_OUT_LEFT = Transform(turns=2, mirrored=True)
"""Mirrors left and right, so that x counts outward from the left border."""


def draw_sides(
    pen: Pen, at: Floor, supplies: Sequence[str], outer: Sequence[Outer], spacing: GridUnits, *, under: bool
) -> None:
    """
    Join the low rails by a strap on the left and the high ones on the right, where there are several.

    Wires that several rows have in common are joined by a bus beyond the strap, and pass below it; with `under` all
    other wires leave below the strap too. Metal keeps a distance of `spacing`.
    """
    start = end_of_rings(pen.t)
    for supply, (name, way) in enumerate((("left", _OUT_LEFT), ("right", Transform(at.right)))):
        out = pen.placed(way)
        rails = [y for y, own in at.rails if own == supply]
        leaving = [end for end in outer if end.side == name]
        for end in leaving if start else ():
            out.level(pen.metal, (0, start), end.place, pen.wire)
        below: list[Outer] = []
        if len(rails) > 1:
            many = {end.net for end in leaving if sum(other.net == end.net for other in leaving) > 1}
            below = [end for end in leaving if under or end.net in many]
        for end in leaving if start else ():
            if end not in below:
                out.label(end.net, pen.metal, start - 1, end.place)
        if len(rails) == 1:
            out.label(supplies[supply], pen.metal, start - at.rail, rails[0])
        else:
            far = _strap(out, at, rails, below, spacing)
            out.label(supplies[supply], pen.metal, far - at.rail, rails[0])


def _strap(pen: Pen, at: Floor, rails: Sequence[int], below: Sequence[Outer], spacing: int) -> int:
    """Draw a strap and, beyond it, the buses and landings of the wires that pass below; return where it ends."""
    rings, start = pen.t.rings, end_of_rings(pen.t)
    well = rings.well_past + rings.outside if rings is not None else 0
    dive = start + max(well, spacing) + pen.pad
    near = dive + pen.pad + spacing if below else start + spacing
    far = near + 2 * at.rail
    pen.box(pen.metal, (near, far), (rails[0] - at.rail, rails[-1] + at.rail))
    for y in rails:
        pen.level(pen.metal, (0, far), y, at.rail)
    nets = dict.fromkeys(end.net for end in below)
    shared = [net for net in nets if sum(end.net == net for end in below) > 1]
    first, pitch = far + spacing + pen.pad, 2 * pen.pad + spacing
    for end in below:
        u = first + pitch * (shared.index(end.net) if end.net in shared else len(shared))
        pen.level(pen.metal, (start, dive), end.place, pen.wire)
        pen.level_under(1, (dive, u), end.place)
        for v in (dive, u):
            pen.joint(v, end.place, 1)
        pen.label(end.net, pen.metal, u, end.place)
    for number, net in enumerate(shared):
        places = [end.place for end in below if end.net == net]
        u = first + pitch * number
        pen.box(pen.metal, (u - pen.pad, u + pen.pad), (min(places) - pen.pad, max(places) + pen.pad))
    return far


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
