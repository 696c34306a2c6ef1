"""
Copy tiles to their places, join rows and rails, draw what lies beyond the tiles, and name every port once.

The rows of an array share their guard rings: legs between the rows of transistors run through all tiles, pieces lie
under the rails wherever no wire passes below, and the ends of the array close them.
"""

from collections.abc import Mapping, Sequence
from itertools import accumulate

from layoutdrill.drawing.shared import Drawing, Pen, Request
from layoutdrill.drawing.shared.technique import METAL, OTHER, Rings, Technique
from layoutdrill.drawing.tiles.laying import Task
from layoutdrill.drawing.tiles.painted import Layouts, painted
from layoutdrill.drawing.tiles.plan import Plan
from layoutdrill.drawing.tiles.tile import Made
from layoutdrill.geometry.rect import Rect
from layoutdrill.geometry.transform import Transform
from layoutdrill.units import GridUnits
from layoutdrill.value import value

_OUT_LEFT = Transform(turns=2, mirrored=True)
"""Mirrors left and right, so that x counts outward from the left border."""


@value
class Outer:
    """A wire that reaches the border of the whole array: which side as it stands, its net, and its place along it."""

    side: str
    net: str
    place: int
    supply: int


@value
class Floor:
    """
    Where all lies: left borders of the columns and the last right one, the rows from the bottom, the rails (place,
    supply), and half a rail's width.
    """

    tiles: Mapping[str, Made]
    lefts: tuple[int, ...]
    rows: tuple["Row", ...]
    rails: tuple[tuple[int, int], ...]
    rail: GridUnits

    def placed(self, column: int, row: int) -> Transform:
        own = self.rows[row]
        return Transform(self.lefts[column], own.bottom + (own.tile.height if own.flipped else 0), mirrored=own.flipped)

    @property
    def right(self) -> int:
        return self.lefts[-1]


@value
class Row:
    """A row of tiles: its lower rail's place, whether it is upside down, and one of its tiles."""

    bottom: GridUnits
    flipped: bool
    tile: Made


def _floor_of(plan: Plan, tiles: Mapping[str, Made], rail: GridUnits, between: GridUnits) -> Floor:
    """Return where everything lies; `between` parts the rails of rows that do not share them."""
    lefts = accumulate((tiles[plan.column(column)].width for column in range(plan.columns)), initial=0)
    rows: list[Row] = []
    rails: list[tuple[int, int]] = []
    bottom = 0
    for spot in sorted((spot for spot in plan.spots if spot.column == 0), key=lambda spot: spot.row):
        tile = tiles[spot.kind]
        rows.append(Row(bottom, spot.flipped, tile))
        rails += [(bottom, int(spot.flipped)), (bottom + tile.height, int(not spot.flipped))]
        bottom += tile.height + (0 if plan.shared_rails else between)
    return Floor(tiles, tuple(lefts), tuple(rows), tuple(dict.fromkeys(rails)), rail)


def _outer_ends(plan: Plan, at: Floor) -> list[Outer]:
    """Return the wires that reach the border of the array."""
    outer = []
    for spot in plan.spots:
        tile = at.tiles[spot.kind]
        for end in tile.ends:
            stands, place = spot.turned(end.side), tile.place(end)
            last = {"left": 0, "right": plan.columns - 1, "bottom": 0, "top": plan.rows - 1}[stands]
            if (spot.column if stands in ("left", "right") else spot.row) != last:
                continue
            put = at.placed(spot.column, spot.row)
            where = put.point(0, place)[1] if end.side in ("left", "right") else put.point(place, 0)[0]
            outer.append(Outer(stands, spot.joined[end.port], where, int(end.side == "top")))
    return outer


def _draw_sides(
    pen: Pen, at: Floor, supplies: Sequence[str], outer: Sequence[Outer], spacing: GridUnits, *, under: bool
) -> None:
    """
    Join the low rails by a strap on the left and the high ones on the right, where there are several.

    Wires that several rows have in common are joined by a bus beyond the strap, and pass below it; with `under` all
    other wires leave below the strap too. Metal keeps a distance of `spacing`.
    """
    start = _end_of_rings(pen.t)
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
    rings, start = pen.t.rings, _end_of_rings(pen.t)
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


def _end_of_rings(t: Technique) -> int:
    """Return how far the ends of the rings reach past the tiles; 0 without rings."""
    return t.rings.gap + t.rings.width if t.rings is not None else 0


def _jump(t: Technique) -> int:
    """Return how far from the middle of a rail an upright wire comes up to the metal."""
    return t.rail // 2 + t.wires[METAL].spacing + t.wires[METAL].pad // 2


def _rings_apart(t: Technique, rings: Rings, *, wired: bool) -> int:
    """Return how far the low rail of a row lies above the high rail of the row below it, where wires join them."""
    if not wired:
        return rings.width + rings.apart + rings.well_past
    return 2 * _jump(t) + t.wires[OTHER].pad + rings.inside + rings.outside


def _close_rings(pen: Pen, at: Floor, rings: Rings, outer: list[Outer]) -> None:
    """Add the wells across all tiles, and the ends of the rings with their contacts under the rails."""
    half, reach = rings.width // 2, _end_of_rings(pen.t)
    low_wired = len(at.rails) > len(at.rows) + 1  # rows that share no rails are joined across them
    low_wired |= any(end.side in ("bottom", "top") and end.supply == 0 for end in outer)
    below = _jump(pen.t) + pen.under.pad // 2 + rings.inside if low_wired else half + rings.well_past
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


def _come_up(pen: Pen, x: GridUnits, rail: GridUnits, sense: int, supply: int) -> int:
    """Lead a wire that has passed below a rail up to the metal, above (+1) or below (−1) it; return where it lands."""
    y = rail + sense * _jump(pen.t)
    pen.upright_under(supply, x, (rail, y))
    pen.joint(x, y, supply)
    return y


def assembled(task: Task, asked: Request, tiles: Mapping[str, Made], *, under: bool) -> Drawing:
    """Return the drawing of the whole array; with `under` wires along the rails leave below the straps."""
    plan, choices = task.plan, task.choices
    at = _floor_of(plan, tiles, choices.half_rail(task.technique), _rails_apart(task))
    pen = Pen(task.technique, doping=choices.under)
    _copied(pen, plan, at, painted(tiles, task.technique, plan))
    outer = _outer_ends(plan, at)
    if not plan.shared_rails:
        _joined(pen, plan, at)
    if pen.t.rings is not None:
        _close_rings(pen, at, pen.t.rings, outer)
        _surfaced(pen, at, outer)
    _draw_sides(pen, at, asked.process.supplies, outer, pen.metal_gap + choices.loose, under=under)
    return pen.named_outermost().finished(asked, choices.turns, mirrored=choices.mirrored)


def _rails_apart(task: Task) -> int:
    """Return how far the low rail of a row lies above the high rail of the row below, where they share none."""
    t, choices = task.technique, task.choices
    least = 2 * choices.half_rail(t) + t.wires[METAL].spacing
    if t.implants is not None:
        reach = t.contact // 2 + t.surround
        least = max(least, 2 * (reach + t.implants.past), 2 * reach + max(t.implants.well_tap, t.diffusion_spacing))
    if t.rings is not None:
        least = max(least, _rings_apart(t, t.rings, wired=bool(task.plan.upright)))
    return least + choices.loose


def _copied(pen: Pen, plan: Plan, at: Floor, layouts: Layouts) -> None:
    for spot in plan.spots:
        layout, placed = layouts[spot.kind], pen.placed(at.placed(spot.column, spot.row))
        sizes = at.tiles[spot.kind].laid.sizes.values()
        placed.lay(layout.shapes, dict(zip(spot.transistors, sizes, strict=True)))
        for label in layout.labels:
            if label.text in spot.joined and (pen.t.rings is None or label.layer == pen.metal):
                placed.label(spot.joined[label.text], label.layer, label.x, label.y)


def _joined(pen: Pen, plan: Plan, at: Floor) -> None:
    """Join the upright wires of rows that lie apart; where rings lie between, in metal."""
    for spot in (spot for spot in plan.spots if spot.row + 1 < plan.rows):
        tile, below, above = at.tiles[spot.kind], at.rows[spot.row].bottom, at.rows[spot.row + 1].bottom
        low, high = below + tile.sketch.frame.y1, above + tile.sketch.frame.y0
        for end in (end for end in tile.ends if end.side == "top"):
            x = at.lefts[spot.column] + tile.place(end)
            if pen.t.rings is not None:
                ends = _come_up(pen, x, below + tile.height, 1, 1), _come_up(pen, x, above, -1, 0)
                pen.upright(pen.metal, x, ends, pen.wire)
            elif low < high and end.mask == pen.t.wires[-1].layer != pen.under.layer:
                pen.upright(end.mask, x, (low, high), pen.t.wires[-1].width // 2)
            elif low < high:
                pen.upright_under(0, x, (low, high))


def _surfaced(pen: Pen, at: Floor, outer: list[Outer]) -> None:
    """Lead wires that leave below the outermost rails up to the metal, where they can be named."""
    for end in outer:
        if end.side in ("bottom", "top"):
            rail, sense = (at.rails[0][0], -1) if end.side == "bottom" else (at.rails[-1][0], 1)
            pen.label(end.net, pen.metal, end.place, _come_up(pen, end.place, rail, sense, end.supply))
