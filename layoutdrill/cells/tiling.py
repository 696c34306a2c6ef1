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
from enum import Enum

from layoutdrill.cells.compact import HIGH, LOW, Device
from layoutdrill.errors import LayoutdrillError
from layoutdrill.process.terms import Mode
from layoutdrill.unions import grouped
from layoutdrill.value import value


class Part(Enum):
    """
    What a transistor is in an array that is made of lines, or of base cells.

    A crossing leads from the line that its gate crosses to a rail; one that is uncut has no contact to the line, and of
    one that is unjoined the metal stops short of it. A link leads on along its line, from the first of its ends to the
    second; one beside the links leads from the line to the other rail.
    """

    CROSSING = "crossing"
    UNCUT = "uncut"
    UNJOINED = "unjoined"
    LINK = "link"
    BESIDE = "beside"
    LOAD = "load"
    DRIVER = "driver"
    PULL_UP = "pull-up"
    BASE = "base"


@value
class Tile:
    """
    One tile: its devices over its own net names, and the nets that reach each edge, in order.

    `about` says in a few words what it is. A net named on an edge twice ends there twice (a bend in the wire). `parts`
    says what its devices are in an array of lines or bases; in others it is empty.
    """

    name: str
    about: str
    devices: tuple[Device, ...]
    left: tuple[str, ...] = ()
    right: tuple[str, ...] = ()
    bottom: tuple[str, ...] = ()
    top: tuple[str, ...] = ()
    rails: tuple[str, ...] = ()
    parts: tuple[Part, ...] = ()

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
class Standing:
    """
    A transistor where it stands in an array, with the array's nets. `line` is the net that runs through its tile across
    its gate, "" where none does, and `upright` says that its gate runs upright there.
    """

    name: str
    mode: Mode
    gate: str
    ends: tuple[str, str]
    row: int
    column: int
    line: str
    upright: bool

    @property
    def output(self) -> str:
        """Return the end that is no supply, of a transistor that has one."""
        return next(end for end in self.ends if end not in (LOW, HIGH))


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

    def through(self, way: str) -> list[tuple[str, ...]]:
        """Return the nets that run through tiles of each "row", or of each "column", each once, in order."""
        lines: dict[int, dict[str, None]] = {number: {} for number in range(max(self.rows, self.columns))}
        for place in self.places:
            tile, nets = self.tiles[place.tile], dict(place.joined)
            number, ports = (place.row, tile.across) if way == "row" else (place.column, tile.upright)
            lines[number] |= dict.fromkeys(nets[port] for port in ports)
        return [tuple(nets) for nets in lines.values()]

    @property
    def devices(self) -> tuple[Device, ...]:
        """Return the array's devices in the order of the places."""
        return tuple(device for place in self.places for device in self._devices(place))

    def _devices(self, place: Place) -> Iterator[Device]:
        """Return a place's devices over the array's nets, inner nets of the tile named after the place."""
        nets = {LOW: LOW, HIGH: HIGH, **dict(place.joined)}

        def net(name: str) -> str:
            return nets.get(name, f"{name}_{place.row}_{place.column}")

        for d in self.tiles[place.tile].devices:
            yield Device(d.kind, d.mode, net(d.gate), (net(d.ends[0]), net(d.ends[1])), d.length, d.width, d.fingers)

    @property
    def parts(self) -> dict[Part, list[Standing]]:
        """Return the transistors of an array of lines or bases by what they are there, in the order of the places."""
        return grouped(self._standing())

    def _standing(self) -> Iterator[tuple[Part, Standing]]:
        for place in self.places:
            tile, nets = self.tiles[place.tile], dict(place.joined)
            devices = zip(tile.devices, self._devices(place), strict=True)
            for part, name, (own, d) in zip(tile.parts, place.transistors, devices, strict=bool(tile.parts)):
                upright = own.gate in tile.upright
                line = next((nets[port] for port in (tile.across if upright else tile.upright)), "")
                yield part, Standing(name, d.mode, d.gate, d.ends, place.row, place.column, line, upright)
