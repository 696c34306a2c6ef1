"""Say where everything of an array of tiles lies: its columns, rows and rails, and where wires reach the border."""

from collections.abc import Mapping

from layoutdrill.drawing.tiles.plan import Plan
from layoutdrill.drawing.tiles.tile import Made
from layoutdrill.geometry.transform import Transform
from layoutdrill.units import GridUnits
from layoutdrill.value import value


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


def floor_of(plan: Plan, tiles: Mapping[str, Made], rail: GridUnits, between: GridUnits) -> Floor:
    """Return where everything lies; `between` parts the rails of rows that do not share them."""
    lefts = [0]
    for column in range(plan.columns):
        lefts.append(lefts[-1] + tiles[plan.column(column)].width)
    rows: list[Row] = []
    rails: list[tuple[int, int]] = []
    bottom = 0
    for spot in sorted((spot for spot in plan.spots if spot.column == 0), key=lambda spot: spot.row):
        tile = tiles[spot.kind]
        rows.append(Row(bottom, spot.flipped, tile))
        rails += [(bottom, int(spot.flipped)), (bottom + tile.height, int(not spot.flipped))]
        bottom += tile.height + (0 if plan.shared_rails else between)
    return Floor(tiles, tuple(lefts), tuple(rows), tuple(dict.fromkeys(rails)), rail)


def outer_ends(plan: Plan, at: Floor) -> list[Outer]:
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
