"""Draw a gate array: its rows, the channels between them, and the main rails on either side."""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import replace

from layoutdrill.cells.tiling import Tiling
from layoutdrill.drawing.bases.channel import Ends, channel_of
from layoutdrill.drawing.bases.plan import Row, rows_of
from layoutdrill.drawing.bases.row import draw_row
from layoutdrill.drawing.blocks import draw_mains, joined_rows
from layoutdrill.drawing.blocks.channel import track_pitch
from layoutdrill.drawing.blocks.draw import placed_row
from layoutdrill.drawing.row_pairs.draw import RowPair, as_part, begin
from layoutdrill.drawing.row_pairs.job import Job, job_of
from layoutdrill.drawing.row_pairs.placing.cuts import SINGLE
from layoutdrill.drawing.shared import Drawing, Pen, Request, all_or_none
from layoutdrill.geometry.rect import Rect
from layoutdrill.geometry.transform import Transform
from layoutdrill.layout.model import Layout
from layoutdrill.netlist.model import Netlist
from layoutdrill.units import GridUnits
from layoutdrill.value import value

_TRACKS = (4, 8)
"""Tracks between the devices of a row, from and to."""
_MAIN = (3, 6)
"""How many signal widths the main rails are wide, from and to (common practice: 3 to 10)."""


@value
class DrawnRow:
    """A drawn row with the heights of its two rails, and where in x each net leaves below and above."""

    layout: Layout
    frame: Rect
    box: Rect
    rails: tuple[GridUnits, GridUnits]
    below: Ends
    above: Ends


def draw_bases(asked: Request, tiling: Tiling) -> Drawing | None:
    """Return the drawing of a gate array, or None when this attempt found no room for its wires."""
    dice, t, supplies = asked.dice("bases"), asked.technique, asked.process.supplies
    rows = rows_of(tiling, asked.netlist, supplies)
    begun = begin(asked)
    alike = replace(as_part(begun, {}, 0).choices, fingers={}, loose=0, cuts=SINGLE)
    choices = replace(alike, device_rows=(1, 1), outer=(2, 2), landings=t.rings is not None)
    tracks = _TRACKS[0] + 2 * min(asked.attempt, (_TRACKS[1] - _TRACKS[0]) // 2)
    if t.rings is not None:
        tracks += max(len(row.leaving) for row in rows)
    drawn = all_or_none(draw_row(_part(asked, row), row, choices, tracks, dice) for row in rows)
    if drawn is None:
        return None
    if t.rings is not None:
        beside = [
            placed_row(made, dict.fromkeys(row.leaving, "right"), supplies)
            for made, row in zip(drawn, rows, strict=True)
        ]
        return joined_rows(asked, beside, dice)
    pen = Pen(t)
    wide = t.wires[0].width * dice.between(*_MAIN)
    ports = {net: dice.pick(("left", "right")) for net in asked.netlist.ports if net not in supplies}
    stack = [_read(made, row, supplies) for made, row in zip(drawn, rows, strict=True)]
    if not _stacked(pen, asked, stack, ports, wide):
        return None
    pen.sizes.update(choices.drawn(begun.job))
    return pen.finished(asked, dice.below(4), mirrored=dice.chance(50))


def _read(drawn: RowPair, row: Row, supplies: tuple[str, str]) -> DrawnRow:
    """Return a row with the places that its labels tell."""
    labels = drawn.layout.labels
    heights = {label.text: label.y for label in labels}
    low, high = (heights[supply] for supply in supplies)
    below = [(label.text, label.x) for label in labels if label.text in row.below and label.y < low]
    above = [(label.text, label.x) for label in labels if label.text in row.above and label.y > high]
    return DrawnRow(drawn.layout, drawn.frame, drawn.layout.box or drawn.frame, (low, high), below, above)


def _part(asked: Request, row: Row) -> Job:
    """Return the job of one row."""
    netlist = Netlist(asked.netlist.name, (*asked.process.supplies, *row.leaving), row.transistors)
    return job_of(netlist, asked.process)


def _stacked(pen: Pen, asked: Request, drawn: Sequence[DrawnRow], ports: Mapping[str, str], wide: int) -> bool:
    """Lay the rows above one another, with a channel between each two; tell whether every channel was found."""
    pitch = track_pitch(pen.t)
    width = max(row.frame.x1 - row.frame.x0 for row in drawn)
    gap = 2 * pen.pad + 2 * pen.metal_gap
    rails: tuple[list[int], list[int]] = ([], [])
    floor = 0
    named: set[str] = set()
    for row, above in zip(drawn, (*drawn[1:], None), strict=True):
        at = Transform(-row.frame.x0, floor - row.frame.y0)
        _copied(pen.placed(at), row, asked.process.supplies, named)
        rails[0].append(row.rails[0] + at.dy)
        rails[1].append(row.rails[1] + at.dy)
        top = row.frame.y1 + at.dy
        if above is None and not row.above:
            break
        here = [(net, x + at.dx) for net, x in row.above]
        there = [(net, x - above.frame.x0) for net, x in above.below] if above else []
        leaving = {net: ports[net] for net, _ in (*here, *there) if net in ports and net not in named}
        ends = {net: 0 if side == "left" else width for net, side in leaving.items()}
        channel = channel_of(here, there, ends, pitch)
        if channel is None:
            return False
        base = max(top, row.box.y1 + at.dy) + pitch
        floor = base + channel.count * pitch
        if above is not None:
            floor += above.frame.y0 - min(above.box.y0, above.frame.y0)
        heights = {net: base + track * pitch for net, track in channel.tracks.items()}
        _uprights(pen, heights, (here, there), (top, floor))
        for net, span in channel.spans.items():
            pen.level(pen.metal, span, heights[net], pen.wire)
        for net, side in leaving.items():
            border, out = (0, -1) if side == "left" else (width, 1)
            _lead_out(pen, net, heights[net], (border, out), wide + gap)
        named |= leaving.keys()
    low, high = (width + gap, wide), (-gap - wide, wide)
    draw_mains(pen, rails, (low, high), ([(0, sum(low))] * len(drawn), [(high[0], width)] * len(drawn)))
    return True


def _copied(pen: Pen, row: DrawnRow, supplies: Collection[str], named: set[str]) -> None:
    """Draw a row where the pen is, its supplies named in the first one; signals are named where they leave."""
    pen.lay(row.layout.shapes, {})
    for label in row.layout.labels:
        if label.text in supplies and label.text not in named:
            pen.label(label.text, label.layer, label.x, label.y)
            named.add(label.text)


def _uprights(
    pen: Pen, heights: Mapping[str, int], sides: tuple[Ends, Ends], borders: tuple[GridUnits, GridUnits]
) -> None:
    """Run what comes in at either border of a channel below the metal to its track."""
    for border, side in zip(borders, sides, strict=True):
        for net, x in side:
            pen.upright_under(0, x, (border, heights[net]))
            pen.joint(x, heights[net])


def _lead_out(pen: Pen, net: str, y: GridUnits, border: tuple[GridUnits, int], across: GridUnits) -> None:
    """Lead a track on past a border, below the main rail that lies within `across` of it, and name it beyond."""
    x, out = border
    reach = pen.metal_gap + pen.pad
    near, far = x + out * reach, x + out * (across + reach)
    pen.level(pen.metal, (x, near), y, pen.wire)
    pen.joint(near, y)
    pen.level_under(0, (near, far), y)
    pen.joint(far, y)
    pen.label(net, pen.metal, far, y)
