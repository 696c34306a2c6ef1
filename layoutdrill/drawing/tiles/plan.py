"""
Decide how an array's tiles lie on the drawing, and which of their ports meet.

Rails run from left to right. Tiles of one row stand side by side between the same two rails; rows lie one above the
other, either upside down by turns, about the rails they share, or all the same way up, each with rails of its own.
An array whose wires all run straight through may lie a quarter turn from how the library writes it.
"""

from collections.abc import Iterator
from typing import NamedTuple

from layoutdrill.cells.build import tile_netlist
from layoutdrill.cells.tiling import Place, Tile, Tiling
from layoutdrill.netlist.model import Netlist
from layoutdrill.process.model import Process
from layoutdrill.unions import Unions, grouped
from layoutdrill.value import value

SIDES = ("left", "right", "bottom", "top")
_OPPOSITE = {"left": "right", "right": "left", "bottom": "top", "top": "bottom"}
_TURNED = {"left": "bottom", "right": "top", "bottom": "left", "top": "right"}


@value
class Kind:
    """
    A tile to be drawn once: its netlist over its own net names, and its ports by side as the drawing has them.

    A `folded` one is the same tile for the rows that stand upside down where signals flow from row to row: what enters
    below leaves above in one, and the other way round in the other.
    """

    name: str
    netlist: Netlist
    ports: dict[str, tuple[str, ...]]
    folded: bool = False


@value
class Spot:
    """A tile on the drawing, in its column and row; `flipped` upside down. See `Place` for the rest."""

    column: int
    row: int
    kind: str
    joined: dict[str, str]
    flipped: bool
    transistors: tuple[str, ...]

    def turned(self, side: str) -> str:
        """Return on which side of the tile as it stands one of its own sides lies, or the other way round."""
        return _OPPOSITE[side] if self.flipped and side in ("bottom", "top") else side


@value
class End:
    """A port of a kind of tile, on one of its sides."""

    kind: str
    side: str
    port: str


class Exit(NamedTuple):
    """Where a wire leaves a tile: its side, its port, its mask, and the line of the sketch on which it lies."""

    side: str
    port: str
    mask: str
    line: int


@value
class Plan:
    """
    `level` and `upright` hold groups of ends that lie at one height, or in one place along the rails, because they
    meet in the array or are two ends of one wire; ends that meet nothing are `outer`.
    """

    columns: int
    rows: int
    kinds: dict[str, Kind]
    spots: tuple[Spot, ...]
    shared_rails: bool
    level: tuple[tuple[End, ...], ...]
    upright: tuple[tuple[End, ...], ...]
    outer: tuple[End, ...]

    def column(self, number: int) -> str:
        """Return a kind that stands in a column; all that do are of one width."""
        return next(spot.kind for spot in self.spots if spot.column == number)

    @property
    def stacks(self) -> list[list[str]]:
        """Return the kinds that stand above one another, each in one stack."""
        return list(grouped((kind.netlist.name, kind.name) for kind in self.kinds.values()).values())

    @property
    def bands(self) -> list[list[str]]:
        """Return the kinds that stand in rows of one sort, between the same rails."""
        return list(grouped((kind.folded, kind.name) for kind in self.kinds.values()).values())


def may_turn(tiling: Tiling) -> bool:
    """
    Tell whether an array may lie a quarter turn from how it is written: all its wires run straight through, and no two
    rows have one in common, which is joined beside them.
    """
    across = [net for nets in tiling.through("row") for net in nets]
    straight = all(tile.left == tile.right and tile.bottom == tile.top for tile in tiling.tiles.values())
    return straight and len(across) == len(set(across))


def may_fold(tiling: Tiling) -> bool:
    """Tell whether every second row may be turned upside down that the library writes upright; few gain too little."""
    return tiling.rows > 2 and not any(place.flipped for place in tiling.places)


def plan_of(netlist: Netlist, tiling: Tiling, process: Process, *, turned: bool, folded: bool = False) -> Plan:
    """Return the plan of an array; with `folded` every second row of upright ones is turned upside down."""
    kinds = {
        name: Kind(name, tile_netlist(tiling, name, netlist, process), _sides(tile, turned=turned))
        for name, tile in tiling.tiles.items()
    }
    if folded:
        kinds |= {_over(name): _folded(kind) for name, kind in kinds.items()}
    spots = tuple(_spot(place, turned=turned, folded=folded) for place in tiling.places)
    columns, rows = (tiling.rows, tiling.columns) if turned else (tiling.columns, tiling.rows)
    groups = _groups(kinds, spots)
    return Plan(
        columns,
        rows,
        kinds,
        spots,
        any(spot.flipped for spot in spots) or rows == 1,
        tuple(group for group in groups if len(group) > 1 and group[0].side in ("left", "right")),
        tuple(group for group in groups if len(group) > 1 and group[0].side in ("bottom", "top")),
        tuple(group[0] for group in groups if len(group) == 1),
    )


def _sides(tile: Tile, *, turned: bool) -> dict[str, tuple[str, ...]]:
    written = {"left": tile.left, "right": tile.right, "bottom": tile.bottom, "top": tile.top}
    return {side: written[_TURNED[side] if turned else side] for side in SIDES}


def _over(name: str) -> str:
    return f"{name} upside down"


def _folded(kind: Kind) -> Kind:
    """Return the tile with below and above exchanged, so that it takes from below and gives above when upside down."""
    ports = {**kind.ports, "bottom": kind.ports["top"], "top": kind.ports["bottom"]}
    return Kind(_over(kind.name), kind.netlist, ports, folded=True)


def _spot(place: Place, *, turned: bool, folded: bool) -> Spot:
    column, row = (place.row, place.column) if turned else (place.column, place.row)
    flipped = row % 2 == 1 if turned or folded else place.flipped
    kind = _over(place.tile) if folded and flipped else place.tile
    return Spot(column, row, kind, dict(place.joined), flipped, place.transistors)


def _groups(kinds: dict[str, Kind], spots: tuple[Spot, ...]) -> list[tuple[End, ...]]:
    """Join the ends that meet in the array, and the two ends of each wire straight through a tile."""
    ends = [End(kind.name, side, port) for kind in kinds.values() for side in SIDES for port in kind.ports[side]]
    numbers = {end: number for number, end in enumerate(ends)}
    lines = Unions()
    for near, far in _meeting(kinds, spots):
        lines.join(numbers[near], numbers[far])
    for end in ends:
        far = End(end.kind, _OPPOSITE[end.side], end.port)
        if far in numbers:
            lines.join(numbers[end], numbers[far])
    groups = grouped((lines.find(number), end) for end, number in numbers.items())
    return [tuple(group) for group in groups.values()]


def _meeting(kinds: dict[str, Kind], spots: tuple[Spot, ...]) -> Iterator[tuple[End, End]]:
    at = {(spot.column, spot.row): spot for spot in spots}
    for (column, row), spot in at.items():
        for other, here in ((at.get((column + 1, row)), "right"), (at.get((column, row + 1)), "top")):
            if other is None:
                continue
            own, far = spot.turned(here), other.turned(_OPPOSITE[here])
            for near, beyond in zip(kinds[spot.kind].ports[own], kinds[other.kind].ports[far], strict=True):
                yield End(spot.kind, own, near), End(other.kind, far, beyond)
