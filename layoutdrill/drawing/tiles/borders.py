"""Draw what lies beyond the tiles: straps that join rails, and the wires that leave below them or join rows."""

from collections.abc import Sequence

from layoutdrill.drawing.shared.pen import Pen
from layoutdrill.drawing.tiles.floor import Floor, Outer
from layoutdrill.drawing.tiles.rings import end_of_rings
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
