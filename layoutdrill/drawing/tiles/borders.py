"""Draw what lies beyond the tiles: straps that join rails, and the wires that leave below them or join rows."""

from collections.abc import Sequence
from dataclasses import dataclass

from layoutdrill.drawing.shared.technique import METAL, OTHER
from layoutdrill.drawing.tiles.rings import end_of_rings
from layoutdrill.drawing.tiles.sheet import Ground, Outer, Sheet
from layoutdrill.geometry.rect import Rect


@dataclass(frozen=True, slots=True)
class _Side:
    """The left or right border of an array; `u` counts outward from it."""

    border: int
    sense: int

    def rect(self, u0: int, u1: int, y0: int, y1: int) -> Rect:
        a, b = sorted((self.border + self.sense * u0, self.border + self.sense * u1))
        return Rect(a, y0, b, y1)

    def x(self, u: int) -> int:
        return self.border + self.sense * u


def draw_sides(sheet: Sheet, at: Ground, supplies: Sequence[str], outer: Sequence[Outer], *, under: bool) -> None:
    """
    Join the low rails by a strap on the left and the high ones on the right, where there are several.

    Wires that several rows have in common are joined by a bus beyond the strap, and pass below it; with `under` all
    other wires leave below the strap too.
    """
    for supply, (side, one) in enumerate((("left", _Side(0, -1)), ("right", _Side(at.right, 1)))):
        rails = [y for y, own in at.rails if own == supply]
        leaving = [end for end in outer if end.side == side]
        start = end_of_rings(sheet.technique)
        if start:
            half = sheet.technique.wires[METAL].width // 2
            sheet.add("metal", *(one.rect(0, start, end.place - half, end.place + half) for end in leaving))
        if len(rails) == 1:
            sheet.name(supplies[supply], "metal", one.x(start - at.rail), rails[0])
            _named(sheet, one, start, leaving)
            continue
        many = {end.net for end in leaving if sum(other.net == end.net for other in leaving) > 1}
        below = [end for end in leaving if under or end.net in many]
        _named(sheet, one, start, [end for end in leaving if end not in below])
        _strap(sheet, at, one, start, supplies[supply], rails, below)


def _named(sheet: Sheet, one: _Side, start: int, ends: Sequence[Outer]) -> None:
    if start:
        for end in ends:
            sheet.name(end.net, "metal", one.x(start - 1), end.place)


def _strap(sheet: Sheet, at: Ground, one: _Side, start: int, supply: str, rails: Sequence[int],
           below: Sequence[Outer]) -> None:  # fmt: skip
    """Draw a strap and, beyond it, the buses and landings of the wires that pass below."""
    t = sheet.technique
    metal, pad, spacing = (
        t.wires[METAL].width // 2,
        t.wires[METAL].pad // 2,
        t.wires[METAL].spacing + sheet.choices.loose,
    )
    well = t.rings.well_past + t.rings.outside if t.rings is not None else 0
    dive = start + max(well, spacing) + pad
    near = dive + pad + spacing if below else start + spacing
    far = near + 2 * at.rail
    sheet.add("metal", one.rect(near, far, rails[0] - at.rail, rails[-1] + at.rail))
    sheet.add("metal", *(one.rect(0, far, y - at.rail, y + at.rail) for y in rails))
    sheet.name(supply, "metal", one.x((near + far) // 2), rails[0])
    nets = dict.fromkeys(end.net for end in below)
    shared = [net for net in nets if sum(end.net == net for end in below) > 1]
    half = t.wires[OTHER].width // 2
    last = far + spacing + pad + len(shared) * (2 * pad + spacing)
    for end in below:
        u = far + spacing + pad + shared.index(end.net) * (2 * pad + spacing) if end.net in shared else last
        sheet.add("metal", one.rect(start, dive, end.place - metal, end.place + metal))
        sheet.contact(one.x(dive), end.place, 1)
        sheet.other(one.rect(dive, u, end.place - half, end.place + half), 1)
        sheet.contact(one.x(u), end.place, 1)
        sheet.name(end.net, "metal", one.x(u), end.place)
    for number, net in enumerate(shared):
        u = far + spacing + pad + number * (2 * pad + spacing)
        places = [end.place for end in below if end.net == net]
        sheet.add("metal", one.rect(u - pad, u + pad, min(places) - pad, max(places) + pad))
