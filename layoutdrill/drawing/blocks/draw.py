"""Draw a netlist that no single pair of rows can hold: rows above one another, and a channel that joins them."""

from collections.abc import Mapping, Sequence
from dataclasses import replace

from layoutdrill.dice import Dice
from layoutdrill.drawing.blocks.channel import Channel, Exit, draw_channel, name_ports, track_pitch, tracks_of
from layoutdrill.drawing.blocks.partition import Group, leaving_of, rows_of
from layoutdrill.drawing.row_pairs.draw import RowPair, as_part, begin, finish
from layoutdrill.drawing.shared import Drawing, Pen, Request, Span, all_or_none, reach_by_net, refuse
from layoutdrill.drawing.shared.technique import METAL, OTHER, Technique
from layoutdrill.geometry.rect import Rect
from layoutdrill.geometry.transform import Transform
from layoutdrill.layout.model import Layout
from layoutdrill.netlist.model import Netlist
from layoutdrill.value import value

_TRIES = 4

MOST = 4000
"""Fingers that a block may hold. Memory sets it: a proof keeps each mask as one bit a grid square."""
_ROW = (18, 28)
"""Fingers in a row, from and to."""
_MAIN = (3, 8)
"""How many signal widths the main rails at a block's edge are wide, from and to (common practice: 3 to 10)."""


@value
class DrawnRow:
    """
    A drawn row with its left border at x = 0; the middles of its two rails, and where its wires end on either side.

    `box` is the border of all that is drawn, wells included.
    """

    layout: Layout
    drawn: RowPair
    rails: tuple[int, int]
    exits: tuple[Exit, ...]
    box: Rect


def drawn_row(asked: Request, sides: Mapping[str, str]) -> DrawnRow | None:
    """Draw a row whose nets leave on the `sides` given, "left" or "right"; None where no try found room."""
    for extra in range(_TRIES):
        drawn = finish(as_part(begin(replace(asked, attempt=extra)), sides, len(sides)))
        if drawn is not None:
            return placed_row(drawn, sides, asked.process.supplies)
    return None


def placed_row(drawn: RowPair, sides: Mapping[str, str], supplies: tuple[str, str]) -> DrawnRow:
    """Return a drawn row moved to its place, its wires ending on the `sides` given."""
    layout = drawn.layout.transformed(Transform(-drawn.frame.x0, -drawn.frame.y0))
    places = {label.text: label for label in layout.labels}
    low, high = (places[rail].y if rail in places else 0 for rail in supplies)
    exits = tuple(Exit(net, side, places[net].y) for net, side in sides.items())
    assert layout.box is not None
    return DrawnRow(layout, drawn, (low, high), exits, layout.box)


def block_drawing(asked: Request) -> Drawing | None:
    """
    Return the drawing of a block, or None when one of its rows found no room; the same for the same request.

    Raises LayoutdrillError for what cannot be drawn in the process, with the reason.
    """
    netlist, process = asked.netlist, asked.process
    refuse(netlist, process, MOST, "one block")
    dice = asked.dice("block")
    groups = rows_of(netlist, process.supplies, dice.between(*_ROW), dice)
    used = {net for t in netlist.transistors for net in t.terminals}
    supplies = tuple(rail for rail in process.supplies if rail in used)

    def row_of(group: Group, leaving: tuple[str, ...]) -> DrawnRow | None:
        part = Netlist(netlist.name, (*supplies, *leaving), group)
        return drawn_row(replace(asked, netlist=part, seed=dice.below(1 << 30)), dict.fromkeys(leaving, "right"))

    leaving = leaving_of(groups, netlist.ports, process.supplies)
    rows = all_or_none(map(row_of, groups, leaving))
    return None if rows is None else joined_rows(asked, rows, dice)


def joined_rows(asked: Request, rows: Sequence[DrawnRow], dice: Dice) -> Drawing:
    """Stack the rows, run every shared net to its track, and join the rails by a strap on either side."""
    netlist, t = asked.netlist, asked.technique
    lines = {e.net for row in rows for e in row.exits}
    pen = Pen(t)
    ends: list[tuple[str, int, int]] = []
    rails: tuple[list[int], list[int]] = ([], [])
    top = 0
    for row in rows:
        at = Transform(0, top - row.box.y0)
        placed = pen.placed(at)
        placed.lay(row.layout.shapes, row.drawn.sizes)
        for label in row.layout.labels:
            if label.text in netlist.ports and label.text not in lines:
                placed.label(label.text, label.layer, label.x, label.y)
        ends += [(e.net, row.drawn.frame.width, e.place + at.dy) for e in row.exits]
        for own, rail in zip(rails, row.rails, strict=True):
            own.append(rail + at.dy)
        top += row.box.height + _between(t)
    top -= _between(t)
    leaving = [port for port in netlist.ports if port in lines]
    reaches = reach_by_net((net, y) for net, _, y in ends)
    stretches = {net: (low, top if net in leaving else high) for net, (low, high) in reaches.items()}
    first = max(row.box.x1 for row in rows) + _between(t) + t.wires[OTHER].pad
    pitch = track_pitch(t)
    either = dice.below(2)
    doping = either if t.rings is None else 1  # in a wafer of n silicon only p+ is a wire of its own
    channel = Channel(tracks_of(stretches, pitch), stretches, first, pitch, doping)
    draw_channel(pen, channel, ends)
    name_ports(pen, channel, leaving, top)
    wide = t.wires[METAL].width * dice.between(*_MAIN)
    low, high = (channel.right + pen.metal_gap, wide), (-pen.metal_gap - wide, wide)
    runs = [(row.drawn.frame.width - pen.rail, sum(low)) for row in rows], [(high[0], pen.rail)] * len(rows)
    draw_mains(pen, rails, (low, high), runs)
    return pen.finished(asked, dice.below(4), mirrored=dice.chance(50))


def _between(t: Technique) -> int:
    """Return how far rows stay apart, wells and taps included, and how far the channel stays from them."""
    return 16 if t.implants is not None or t.rings is not None else t.wires[METAL].spacing + t.wires[OTHER].spacing


def draw_mains(pen: Pen, rails: Sequence[Sequence[int]], mains: Sequence[Span], runs: Sequence[Sequence[Span]]) -> None:
    """Join the low and the high rails by a main rail each, which begins at a place and is so wide, and run on to it."""
    for ys, (x, wide), own in zip(rails, mains, runs, strict=True):
        pen.box(pen.metal, (x, x + wide), (min(ys) - pen.rail, max(ys) + pen.rail))
        for y, run in zip(ys, own, strict=True):
            pen.level(pen.metal, run, y, pen.rail)
