"""Lay tiles on a grid, naming their transistors as the netlist will, and make a cell of the whole."""

from collections.abc import Mapping

from layoutdrill.cells.compact import HIGH, LOW, Device
from layoutdrill.cells.model import Cell, Lookalike, Port, Role, Style
from layoutdrill.cells.sizing import load_of
from layoutdrill.cells.stages import Stage
from layoutdrill.cells.tiling import Place, Tile, Tiling
from layoutdrill.errors import Where
from layoutdrill.process.terms import Kind, Mode
from layoutdrill.simulate.expression import parse_equation
from layoutdrill.value import value


class Floor:
    """Collects tiles and their places; `tiling` returns what was laid."""

    def __init__(self) -> None:
        self.tiles: dict[str, Tile] = {}
        self.places: list[Place] = []
        self.count = 0

    def put(self, row: int, column: int, tile: Tile, joined: Mapping[str, str], *, flipped: bool = False) -> None:
        """Place a tile whose ports are joined to the nets given; a supply on an edge is joined to itself."""
        self.tiles[tile.name] = tile
        names = tuple(f"M{self.count + n}" for n in range(1, len(tile.devices) + 1))
        self.count += len(names)
        nets = tuple((port, joined.get(port, port)) for port in tile.ports)
        self.places.append(Place(row, column, tile.name, nets, flipped, names))

    def tiling(self) -> Tiling:
        rows = 1 + max(place.row for place in self.places)
        columns = 1 + max(place.column for place in self.places)
        return Tiling(rows, columns, self.tiles, tuple(self.places))


ARRAY_STYLES = (Style.COMPLEMENTARY, Style.DEPLETION_LOAD, Style.ENHANCEMENT_LOAD)
"""The logic styles that arrays are laid out for."""


def rail_of(style: Style) -> str:
    """Return the rail that the drivers of a ratioed gate pull to."""
    return HIGH if style is Style.ENHANCEMENT_LOAD else LOW


def supply_of(style: Style) -> str:
    """Return the rail that its load pulls to."""
    return LOW if style is Style.ENHANCEMENT_LOAD else HIGH


def switch(style: Style, gate: str, ends: tuple[str, str]) -> Device:
    """Return one transistor of the kind that drives in this style."""
    kind = Kind.P if style is Style.ENHANCEMENT_LOAD else Kind.N
    return Device(kind, Mode.ENHANCEMENT, gate, ends)


def plane_load(style: Style, y: str) -> Device:
    """Return the load of a plane's line; in complementary logic a long p transistor that is always on."""
    if style is Style.COMPLEMENTARY:
        return Device(Kind.P, Mode.ENHANCEMENT, LOW, (HIGH, y), 12, 3)
    return load_of(style, y)


def inverter(style: Style, a: str, y: str) -> tuple[Device, ...]:
    """Return an inverter in the style of the logic."""
    pull = Device(Kind.N, Mode.ENHANCEMENT, a, (y, LOW))
    pull_up = Device(Kind.P, Mode.ENHANCEMENT, a, (HIGH, y))
    if style is Style.COMPLEMENTARY:
        return (pull, pull_up)
    return (pull_up if style is Style.ENHANCEMENT_LOAD else pull, load_of(style, y))


@value
class Notes:
    """What an array's entry says in words."""

    title: str
    structure: str
    aliases: tuple[str, ...]
    boundary: str
    look_for: str
    mistaken_for: tuple[tuple[str, str], ...]
    does: str = ""


def array(
    name: str,
    notes: Notes,
    ports: tuple[Port, ...],
    tilings: Mapping[Style, Tiling],
    function: tuple[str, ...] = (),
    only: tuple[str, ...] = (),
) -> Cell:
    """Return an array as a cell; `function` gives an equation for each output, `only` the processes that it suits."""
    where = Where(f"array {name}")
    inputs = [port.name for port in ports if port.role is not Role.OUTPUT]
    stages = []
    for text in function:
        equation = parse_equation(text, inputs, where)
        stages.append(Stage(equation.name, equation.expression, text, where))
    return Cell(
        name=name,
        title=notes.title,
        family="arrays",
        structure=notes.structure,
        aliases=notes.aliases,
        ports=ports,
        function=tuple(stages),
        does=notes.does,
        stages=(),
        netlists={style: tiling.devices for style, tiling in tilings.items()},
        boundary=notes.boundary,
        look_for=notes.look_for,
        mistaken_for=tuple(Lookalike(cell, tell) for cell, tell in notes.mistaken_for),
        only=only,
        where=where,
        tilings=tilings,
    )
