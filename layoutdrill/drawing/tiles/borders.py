"""Draw what lies beyond the tiles: straps that join rails, and the wires that leave below them or join rows."""

from collections.abc import Sequence

from layoutdrill.drawing.shared.canvas import Span
from layoutdrill.drawing.shared.pen import Pen
from layoutdrill.drawing.tiles.floor import Floor, Outer
from layoutdrill.drawing.tiles.rings import end_of_rings
from layoutdrill.units import GridUnits
from layoutdrill.value import value


@value
class _Side:
    """The left or right border of an array, at which a supply's rails are joined; `u` counts outward from it."""

    border: int
    sense: int
    supply: str

    def x(self, u: GridUnits) -> int:
        return self.border + self.sense * u

    def span(self, u0: int, u1: int) -> Span:
        return self.x(u0), self.x(u1)


def draw_sides(
    pen: Pen, at: Floor, supplies: Sequence[str], outer: Sequence[Outer], spacing: GridUnits, *, under: bool
) -> None:
    """
    Join the low rails by a strap on the left and the high ones on the right, where there are several.

    Wires that several rows have in common are joined by a bus beyond the strap, and pass below it; with `under` all
    other wires leave below the strap too. Metal keeps a distance of `spacing`.
    """
    start = end_of_rings(pen.t)
    for supply, (name, border, sense) in enumerate((("left", 0, -1), ("right", at.right, 1))):
        side = _Side(border, sense, supplies[supply])
        rails = [y for y, own in at.rails if own == supply]
        leaving = [end for end in outer if end.side == name]
        for end in leaving if start else ():
            pen.level(pen.metal, side.span(0, start), end.place, pen.wire)
        below: list[Outer] = []
        if len(rails) > 1:
            many = {end.net for end in leaving if sum(other.net == end.net for other in leaving) > 1}
            below = [end for end in leaving if under or end.net in many]
        for end in leaving if start else ():
            if end not in below:
                pen.label(end.net, pen.metal, side.x(start - 1), end.place)
        if len(rails) == 1:
            pen.label(side.supply, pen.metal, side.x(start - at.rail), rails[0])
        else:
            _strap(pen, at, side, rails, below, spacing)


def _strap(pen: Pen, at: Floor, side: _Side, rails: Sequence[int], below: Sequence[Outer], spacing: int) -> None:
    """Draw a strap and, beyond it, the buses and landings of the wires that pass below."""
    rings, start = pen.t.rings, end_of_rings(pen.t)
    well = rings.well_past + rings.outside if rings is not None else 0
    dive = start + max(well, spacing) + pen.pad
    near = dive + pen.pad + spacing if below else start + spacing
    far = near + 2 * at.rail
    pen.box(pen.metal, side.span(near, far), (rails[0] - at.rail, rails[-1] + at.rail))
    for y in rails:
        pen.level(pen.metal, side.span(0, far), y, at.rail)
    pen.label(side.supply, pen.metal, side.x((near + far) // 2), rails[0])
    nets = dict.fromkeys(end.net for end in below)
    shared = [net for net in nets if sum(end.net == net for end in below) > 1]
    first, pitch = far + spacing + pen.pad, 2 * pen.pad + spacing
    for end in below:
        u = first + pitch * (shared.index(end.net) if end.net in shared else len(shared))
        half = pen.under.width // 2
        pen.level(pen.metal, side.span(start, dive), end.place, pen.wire)
        pen.run_under(1, side.span(dive, u), (end.place - half, end.place + half))
        for v in (dive, u):
            pen.joint(side.x(v), end.place, 1)
        pen.label(end.net, pen.metal, side.x(u), end.place)
    for number, net in enumerate(shared):
        places = [end.place for end in below if end.net == net]
        u = first + pitch * number
        pen.box(pen.metal, side.span(u - pen.pad, u + pen.pad), (min(places) - pen.pad, max(places) + pen.pad))
