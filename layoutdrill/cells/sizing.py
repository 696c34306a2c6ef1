"""
Size the transistors of ratioed logic: drivers near the least channel, each load by the path that pulls against it.

Z is L/W of a channel. A depletion load has 4 times the Z of the longest series path against it, 8 times where an input
of that path comes through a pass transistor and so has a poor level (Mead & Conway, Introduction to VLSI Systems, 1980,
from memory). A saturated enhancement load, its gate on its own supply, had 10 times or more (common practice), and
wider drivers against it. Everything in λ.
"""

from collections.abc import Iterator
from dataclasses import replace
from fractions import Fraction
from math import ceil

from layoutdrill.cells.compact import HIGH, LOW, Device, Line
from layoutdrill.cells.entry import Style
from layoutdrill.process import Process
from layoutdrill.process.terms import Kind, Mode

RATIOS = {Style.DEPLETION_LOAD: 4, Style.ENHANCEMENT_LOAD: 10, Style.ENHANCEMENT_LOAD_N: 10}
"""The load's Z over the pull's for full levels; levels that passed a switch need twice as much."""
POOR = 2

_LENGTH, _SWITCH, _LOAD = 2, 3, 2
"""The usual channel length, and the widths of a switch between two signals and of a load."""
_DRIVERS = {Style.DEPLETION_LOAD: 4, Style.ENHANCEMENT_LOAD: 6, Style.ENHANCEMENT_LOAD_N: 6}
"""The widths of drivers."""
_MOST_STEPS = 20_000


def load_of(style: Style, y: str) -> Device:
    """Return the load of a gate with the output `y`: in depletion, gate on its own source; else gate on its supply."""
    if style is Style.DEPLETION_LOAD:
        return Device(Kind.N, Mode.DEPLETION, y, (HIGH, y))
    if style is Style.ENHANCEMENT_LOAD_N:
        return Device(Kind.N, Mode.ENHANCEMENT, HIGH, (HIGH, y))
    return Device(Kind.P, Mode.ENHANCEMENT, LOW, (LOW, y))


def is_load(device: Device, style: Style) -> bool:
    """Tell whether a device is a load: a depletion transistor, or one whose gate is on the supply that it leads to."""
    if style is Style.DEPLETION_LOAD:
        return device.mode is Mode.DEPLETION and HIGH in device.ends
    supply = HIGH if style.pulls_down else LOW
    return device.gate == supply and supply in device.ends


def without_implant(lines: tuple[Line, ...]) -> tuple[Line, ...] | None:
    """Return a netlist with enhancement loads for depletion loads; None where another device is in depletion."""
    turned: list[Line] = []
    for line in lines:
        if isinstance(line, Device) and line.mode is Mode.DEPLETION:
            if not is_load(line, Style.DEPLETION_LOAD) or line.gate not in line.ends or line.gate == HIGH:
                return None
            turned.append(replace(line, mode=Mode.ENHANCEMENT, gate=HIGH))
        else:
            turned.append(line)
    return tuple(turned)


def sized(devices: list[Device], style: Style, ports: frozenset[str], process: Process) -> list[Device]:
    """Return the devices with every size that is not given yet. `ports` count as restored, and end a path."""
    least = _least_length(process)
    loads = [is_load(device, style) for device in devices]
    pulls = _Pulls(devices, loads, style, ports)
    devices_sized = [
        device if load else replace(device, length=device.length or least, width=device.width or pulls.width(device))
        for device, load in zip(devices, loads, strict=True)
    ]
    pulls = _Pulls(devices_sized, loads, style, ports)
    return [
        _sized_load(device, pulls.against(_output(device, style)), least) if load else device
        for device, load in zip(devices_sized, loads, strict=True)
    ]


def _least_length(process: Process) -> int:
    return ceil(process.drawing.channel / process.grid_per_lambda) if process.drawing else _LENGTH


def _rail(style: Style) -> str:
    """Return the rail that drivers pull to."""
    return LOW if style.pulls_down else HIGH


def _output(load: Device, style: Style) -> str:
    supply = HIGH if style.pulls_down else LOW
    return load.ends[0] if load.ends[1] == supply else load.ends[1]


def _sized_load(load: Device, z: Fraction, least: int) -> Device:
    if load.length and load.width:
        return load
    if z >= Fraction(least, _LOAD):
        width = load.width or _LOAD
        return replace(load, length=load.length or ceil(z * width), width=width)
    return replace(load, length=load.length or least, width=load.width or max(_LOAD, int(least / z)))


class _Pulls:
    """The paths of a netlist that pull against its loads."""

    def __init__(self, devices: list[Device], loads: list[bool], style: Style, ports: frozenset[str]) -> None:
        self.rail = _rail(style)
        self.ratio, self.driver = RATIOS[style], _DRIVERS[style]
        self.ports = ports
        self.loaded = {_output(d, style) for d, load in zip(devices, loads, strict=True) if load}
        self.gates = {d.gate for d in devices}
        self.at: dict[str, list[Device]] = {}
        for device, load in zip(devices, loads, strict=True):
            if not load:
                for end in device.ends:
                    self.at.setdefault(end, []).append(device)
        self.steps = 0

    def width(self, device: Device) -> int:
        """Return the width of a driver, or the smaller one of a switch between two signals."""
        drives = self.rail in device.ends or device.mode is Mode.DEPLETION or any(map(self.is_inner, device.ends))
        return self.driver if drives else _SWITCH

    def against(self, output: str) -> Fraction:
        """Return the Z that a load at `output` needs."""
        paths = list(self.paths(output, frozenset((output,))))
        if not paths:
            return Fraction(self.ratio * _LENGTH, self.driver)
        longest = max(sum((Fraction(d.length, d.width) for d in path), Fraction(0)) for path in paths)
        poor = any(self.is_poor(d.gate) for path in paths for d in path)
        return longest * self.ratio * (POOR if poor else 1)

    def paths(self, net: str, seen: frozenset[str]) -> Iterator[tuple[Device, ...]]:
        """Yield the paths from a net to the rail through nodes that only join transistors in series."""
        for device in self.at.get(net, ()):
            self.steps += 1
            if self.steps > _MOST_STEPS:
                return
            far = device.ends[0] if device.ends[1] == net else device.ends[1]
            if far == self.rail:
                yield (device,)
            elif far not in seen and self.is_inner(far):
                for rest in self.paths(far, seen | {far}):
                    yield (device, *rest)

    def is_inner(self, net: str) -> bool:
        return net not in self.loaded and net not in self.gates and net not in self.ports and net not in (LOW, HIGH)

    def is_poor(self, net: str) -> bool:
        """Tell whether a gate line gets its level through a switch, with no load of its own to restore it."""
        return net not in self.loaded and net not in self.ports and net in self.at and self.rail not in {
            end for d in self.at[net] for end in d.ends
        }  # fmt: skip
