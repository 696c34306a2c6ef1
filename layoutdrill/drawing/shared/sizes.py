"""Take the sizes of transistors from a netlist to the grid, and say which netlist is meant when they are chosen."""

from collections.abc import Mapping
from dataclasses import replace
from typing import NamedTuple

from layoutdrill.drawing.shared.technique import Loads, Technique
from layoutdrill.errors import LayoutdrillError
from layoutdrill.netlist.model import Netlist, Transistor
from layoutdrill.netlist.number import micrometres
from layoutdrill.process.model import Process
from layoutdrill.units import GridUnits

_RATIO = 4
"""L over W of a load that is given no size (Mead & Conway 1980, from memory: 4:1 against a square driver)."""


class Size(NamedTuple):
    """Length and width of one finger's channel in grid units, 0 for the usual ones; a standing load's output net."""

    length: GridUnits
    width: GridUnits
    output: str = ""

    def or_else(self, length: GridUnits, width: GridUnits) -> "Size":
        """Return the size, with these where it has none of its own."""
        return self._replace(length=self.length or length, width=self.width or width)


def sizes_of(netlist: Netlist, process: Process, technique: Technique) -> dict[str, Size]:
    """
    Return the size of one finger of every transistor, by name: grid units, 0 where the drawing may choose.

    Raises LayoutdrillError for a size that the grid or the rules do not allow.
    """
    return {t.name: _size(t, process, technique) for t in netlist.transistors}


def _size(t: Transistor, process: Process, technique: Technique) -> Size:
    length = _units(t, "L", t.length, process)
    width = _units(t, "W", t.width, process)
    if width % t.fingers:
        raise LayoutdrillError(
            f"W of {t.name} does not divide into {t.fingers} fingers", todo="give each finger a whole number of steps"
        )
    width //= t.fingers
    if length and (length < technique.channel or (length - technique.channel) % 2):
        least = technique.channel * process.grid_nm
        raise LayoutdrillError(
            f"L of {t.name}, {t.length} nm, cannot be drawn in {process.name}",
            todo=f"use {least:g} nm or more, in steps of {2 * process.grid_nm:g} nm",
        )
    if width and width < technique.least_width:
        raise LayoutdrillError(
            f"W of {t.name}, {t.width} nm, is too narrow for {process.name}",
            todo=f"use {technique.least_width * process.grid_nm:g} nm or more a finger",
        )
    if not technique.stands(t, process.supplies):
        return Size(length, width)
    width = width or technique.least_width
    width += width % 2
    rail = process.supplies[0] if technique.loads is Loads.PLATE else process.supplies[1]
    return Size(length or _RATIO * width, width, t.source if t.drain == rail else t.drain)


def _units(t: Transistor, what: str, nm: int, process: Process) -> GridUnits:
    units = round(nm / process.grid_nm)
    if round(units * process.grid_nm) != nm:
        raise LayoutdrillError(
            f"{what} of {t.name}, {nm} nm, does not fall on the grid of {process.name}",
            todo=f"use steps of {process.grid_nm:g} nm",
        )
    return units


Drawn = Mapping[str, tuple[int, float, float]]
"""By transistor name: fingers, and length and width of each finger's channel in grid units; bent ones may be odd."""


def with_sizes(netlist: Netlist, process: Process, drawn: Drawn) -> Netlist:
    """Return the netlist with every size as drawn, in nm."""
    sized = []
    for t in netlist.transistors:
        fingers, length, width = drawn[t.name]
        sized.append(replace(t, length=process.nm(length), width=fingers * process.nm(width), fingers=fingers))
    others = []
    for e in netlist.elements:
        size = zip("LW", drawn[e.name][1:], strict=True) if e.name in drawn else ()
        others.append(replace(e, values=tuple((key, micrometres(process.nm(units))) for key, units in size)))
    return replace(netlist, transistors=tuple(sized), elements=tuple(others))
