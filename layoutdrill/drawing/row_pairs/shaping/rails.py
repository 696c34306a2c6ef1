"""Draw the rails with their taps, and keep a sketch inside its borders and between its rails."""

import itertools
from collections.abc import Iterable
from typing import NamedTuple

from layoutdrill.drawing.row_pairs.job import ABSENT
from layoutdrill.drawing.row_pairs.placing.choices import Choices
from layoutdrill.drawing.row_pairs.shaping.sketch import (
    BOTTOM,
    LEFT,
    RAILS,
    RIGHT,
    TOP,
    UPPER,
    WELL,
    WIRES,
    Edge,
    Paint,
    Sketch,
    Sort,
    Span,
    about,
)
from layoutdrill.drawing.shared.technique import METAL, OTHER, UPPER_METAL, Rings

_STUB = 4
"""How far a port reaches past a rail."""
_ACROSS: Span = (LEFT, 0), (RIGHT, 0)


class Taps(NamedTuple):
    """For each rail, the places in x of its taps, and those of vias to its part in the second metal."""

    taps: tuple[tuple[int, ...], ...]
    vias: tuple[tuple[int, ...], ...] = ((), ())


def draw_rails(out: Sketch, choices: Choices, taps: Taps, supplies: tuple[int, int]) -> None:
    t = out.technique
    for row, (rail, net) in enumerate(zip(RAILS, supplies, strict=True)):
        if net == ABSENT:
            continue
        half = choices.half_rail(t)
        out.box(out.metal_paint(net), _ACROSS, about(rail, half))
        out.labels.append((net, t.metal, (LEFT, half), (rail, 0)))
        broad = choices.broad(t)
        if broad:
            out.box(Paint(t.wires[UPPER_METAL].layer, WIRES[UPPER_METAL], net), _ACROSS, about(rail, broad // 2))
        _draw_taps(out, taps.taps[row], taps.vias[row], row)


def _draw_taps(out: Sketch, taps: Iterable[int], vias: Iterable[int], row: int) -> None:
    """Put taps under a rail, and one implant round them all; vias to a broad rail keep off their contacts."""
    t, rail = out.technique, RAILS[row]
    reach = t.body // 2
    lines = [(out.x_line(at), via) for at, via in sorted([(at, False) for at in taps] + [(at, True) for at in vias])]
    gap = 2 * reach + t.diffusion_spacing
    out.x_rules += [(a, b, gap) for (a, _), (b, _) in itertools.pairwise(lines)]
    for x, via in lines:
        out.x_rules += [(LEFT, x, 2 * reach), (x, RIGHT, 2 * reach)]
        out.cut((x, 0), (rail, 0), t.via if via else t.cut)
    own = [x for x, via in lines if not via]
    if t.implants is None or not own:
        return
    for number, x in enumerate(own):
        out.square(Paint(t.diffusion[row], Sort.DIFFUSION, (2 + row) * UPPER - number), x, rail, reach)
    past = reach + t.implants.past
    out.box(Paint(t.implants.doping[1 - row]), ((own[0], -past), (own[-1], past)), about(rail, past))


def draw_rings(out: Sketch, rings: Rings, supplies: tuple[int, int], low_leg: int) -> None:
    """
    Draw a guard ring round each device row that has a rail: a leg under it, one in the channel, one on either side;
    of open rings only the legs in the channel.

    `low_leg` is the first place of the lower of the two legs in the channel.
    """
    t = out.technique
    assert t.doped is not None
    half, margin = rings.width // 2, t.wires[METAL].spacing // 2
    between = rings.width + rings.well_past + rings.apart
    low, high = out.y_line(low_leg), out.y_line(low_leg + between)
    least = 2 * half + rings.gap
    out.y_rules += [
        (low, high, 2 * half + rings.well_past + rings.apart),
        (RAILS[0], low, least),
        (high, RAILS[1], least),
    ]
    inside: Span = (LEFT, margin), (RIGHT, -margin)
    for row, (bottom, top) in enumerate(((RAILS[0], low), (high, RAILS[1]))):
        paint = Paint(t.doped.doping[1 - row], Sort.RING, row)
        if supplies[row] == ABSENT:
            if row == 1 and supplies[0] != ABSENT:  # nothing is drawn there, but crossunders keep off the well
                out.box(paint._replace(mask=""), inside, about(high, half))
        elif rings.open:
            out.box(paint, _ACROSS, about((low, high)[row], half))
        else:
            for line in (bottom, top):
                out.box(paint, inside, about(line, half))
            for x, offset in ((LEFT, margin), (RIGHT, -margin - 2 * half)):
                out.box(paint, ((x, offset), (x, offset + 2 * half)), ((bottom, -half), (top, half)))
    if supplies[0] != ABSENT:
        reach = half + rings.well_past
        side = 0 if rings.open else rings.well_past - margin
        out.box(Paint(rings.well), ((LEFT, -side), (RIGHT, side)), ((RAILS[0], -reach), (low, reach)))


def keep_inside(out: Sketch, choices: Choices, supplies: tuple[int, int], exits: set[str]) -> None:
    """Keep all shapes inside the borders; ports that leave below or above a rail get a stub beyond it."""
    low, high = _reach(out, choices, supplies)
    margin = out.technique.wires[METAL].spacing // 2
    out.y_rules += [
        (BOTTOM, RAILS[0], low + (_STUB if "bottom" in exits else 0)),
        (RAILS[1], TOP, high + (_STUB if "top" in exits else 0)),
    ]
    for shape in out.shapes:
        if shape.x0[0] != LEFT:
            out.x_rules.append((LEFT, shape.x0[0], margin - shape.x0[1]))
        if shape.x1[0] != RIGHT:
            out.x_rules.append((shape.x1[0], RIGHT, margin + shape.x1[1]))


def keep_between_rails(
    out: Sketch, choices: Choices, supplies: tuple[int, int], tracks: Iterable[int], strips: Iterable[Edge]
) -> None:
    """
    Keep tracks and diffusions off the rails, and the rows on their sides of the well's edge.

    `strips` are (line of the lower edge, device row).
    """
    t = out.technique
    reach = _reach(out, choices, supplies)
    inner = t.wires[OTHER].pad // 2
    for line in tracks:
        out.y_rules += [(RAILS[0], line, reach[0] + inner), (line, RAILS[1], reach[1] + inner)]
    # Where one row is empty the well's edge still keeps off the taps under the rails, and holds those that are its own.
    tap = t.body // 2 + t.implants.well_tap if t.implants else 0
    out.y_rules += [(RAILS[0], WELL, tap), (WELL, RAILS[1], tap)]
    past = t.implants.well_past if t.implants else 0
    for line, row in strips:
        height = choices.widths[row]
        if t.implants:
            rail = t.body // 2 + t.implants.tap_gap
        elif t.rings:
            rail = t.rings.width // 2 + t.rings.gap
        else:
            rail = reach[row] + t.wires[METAL].spacing
        if row == 0:
            out.y_rules += [(RAILS[0], line, rail), (line, WELL, height + past)]
        else:
            out.y_rules += [(line, RAILS[1], height + rail), (WELL, line, past)]


def _reach(out: Sketch, choices: Choices, supplies: tuple[int, int]) -> tuple[int, int]:
    """Return how far each rail reaches from its middle line; nothing where there is none."""
    low, high = (0 if net == ABSENT else choices.reach(out.technique) for net in supplies)
    return low, high
