"""Draw each part of a chip once: arrays by their tiles, gates as pairs of rows."""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import replace

from layoutdrill.cells.chips import Slot
from layoutdrill.dice import Dice
from layoutdrill.drawing.arrays import draw_array
from layoutdrill.drawing.blocks.draw import DrawnRow, drawn_row
from layoutdrill.drawing.blocks.partition import leaving_of, rows_of
from layoutdrill.drawing.chips.access import with_outlets
from layoutdrill.drawing.chips.body import Body, RailEnd, mirrored
from layoutdrill.drawing.shared import Drawn, Pen, Request
from layoutdrill.geometry.rect import Rect
from layoutdrill.netlist.model import Netlist
from layoutdrill.value import value

_ROW = (24, 34)
"""Fingers in a row of gates, from and to."""
_TRIES = 4
CORE, BORDER = ("left", "right"), ("right", "left")
"""To which sides the low and the high rail lead: in the core, and at a pad on the right edge."""


@value
class ChipJob:
    """What every part of a chip is drawn with; `pen` draws on the whole one."""

    asked: Request
    pen: Pen
    dice: Dice


@value
class Row:
    """Gates of one row: their netlist, the chip's names of its transistors, and the nets that leave."""

    netlist: Netlist
    names: Mapping[str, str]
    leaving: tuple[str, ...]


def array_body(slot: Slot, job: ChipJob) -> Body | None:
    """Return an array with its wires led out, the right way round for its rails; None where no try found room."""
    part, process = slot.part, job.asked.process
    netlist, tiling = part.cell.netlist(process), part.cell.tiling(process)
    assert tiling is not None
    for extra in range(_TRIES):
        seed, attempt = job.dice.below(1 << 30), job.asked.attempt + extra // 2
        own = replace(job.asked, netlist=netlist, seed=seed, attempt=attempt, upright=True)
        drawn = draw_array(own, tiling)
        if drawn is None:
            continue
        names = dict(zip((t.name for t in netlist.transistors), slot.names, strict=True))
        sizes = {names[name]: size for name, size in drawn.sizes.items()}
        for layout in (drawn.layout, mirrored(drawn.layout)):
            body = with_outlets(layout, job.pen, part.joined, process.supplies, sizes)
            if body is not None:
                return body
    return None


def gate_rows(slot: Slot, outside: Collection[str], job: ChipJob) -> list[Row]:
    """Divide gates into rows; what other rows, or parts `outside`, use leaves a row."""
    supplies = job.asked.process.supplies
    groups = rows_of(slot.netlist, supplies, job.dice.between(*_ROW), job.dice)
    names = dict(zip((t.name for t in slot.netlist.transistors), slot.names, strict=True))
    rows = []
    for number, (group, leaving) in enumerate(zip(groups, leaving_of(groups, outside, supplies), strict=True)):
        used = {net for t in group for net in t.terminals}
        ports = (*(rail for rail in supplies if rail in used), *leaving)
        rows.append(Row(Netlist(f"{slot.part.name}{number}", ports, group), names, leaving))
    return rows


def row_body(row: Row, sides: Mapping[str, str], job: ChipJob, rails: Sequence[str] = CORE) -> Body | None:
    """Draw a row of gates whose nets leave on the sides given; `rails` names the sides of the low and the high one."""
    drawn = drawn_row(replace(job.asked, netlist=row.netlist, seed=job.dice.below(1 << 30)), sides)
    return None if drawn is None else _of_row(drawn, row.names, rails)


def _of_row(row: DrawnRow, names: Mapping[str, str], towards: Sequence[str]) -> Body:
    layout, box = row.layout, row.layout.box
    assert box is not None
    sizes: Drawn = {names[name]: size for name, size in row.drawn.sizes.items()}
    frame = row.drawn.frame
    shapes = {mask: list(rects) for mask, rects in layout.shapes.items()}
    right = frame.x1 - frame.x0
    metal = row.drawn.grid.technique.metal
    half = min(y - r.y0 for y in row.rails for r in shapes[metal] if r.y0 < y < r.y1 and r.width > right // 2)
    # wells may reach past the ends of wires: what leaves runs on to the box
    for e in row.exits:
        x = (box.x0, 0) if e.side == "left" else (right, box.x1)
        if x[0] < x[1]:
            shapes[metal].append(Rect(x[0], e.place - half, x[1], e.place + half))
    rails = tuple(RailEnd(supply, towards[supply], row.rails[supply], half) for supply in (0, 1))
    for end in rails:
        x = (box.x0, half) if end.side == "left" else (right - half, box.x1)
        shapes[metal].append(Rect(x[0], end.place - half, x[1], end.place + half))
    return Body(shapes, box, row.exits, rails, sizes)


def pad_row(slot: Slot) -> Row:
    """Return what stands at a pad as one row."""
    names = dict(zip((t.name for t in slot.netlist.transistors), slot.names, strict=True))
    assert slot.pad is not None
    return Row(slot.netlist, names, (slot.pad.name, slot.pad.net))


def copied(body: Body, old: Sequence[str], new: Sequence[str], nets: Mapping[str, str]) -> Body:
    """Return a part once more for other transistors and nets."""
    names = dict(zip(old, new, strict=True))
    sizes = {names[name]: size for name, size in body.sizes.items()}
    return replace(body, sizes=sizes, exits=tuple(replace(e, net=nets[e.net]) for e in body.exits))
