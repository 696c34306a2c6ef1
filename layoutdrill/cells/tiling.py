"""
Describe an array as tiles that join by abutment: what to draw once, and where to put it.

A tile is a few transistors, or none, with ports on its four edges. Tiles lie on a grid, row 0 at the bottom, column 0
at the left. Where two tiles touch, the ports along the common edge join one to one in the order written: bottom to top
on upright edges, left to right on level ones. A port on two opposite edges runs through. A tile that is `flipped`
stands upside down, so that it shares a rail with the row below or above. `rails` says which supplies a tile needs, the
low one along its bottom edge and the high one along its top (exchanged when flipped); a supply stands in an edge's list
only where a series of transistors begins on it. LOW and HIGH are the library's names for the supplies, here as in all
its netlists: VDD is the more positive one, whatever the process calls it.
"""

from collections.abc import Iterator, Mapping

from layoutdrill.cells.compact import HIGH, LOW, Device
from layoutdrill.errors import LayoutdrillError
from layoutdrill.value import value

UNCUT, UNJOINED = "bit_uncut", "bit_unjoined"
"""Tiles of a crossing whose transistor has no contact, or a contact whose metal stops short of the line."""

BASE = "base"
"""How the names of base cells begin, which hold pairs of an n and a p transistor."""


@value
class Tile:
    """
    One tile: its devices over its own net names, and the nets that reach each edge, in order.

    `about` says in a few words what it is. A net named on an edge twice ends there twice (a bend in the wire).
    """

    name: str
    about: str
    devices: tuple[Device, ...]
    left: tuple[str, ...] = ()
    right: tuple[str, ...] = ()
    bottom: tuple[str, ...] = ()
    top: tuple[str, ...] = ()
    rails: tuple[str, ...] = ()

    @property
    def ports(self) -> tuple[str, ...]:
        """Return the nets on any edge, each once."""
        return tuple(dict.fromkeys((*self.left, *self.right, *self.bottom, *self.top)))

    @property
    def across(self) -> tuple[str, ...]:
        """Return the nets that run through from left to right."""
        return tuple(net for net in self.left if net in self.right)

    @property
    def upright(self) -> tuple[str, ...]:
        """Return the nets that run through from bottom to top."""
        return tuple(net for net in self.bottom if net in self.top)


@value
class Place:
    """A tile on the grid: `joined` holds (port, net of the array), `transistors` the names of its devices in order."""

    row: int
    column: int
    tile: str
    joined: tuple[tuple[str, str], ...]
    flipped: bool = False
    transistors: tuple[str, ...] = ()


@value
class Tiling:
    """
    An array: the tiles by name, and the places row by row. A place without a tile is left empty.

    Built only from tiles that fit: raises LayoutdrillError where two edges that touch carry different nets.
    """

    rows: int
    columns: int
    tiles: Mapping[str, Tile]
    places: tuple[Place, ...]

    def __post_init__(self) -> None:
        grid = {(place.row, place.column): place for place in self.places}
        for (row, column), place in grid.items():
            if not (0 <= row < self.rows and 0 <= column < self.columns):
                raise LayoutdrillError(f"tile {place.tile} at row {row}, column {column} is off the grid")
            for other, here, there in (
                (grid.get((row, column + 1)), "right", "left"),
                (grid.get((row + 1, column)), "top", "bottom"),
            ):
                if other is not None and self.edge(place, here) != self.edge(other, there):
                    raise LayoutdrillError(
                        f"tile {place.tile} at row {row}, column {column} brings "
                        f"{', '.join(self.edge(place, here)) or 'nothing'} to its {here} edge, {other.tile} beyond it "
                        f"{', '.join(self.edge(other, there)) or 'nothing'}",
                        todo="give both edges the same nets in the same order",
                    )

    def edge(self, place: Place, side: str) -> tuple[str, ...]:
        """Return the array's nets along a side of a placed tile: left, right, bottom or top, as it stands."""
        tile = self.tiles[place.tile]
        nets = dict(place.joined)
        if place.flipped:
            side = {"bottom": "top", "top": "bottom"}.get(side, side)
        ports = {"left": tile.left, "right": tile.right, "bottom": tile.bottom, "top": tile.top}[side]
        if place.flipped and side in ("left", "right"):
            ports = tuple(reversed(ports))
        return tuple(nets[port] for port in ports)

    def at(self, row: int, column: int) -> Place | None:
        return next((place for place in self.places if (place.row, place.column) == (row, column)), None)

    @property
    def owners(self) -> dict[str, Place]:
        """Return the place of each transistor by its name."""
        return {name: place for place in self.places for name in place.transistors}

    @property
    def through(self) -> tuple[tuple[str, str, int], ...]:
        """Return (net, "row" or "column", number) for each net that runs through a tile there, in order, each once."""
        lines = dict.fromkeys(self._through())
        return tuple(lines)

    def _through(self) -> Iterator[tuple[str, str, int]]:
        for place in self.places:
            tile, nets = self.tiles[place.tile], dict(place.joined)
            for port in tile.across:
                yield nets[port], "row", place.row
            for port in tile.upright:
                yield nets[port], "column", place.column

    @property
    def devices(self) -> tuple[Device, ...]:
        """Return the array's devices in the order of the places, inner nets of a tile named after its place."""
        devices: list[Device] = []
        for place in self.places:
            tile = self.tiles[place.tile]
            nets = {LOW: LOW, HIGH: HIGH, **dict(place.joined)}

            def net(name: str, place: Place = place, nets: dict[str, str] = nets) -> str:
                return nets.get(name, f"{name}_{place.row}_{place.column}")

            devices.extend(
                Device(d.kind, d.mode, net(d.gate), (net(d.ends[0]), net(d.ends[1])), d.length, d.width, d.fingers)
                for d in tile.devices
            )
        return tuple(devices)
