"""
Read a tiling as planes of crosspoints: gate lines, the lines that they cross, and what stands round them.

A line has one load and its transistors side by side, each from the line to a rail. Those whose gates run upright belong
to the first plane, those whose gates run across to the second, whose gates are then the lines of the first.
"""

from collections.abc import Collection, Mapping, Sequence

from layoutdrill.cells.tiling import Part, Standing, Tiling
from layoutdrill.drawing.shared.inverters import Inverter, inverters_of
from layoutdrill.value import value


@value
class Line:
    """
    A line: its net, the name of its load, the names of its transistors by the net of their gates, and those of the
    transistors that stand beside it and are not joined to it.
    """

    net: str
    load: str
    at: Mapping[str, str]
    spare: Mapping[str, str]

    @property
    def standing(self) -> Mapping[str, str]:
        """Return all transistors that are drawn at its crossings."""
        return {**self.at, **self.spare}


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
    the first one's gate lines, and those behind the last one's lines, by line; and what stands where nothing counts: a
    transistor that is uncut or unjoined, or none.
    """

    planes: tuple[Plane, ...]
    complements: tuple[Inverter, ...]
    outputs: Mapping[str, Inverter]
    spare: Part | None


def plan_of(tiling: Tiling, ports: Collection[str] = ()) -> Plan:
    """
    Return a tiling as planes.

    Gate lines without a transistor are left out of a first plane, unless they are among the `ports`.
    """
    parts = tiling.parts
    inverters = inverters_of(parts)
    columns, rows = tiling.through("column"), tiling.through("row")
    spare = next((part for part in (Part.UNCUT, Part.UNJOINED) if part in parts), None)
    crossings, spares = parts[Part.CROSSING], parts[spare] if spare else []
    loads = {s.output: s.name for s in parts[Part.LOAD]}
    used = {*ports, *(net for i in inverters for net in (i.a, i.y)), *(s.gate for s in crossings)} - loads.keys()
    columns_used = [tuple(net for net in nets if net in used) for nets in columns]
    planes = []
    for upright, groups, across in ((True, columns_used, rows), (False, rows, columns)):
        own = [s for s in crossings if s.upright is upright]
        if own:
            nets = dict.fromkeys(net for nets in across for net in nets if net in loads)
            lines = (Line(net, loads[net], _by_gate(own, net), _by_gate(spares, net)) for net in nets)
            planes.append(Plane(tuple(filter(None, groups)), tuple(lines)))
    outputs = {i.a: i for i in inverters if i.a in loads}
    return Plan(tuple(planes), tuple(i for i in inverters if i.a not in outputs), outputs, spare)


def _by_gate(transistors: Sequence[Standing], line: str) -> dict[str, str]:
    """Return the names of a line's transistors by the net of their gates."""
    return {s.gate: s.name for s in transistors if s.line == line}
