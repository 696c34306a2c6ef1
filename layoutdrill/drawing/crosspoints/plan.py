"""
Read a tiling as planes of crosspoints: gate lines, the lines that they cross, and what stands round them.

A line has one load and its transistors side by side, each from the line to a rail. A transistor whose gate runs upright
through its tile belongs to the first plane, one whose gate runs across to the second, whose gates are then the lines of
the first. A transistor that nothing runs past at right angles is half of an inverter: of a complement, whose output is
a gate line of the first plane, or of an output, whose gate is a line. A transistor whose drain ends in its own tile is
a spare one: it stands at a crossing, and what programs the plane has left it off the line.
"""

from collections.abc import Collection, Mapping
from dataclasses import field
from enum import Enum

from layoutdrill.cells.compact import HIGH, LOW, Device
from layoutdrill.cells.tiling import UNJOINED, Tile, Tiling
from layoutdrill.process.terms import Kind, Mode
from layoutdrill.value import mutable, value

_SUPPLIES = (LOW, HIGH)


class Program(Enum):
    """What tells a crossing that counts from one that does not: a transistor, its contact, or its metal."""

    TRANSISTOR = "transistor"
    CONTACT = "contact"
    METAL = "metal"


@value
class Line:
    """
    A line: its net, the name of its load, the names of its transistors by the net of their gates, and those of the
    transistors that stand beside it and are not joined to it.
    """

    net: str
    load: str
    at: Mapping[str, str]
    spare: Mapping[str, str] = field(default_factory=dict)

    @property
    def standing(self) -> Mapping[str, str]:
        """Return all transistors that are drawn at its crossings."""
        return {**self.at, **self.spare}


@value
class Inverter:
    """An inverter from net `a` to net `y`: the names of its driver and of its pull-up, a load or a transistor."""

    a: str
    y: str
    driver: str
    pull_up: str


@value
class Plane:
    """Groups of gate lines that lie side by side, and the lines across them, both in the order of the tiling."""

    groups: tuple[tuple[str, ...], ...]
    lines: tuple[Line, ...]

    @property
    def gates(self) -> tuple[str, ...]:
        return tuple(gate for group in self.groups for gate in group)


@value
class Plan:
    """
    One plane, or two of which the second's gates are the first one's lines; the inverters that make complements of
    the first one's gate lines, and those behind the last one's lines, by line; and by what the planes are programmed.
    """

    planes: tuple[Plane, ...]
    complements: tuple[Inverter, ...]
    outputs: Mapping[str, Inverter]
    program: Program = Program.TRANSISTOR


@mutable
class _Sorted:
    """
    Names of transistors: loads by net, crossings by line and gate in each plane, spare ones by line and gate, halves of
    inverters by (a, y).
    """

    loads: dict[str, str] = field(default_factory=dict)
    spare: dict[str, dict[str, str]] = field(default_factory=dict)
    crossings: tuple[dict[str, dict[str, str]], dict[str, dict[str, str]]] = field(default_factory=lambda: ({}, {}))
    drivers: dict[tuple[str, str], str] = field(default_factory=dict)
    pull_ups: dict[tuple[str, str], str] = field(default_factory=dict)


def is_plane(tiling: Tiling) -> bool:
    """Tell whether a tiling is made of lines with a load each, transistors side by side, and inverters."""
    return plan_of(tiling) is not None


def plan_of(tiling: Tiling, ports: Collection[str] = ()) -> Plan | None:
    """
    Return a tiling as planes, or None where some transistor has no place in any.

    Gate lines without a transistor are left out of a first plane, unless they are among the `ports`.
    """
    by_role = _sorted(tiling)
    if by_role is None or not any(by_role.crossings):
        return None
    planes = [
        _read(tiling, by_role, ports, upright=upright) for upright in (True, False) if by_role.crossings[not upright]
    ]
    inverters = [
        Inverter(a, y, driver, by_role.pull_ups.get((a, y), by_role.loads.get(y, "")))
        for (a, y), driver in by_role.drivers.items()
    ]
    lines = [{line.net for line in plane.lines} for plane in planes]
    outputs = {i.a: i for i in inverters if i.a in lines[-1]}
    complements = tuple(i for i in inverters if i.a not in outputs)
    names = [line.load for plane in planes for line in plane.lines] + [i.pull_up for i in inverters]
    chained = all(set(plane.gates) <= lines[0] for plane in planes[1:])
    made = all(i.y in planes[0].gates for i in complements)
    if sorted(names) != sorted((*by_role.loads.values(), *by_role.pull_ups.values())) or not chained or not made:
        return None
    program = Program.TRANSISTOR
    if by_role.spare:
        program = Program.METAL if UNJOINED in tiling.tiles else Program.CONTACT
        if len(planes) > 1 or inverters:
            return None
    return Plan(tuple(planes), complements, outputs, program)


def _sorted(tiling: Tiling) -> _Sorted | None:
    """Sort every transistor into loads, crossings and halves of inverters; None where one is none of these."""
    by_role = _Sorted()
    kinds = {device.kind for tile in tiling.tiles.values() for device in tile.devices}
    kind = Kind.N if Kind.N in kinds else Kind.P
    for place in tiling.places:
        tile, nets = tiling.tiles[place.tile], {name: name for name in _SUPPLIES} | dict(place.joined)
        for device, name in zip(tile.devices, place.transistors, strict=True):
            outer = [end for end in device.ends if end not in _SUPPLIES]
            line = _line_beside(device, tile)
            if line is not None and device.kind is kind and (LOW in device.ends) == (kind is Kind.N):
                by_role.spare.setdefault(nets[line], {})[nets[device.gate]] = name
                continue
            if len(outer) != 1 or outer[0] not in nets or device.gate not in nets:
                return None
            gate, y = nets[device.gate], nets[outer[0]]
            if _is_load(device):
                by_role.loads[y] = name
            elif gate in _SUPPLIES or device.mode is Mode.DEPLETION:
                return None
            elif device.kind is not kind:
                by_role.pull_ups[gate, y] = name
            elif (LOW in device.ends) != (kind is Kind.N):
                return None
            elif (upright := _upright(device.gate, outer[0], tile)) is not None:
                by_role.crossings[not upright].setdefault(y, {})[gate] = name
            else:
                by_role.drivers[gate, y] = name
    return by_role if set(by_role.pull_ups) <= set(by_role.drivers) else None


def _line_beside(device: Device, tile: Tile) -> str | None:
    """Return the line that crosses a transistor's gate where the transistor is not joined to it, else None."""
    outer = [end for end in device.ends if end not in _SUPPLIES]
    if len(outer) != 1 or outer[0] in tile.ports or device.gate not in tile.across or len(tile.upright) != 1:
        return None
    return tile.upright[0]


def _is_load(device: Device) -> bool:
    if device.mode is Mode.DEPLETION:
        return HIGH in device.ends and device.gate in device.ends
    return device.kind is Kind.P and device.gate == LOW


def _upright(gate: str, y: str, tile: Tile) -> bool | None:
    """Tell whether the gate runs upright and the line across it, or the other way; None where they do not cross."""
    if gate in tile.upright and y in tile.across:
        return True
    return False if gate in tile.across and y in tile.upright else None


def _read(tiling: Tiling, by_role: _Sorted, ports: Collection[str], *, upright: bool) -> Plane:
    """Return a plane; gate lines through one row or column of tiles are a group."""
    crossed = by_role.crossings[not upright]
    used = {gate for at in (*crossed.values(), *by_role.spare.values()) for gate in at}
    used |= {*ports, *(a for a, _ in by_role.drivers)}.difference(*by_role.crossings)
    used |= set(by_role.crossings[0]) if not upright else set()
    groups: dict[int, dict[str, None]] = {}
    across: dict[str, None] = {}
    for net, way, number in sorted(tiling.through, key=lambda item: item[2]):
        if (way == "column") == upright:
            if net in used:
                groups.setdefault(number, {})[net] = None
        elif net in crossed:
            across[net] = None
    lines = (Line(net, by_role.loads.get(net, ""), crossed[net], by_role.spare.get(net, {})) for net in across)
    return Plane(tuple(tuple(group) for group in groups.values()), tuple(lines))
