"""
Draw a plane with metal gates: gates in metal; lines, and the ground between each two of them, in diffusion.

A transistor is a window of thin oxide that bridges the gap between a line and its ground; without one the metal just
crosses over thick oxide.
"""

from collections.abc import Mapping
from dataclasses import dataclass

from layoutdrill.drawing.planes.metal_rules import MetalRules
from layoutdrill.drawing.planes.pen import Pen, Span
from layoutdrill.drawing.planes.plan import Line
from layoutdrill.drawing.shared.technique import METAL


@dataclass(frozen=True, slots=True)
class Bars:
    """Level diffusions, lowest first: lines with the place of their ground, and the grounds."""

    lines: tuple[tuple[Line, int, int], ...]
    grounds: tuple[int, ...]

    @property
    def low(self) -> int:
        return min(self.lines[0][1], self.grounds[0])

    @property
    def high(self) -> int:
        return max(self.lines[-1][1], self.grounds[-1])


@dataclass(frozen=True, slots=True)
class Field:
    """
    Where a plane's parts lie: gates by net, its level bars, the rails upright on either side of the gates and between
    them, which all meet the grounds, and how far the lines reach.
    """

    gates: Mapping[str, int]
    bars: Bars
    rails: tuple[int, ...]
    lines: Span


def bars(lines: tuple[Line, ...], r: MetalRules, *, ground_first: bool, between: int, start: int = 0) -> Bars:
    """
    Return places of lines in pairs about a ground, from `start` up; `between` is the distance of lines of two pairs.

    With `ground_first` the first line has a ground of its own below it.
    """
    step = 2 * r.body + r.technique.channel + 2 * r.doped.past
    found: list[tuple[Line, int, int]] = []
    grounds: list[int] = []
    at, rest = start, list(lines)
    if ground_first:
        grounds.append(at)
        at += step
        found.append((rest.pop(0), at, at - step))
        at += between
    while rest:
        grounds.append(at + step)
        found.append((rest.pop(0), at, at + step))
        if rest:
            found.append((rest.pop(0), at + 2 * step, at + step))
        at += 2 * step + between
    return Bars(tuple(found), tuple(grounds))


def gate_places(count: int, r: MetalRules, pitch: int, strap: int) -> tuple[tuple[int, ...], tuple[int, ...]]:
    """Return places of gate lines from 0 up, and of rails outside them and after every `strap` of them."""
    beside = r.gate + r.metal_gap + r.rail
    places: list[int] = []
    rails = [-beside]
    at = 0
    for k in range(count):
        if k and k % strap == 0:
            rails.append(places[-1] + beside)
            at = rails[-1] + beside
        places.append(at)
        at += pitch
    rails.append(places[-1] + beside)
    return tuple(places), tuple(rails)


def rails_round(gates: tuple[int, ...], r: MetalRules) -> tuple[int, ...]:
    """Return places of rails outside gate lines whose places are given."""
    beside = r.gate + r.metal_gap + r.rail
    return gates[0] - beside, gates[-1] + beside


def paint_field(pen: Pen, r: MetalRules, field: Field, gates: Mapping[str, Span], rails: Span) -> None:
    """Draw bars, windows, gate lines and rails; each gate line, and all rails, between the values of v given."""
    metal = r.technique.wires[METAL].layer
    left, right = field.rails[0], field.rails[-1]
    for v in field.bars.grounds:
        r.diffuse(pen, 0, (left - r.body, right + r.body), (v - r.body, v + r.body))
        for u in field.rails:
            r.contact(pen, u, v)
    for line, v, ground in field.bars.lines:
        r.diffuse(pen, 0, field.lines, (v - r.body, v + r.body))
        edge = r.body + r.doped.past
        ends = (ground + edge, v - edge) if ground < v else (v + edge, ground - edge)
        for net in line.at:
            r.channel(pen, ends, field.gates[net], r.width)
    for net, u in field.gates.items():
        pen.upright(metal, u, gates[net], r.gate)
    for u in field.rails:
        pen.upright(metal, u, rails, r.rail)
