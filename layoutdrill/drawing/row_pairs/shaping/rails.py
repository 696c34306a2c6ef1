"""Draw the rails with their taps, and keep a sketch inside its borders and between its rails."""

import itertools
from collections.abc import Iterable
from dataclasses import dataclass

from layoutdrill.drawing.row_pairs.placing.cuts import SINGLE, Cuts
from layoutdrill.drawing.row_pairs.routing.grid import ABSENT
from layoutdrill.drawing.row_pairs.shaping.sketch import Edge, Shape, Sketch
from layoutdrill.drawing.shared.technique import METAL, OTHER, UPPER_METAL, Rings, Technique

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
    Heights of the device rows, places of taps by rail, extra distance between wires, and how far a port reaches past
    a rail. With `broad` the rails lie in the second metal too, joined at the places `vias`; by `stout` they are wider
    than the least. `under` is the device row whose doping crossunders through islands have. With `landings`
    wires that leave end on the border as broad as a contact needs. `cuts` is the most cuts of a contact.
    """

    widths: tuple[int, int]
    taps: tuple[tuple[int, ...], ...]
    loose: int = 0
    stub: int = 4
    broad: int = 0
    vias: tuple[tuple[int, ...], ...] = ((), ())
    stout: int = 0
    under: int = 0
    landings: bool = False
    cuts: Cuts = SINGLE


def square(mask: str, sort: str, net: int, x: int, y: int, half: int) -> Shape:
    """Return a square of side 2 · `half` centred on two lines."""
    return Shape(mask, sort, net, (x, -half), (x, half), (y, -half), (y, half), solid=True)


def draw_rails(out: Sketch, t: Technique, room: Room, supplies: tuple[int, int]) -> None:
    half = (t.rail + room.stout) // 2
    for row, (rail, net) in enumerate(zip(RAILS, supplies, strict=True)):
        if net == ABSENT:
            continue
        y0, y1 = (rail, -half), (rail, half)
        out.shapes.append(Shape("metal", "metal", net, (LEFT, 0), (RIGHT, 0), y0, y1, solid=True))
        out.labels.append((net, "metal", (LEFT, half), (rail, 0)))
        if room.broad:
            y0, y1 = (rail, -room.broad // 2), (rail, room.broad // 2)
            mask = t.wires[UPPER_METAL].layer
            out.shapes.append(Shape(mask, "upper", net, (LEFT, 0), (RIGHT, 0), y0, y1, solid=True))
        _draw_taps(out, t, room, row)


def _draw_taps(out: Sketch, t: Technique, room: Room, row: int) -> None:
    """Put taps under a rail, and one implant round them all; vias to a broad rail keep off their contacts."""
    rail = RAILS[row]
    reach = t.contact // 2 + t.surround
    places = sorted([(at, False) for at in room.taps[row]] + [(at, True) for at in room.vias[row]])
    lines = [(out.x_line(at), via) for at, via in places]
    gap = 2 * reach + t.diffusion_spacing
    out.x_rules += [(a, b, gap) for (a, _), (b, _) in itertools.pairwise(lines)]
    out.x_rules += [(LEFT, x, 2 * reach) for x, _ in lines] + [(x, RIGHT, 2 * reach) for x, _ in lines]
    taps = [x for x, via in lines if not via]
    out.shapes += [square(t.via, "", 0, x, rail, t.contact // 2) for x, via in lines if via]
    out.shapes += [square("contact", "", 0, x, rail, t.contact // 2) for x in taps]
    if t.implants is None or not taps:
        return
    for number, x in enumerate(taps):
        out.shapes.append(square(t.diffusion[row], "diffusion", (2 + row) * UPPER - number, x, rail, reach))
    past = t.implants.past
    x0, x1 = (taps[0], -reach - past), (taps[-1], reach + past)
    y0, y1 = (rail, -reach - past), (rail, reach + past)
    out.shapes.append(Shape(t.implants.doping[1 - row], "", 0, x0, x1, y0, y1, solid=True))


def draw_rings(out: Sketch, t: Technique, rings: Rings, supplies: tuple[int, int], between: tuple[int, int]) -> None:
    """
    Draw a guard ring round each device row that has a rail: a leg under it, one in the channel, one on either side;
    of open rings only the legs in the channel.

    `between` are the first places of the two legs in the channel.
    """
    assert t.doped is not None
    half, margin = rings.width // 2, t.wires[METAL].spacing // 2
    low, high = out.y_line(between[0]), out.y_line(between[1])
    least = 2 * half + rings.gap
    out.y_rules += [
        (low, high, 2 * half + rings.well_past + rings.apart),
        (RAILS[0], low, least),
        (high, RAILS[1], least),
    ]
    for row, (bottom, top) in enumerate(((RAILS[0], low), (high, RAILS[1]))):
        if supplies[row] == ABSENT:
            if row == 1 and supplies[0] != ABSENT:  # nothing is drawn there, but crossunders keep off the well
                bar = (LEFT, margin), (RIGHT, -margin), (high, -half), (high, half)
                out.shapes.append(Shape("", "ring", row, *bar, solid=True))
            continue
        mask = t.doped.doping[1 - row]
        if rings.open:
            line = (low, high)[row]
            out.shapes.append(Shape(mask, "ring", row, (LEFT, 0), (RIGHT, 0), (line, -half), (line, half), solid=True))
            continue
        y0, y1 = (bottom, -half), (top, half)
        for line in (bottom, top):
            level = (LEFT, margin), (RIGHT, -margin), (line, -half), (line, half)
            out.shapes.append(Shape(mask, "ring", row, *level, solid=True))
        for x0, x1 in (((LEFT, margin), (LEFT, margin + 2 * half)), ((RIGHT, -margin - 2 * half), (RIGHT, -margin))):
            out.shapes.append(Shape(mask, "ring", row, x0, x1, y0, y1, solid=True))
    if supplies[0] == ABSENT:
        return
    reach = half + rings.well_past
    side = 0 if rings.open else rings.well_past - margin
    x0, x1 = (LEFT, -side), (RIGHT, side)
    out.shapes.append(Shape(rings.well, "", 0, x0, x1, (RAILS[0], -reach), (low, reach), solid=True))


def keep_inside(out: Sketch, t: Technique, room: Room, supplies: tuple[int, int], exits: set[str]) -> None:
    """Keep all shapes inside the borders; ports that leave below or above a rail get a stub beyond it."""
    low, high = _reach(t, room, supplies)
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
    low, high = _reach(t, room, supplies)
    inner = t.wires[OTHER].pad // 2
    for line in tracks:
        out.y_rules += [(RAILS[0], line, low + inner), (line, RAILS[1], high + inner)]
    # Where one row is empty the well's edge still keeps off the taps under the rails, and holds those that are its own.
    tap = t.contact // 2 + t.surround + t.implants.well_tap if t.implants else 0
    out.y_rules += [(RAILS[0], WELL, tap), (WELL, RAILS[1], tap)]
    past = t.implants.well_past if t.implants else 0
    for line, row in strips:
        width = room.widths[row]
        if t.implants:
            rail = t.contact // 2 + t.surround + t.implants.tap_gap
        elif t.rings:
            rail = t.rings.width // 2 + t.rings.gap
        else:
            rail = (low, high)[row] + t.wires[METAL].spacing
        if row == 0:
            out.y_rules += [(RAILS[0], line, rail), (line, WELL, width + past)]
        else:
            out.y_rules += [(line, RAILS[1], width + rail), (WELL, line, past)]


def _reach(t: Technique, room: Room, supplies: tuple[int, int]) -> tuple[int, int]:
    """Return how far each rail reaches from its middle line; nothing where there is none."""
    low, high = (0 if net == ABSENT else max(t.rail + room.stout, room.broad) // 2 for net in supplies)
    return low, high
