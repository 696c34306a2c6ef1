"""What the library says of a cell: its ports, how it is built, what it does, and how a reader tells it."""

from collections.abc import Mapping
from dataclasses import field, replace
from enum import StrEnum

from layoutdrill.cells.compact import LOW, Device, Line
from layoutdrill.cells.stages import Stage
from layoutdrill.cells.tiling import Tile, Tiling
from layoutdrill.errors import Where
from layoutdrill.netlist.roles import Role
from layoutdrill.process import Process
from layoutdrill.process.terms import Kind, Mode
from layoutdrill.value import value

EVERYTHING = "everything that is drawn"
"""The boundary of a cell that states no other."""


class Style(StrEnum):
    """
    How a process builds logic: with both kinds of transistor, or with one kind and loads.

    Without further word an enhancement load is of p transistors, as in PMOS.
    """

    COMPLEMENTARY = "complementary"
    DEPLETION_LOAD = "depletion load"
    ENHANCEMENT_LOAD = "enhancement load"
    ENHANCEMENT_LOAD_N = "enhancement load of n"

    @property
    def pulls_down(self) -> bool:
        """Tell whether the drivers are n transistors with loads above them."""
        return self in (Style.DEPLETION_LOAD, Style.ENHANCEMENT_LOAD_N)


def style_of(process: Process) -> Style:
    """Tell a process's logic style from the transistors that it has."""
    kinds = {rule.kind for rule in process.transistors}
    if kinds == {Kind.N, Kind.P}:
        return Style.COMPLEMENTARY
    depletion = any(rule.mode is Mode.DEPLETION for rule in process.transistors)
    if depletion:
        return Style.DEPLETION_LOAD
    return Style.ENHANCEMENT_LOAD_N if Kind.N in kinds else Style.ENHANCEMENT_LOAD


@value
class Port:
    """A port; `complement_of` names the port whose opposite is given here."""

    name: str
    role: Role
    complement_of: str | None = None


@value
class Lookalike:
    """Another cell of the library that this one is mistaken for, and the feature that decides."""

    cell: str
    tell: str


@value
class Entry:
    """
    One entry of the library.

    `function` holds the outputs as functions of the inputs; a cell with memory has none and says what it `does`.
    `stages` are the static gates that it is built from, `netlists` the devices by logic style; one of them is given.
    Stages can be built in every style, from both kinds of transistor or from one kind with a load to each gate.
    An array has a `tiling` for each of its netlists, whose devices are those of the tiles, in their order.
    `only` names the processes that it makes sense in; empty means every process whose style it can be built in.
    """

    name: str
    title: str
    family: str
    structure: str
    aliases: tuple[str, ...]
    ports: tuple[Port, ...]
    function: tuple[Stage, ...]
    does: str
    stages: tuple[Stage, ...]
    netlists: Mapping[Style, tuple[Line, ...]]
    boundary: str
    look_for: str
    mistaken_for: tuple[Lookalike, ...]
    only: tuple[str, ...]
    where: Where = field(default=Where(""), compare=False)
    tilings: Mapping[Style, Tiling] = field(default_factory=dict)

    def of_role(self, *roles: Role) -> tuple[str, ...]:
        """Return the names of the ports with one of these roles."""
        return tuple(port.name for port in self.ports if port.role in roles)

    @property
    def stateful(self) -> bool:
        return not self.function and bool(self.does)

    def fits(self, process: Process) -> bool:
        """Tell whether the cell makes sense in the process and can be built in its logic style."""
        if self.only and process.name not in self.only:
            return False
        if process.gate_supply and self.tilings:
            tiling = self.tilings.get(
                style_of(process)
            )  # a line for the gates of loads runs through tiles that have some
            if tiling is None or not all(_has_load(tile) for tile in tiling.tiles.values()):
                return False
        return bool(self.stages) or style_of(process) in self.netlists

    def tiling(self, process: Process) -> Tiling | None:
        """
        Return how an array is laid out in tiles; its transistors have the names of those in the netlist. Where there is
        a supply for the gates of loads, it runs through every row.
        """
        tiling = self.tilings.get(style_of(process))
        return tiling if tiling is None or not process.gate_supply else _fed(tiling, process.gate_supply)


def _has_load(tile: Tile) -> bool:
    return any(_is_load(device) for device in tile.devices)


def _is_load(device: Device) -> bool:
    return device.gate == LOW and LOW in device.ends


def _fed(tiling: Tiling, supply: str) -> Tiling:
    """Return a tiling whose loads have their gates on a line of their own, which runs along each row."""
    tiles = {
        name: replace(
            tile,
            devices=tuple(replace(d, gate=supply) if _is_load(d) else d for d in tile.devices),
            left=(supply, *tile.left),
            right=(supply, *tile.right),
        )
        for name, tile in tiling.tiles.items()
    }
    places = tuple(replace(place, joined=((supply, supply), *place.joined)) for place in tiling.places)
    return Tiling(tiling.rows, tiling.columns, tiles, places)
