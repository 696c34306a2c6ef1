"""Draw the rails with their taps, and keep a sketch inside its borders and between its rails."""

import itertools
from collections.abc import Iterable
from dataclasses import dataclass

from layoutdrill.drawing.grid import ABSENT
from layoutdrill.drawing.sketch import Edge, Shape, Sketch
from layoutdrill.drawing.technique import METAL, OTHER, Technique

LEFT, RIGHT = 0, 1
BOTTOM, TOP = 0, 1
RAILS = (2, 3)
WELL = 4
"""The first lines of every sketch: borders in x and y, the middles of the two rails, the well's edge."""
UPPER = -1000
"""Diffusions are numbered −10 and down in the bottom row, from here down in the top row; taps from 2 × UPPER."""


@dataclass(frozen=True, slots=True)
class Room:
    """
    Transistor widths by device row, columns of taps by rail, extra distance between wires, and how far a port
    reaches past a rail.
    """

    widths: tuple[int, int]
    taps: tuple[tuple[int, ...], ...]
    loose: int = 0
    stub: int = 4


def square(mask: str, sort: str, net: int, x: int, y: int, half: int) -> Shape:
    """Return a square of side 2 · `half` centred on two lines."""
    return Shape(mask, sort, net, (x, -half), (x, half), (y, -half), (y, half), solid=True)


def draw_rails(out: Sketch, t: Technique, room: Room, supplies: tuple[int, int]) -> None:
    half = t.rail // 2
    for row, (rail, net) in enumerate(zip(RAILS, supplies, strict=True)):
        if net == ABSENT:
            continue
        y0, y1 = (rail, -half), (rail, half)
        out.shapes.append(Shape("metal", "metal", net, (LEFT, 0), (RIGHT, 0), y0, y1, solid=True))
        out.labels.append((net, "metal", (LEFT, half), (rail, 0)))
        if t.well is not None:
            _draw_taps(out, t, room, row)


def _draw_taps(out: Sketch, t: Technique, room: Room, row: int) -> None:
    """Put taps under a rail, and one implant round them all."""
    rail = RAILS[row]
    reach, past = t.contact // 2 + t.surround, t.doping_past
    lines = [out.x_line(column * (t.pitch + room.loose)) for column in room.taps[row]]
    out.x_rules += [(a, b, 2 * reach + t.diffusion_spacing) for a, b in itertools.pairwise(lines)]
    for number, x in enumerate(lines):
        out.shapes.append(square("contact", "", 0, x, rail, t.contact // 2))
        out.shapes.append(square(t.diffusion, "diffusion", (2 + row) * UPPER - number, x, rail, reach))
    x0, x1 = (lines[0], -reach - past), (lines[-1], reach + past)
    y0, y1 = (rail, -reach - past), (rail, reach + past)
    out.shapes.append(Shape(t.doping[1 - row], "", 0, x0, x1, y0, y1, solid=True))


def keep_inside(out: Sketch, t: Technique, room: Room, supplies: tuple[int, int], exits: set[str]) -> None:
    """Keep all shapes inside the borders; ports that leave below or above a rail get a stub beyond it."""
    low, high = _reach(t, supplies)
    margin = t.wires[METAL].spacing // 2
    out.y_rules += [
        (BOTTOM, RAILS[0], low + (room.stub if "bottom" in exits else 0)),
        (RAILS[1], TOP, high + (room.stub if "top" in exits else 0)),
    ]
    for shape in out.shapes:
        if shape.x0[0] != LEFT:
            out.x_rules.append((LEFT, shape.x0[0], margin - shape.x0[1]))
        if shape.x1[0] != RIGHT:
            out.x_rules.append((shape.x1[0], RIGHT, margin + shape.x1[1]))


def keep_between_rails(out: Sketch, t: Technique, room: Room, supplies: tuple[int, int], tracks: Iterable[int],
                       strips: Iterable[Edge]) -> None:  # fmt: skip
    """
    Keep tracks and diffusions off the rails, and the rows on their sides of the well's edge.

    `strips` are (line of the lower edge, device row).
    """
    low, high = _reach(t, supplies)
    inner = t.wires[OTHER].pad // 2
    for line in tracks:
        out.y_rules += [(RAILS[0], line, low + inner), (line, RAILS[1], high + inner)]
    out.y_rules += [(RAILS[0], WELL, 0), (WELL, RAILS[1], 0)]
    tap = t.contact // 2 + t.surround + t.tap_gap
    for line, row in strips:
        width = room.widths[row]
        rail = tap if t.well else (low, high)[row] + t.wires[METAL].spacing
        if row == 0:
            out.y_rules += [(RAILS[0], line, rail), (line, WELL, width + t.well_past)]
        else:
            out.y_rules += [(line, RAILS[1], width + rail), (WELL, line, t.well_past)]


def _reach(t: Technique, supplies: tuple[int, int]) -> tuple[int, int]:
    """Return how far each rail reaches from its middle line; nothing where there is none."""
    low, high = (0 if net == ABSENT else t.rail // 2 for net in supplies)
    return low, high
