"""Lay out a row of complementary logic in silicon gate between its rails: heights, wells, inverters of lines."""

from dataclasses import dataclass

from layoutdrill.drawing.chains.banks import Frame
from layoutdrill.drawing.chains.path import Grating
from layoutdrill.drawing.chains.poly_rows import body, contact, joint
from layoutdrill.drawing.chains.sheet import Sheet, Span
from layoutdrill.drawing.chains.task import Task
from layoutdrill.drawing.shared.technique import METAL, Technique


@dataclass(frozen=True, slots=True)
class Heights:
    """
    A row's heights over its low rail: the strips of n and p from and to, the middle of the wire of its output, and its
    high rail.
    """

    n: Span
    p: Span
    wire: int
    high: int


def heights_of(task: Task, n: int, p: int) -> Heights:
    """Return the heights of a row with transistors of the widths given, or of the dice's choice where they are 0."""
    t, dice = task.t, task.dice
    assert t.implants is not None
    n = n or 2 * dice.between(6, 11)
    p = p or 2 * dice.between(6, 10)
    metal = t.wires[METAL]
    clear = max(body(t) + t.implants.tap_gap, t.rail // 2 + task.manner.stout // 2 + metal.spacing)
    top = clear + n
    low = top + max(2 * t.implants.well_past, metal.width + 2 * metal.spacing) + task.manner.apart
    wire = (top + low) // 2
    return Heights((clear, top), (low, low + p), wire - wire % 2, low + p + clear)


def wells(sheet: Sheet, t: Technique, frame: Frame, heights: Heights, x: Span) -> None:
    """Draw the well and the implants of a row from side to side."""
    implants = t.implants
    assert implants is not None
    for strip, mask in zip((heights.n, heights.p), implants.doping, strict=True):
        y = frame.span(strip[0] - implants.past, strip[1] + implants.past)
        sheet.box(mask, (x[0] - implants.past, x[1] + implants.past), y)
    y = frame.span(heights.p[0] - implants.well_past, heights.high + body(t) + implants.well_tap)
    sheet.box(implants.well, (x[0] - implants.well_past, x[1] + implants.well_past), y)


def inverters(sheet: Sheet, task: Task, across: Grating, frame: Frame, heights: Heights) -> dict[str, int]:
    """
    Draw the inverters of the address lines in a row of their own, below the array; return where each made line begins.

    A line runs down across both transistors, the other begins in a contact to the wire that joins their drains.
    """
    t, stub = task.t, task.t.wires[METAL].pad // 2
    stops = {}
    for made in task.complements:
        own, other = across.nets.index(made.line), across.nets.index(made.complement)
        far, out = (own, own + 1) if other > own else (own + 1, own)
        for strip, rail, name in zip((heights.n, heights.p), (0, heights.high), made.transistors, strict=True):
            middle = (strip[0] + strip[1]) // 2
            x = across.gaps[own] - body(t), across.gaps[own + 1] + body(t)
            sheet.box("active", x, frame.span(*strip))
            for gap, end in ((far, rail), (out, heights.wire)):
                at = across.gaps[gap]
                contact(sheet, t, "active", at, frame.y(middle))
                sheet.box("metal", (at - stub, at + stub), frame.span(min(middle, end), max(middle, end)))
            sheet.sizes[name] = 1, t.channel, strip[1] - strip[0]
        y, end = frame.y(heights.wire), across.at[other]
        joint(sheet, t, end, y)
        sheet.box("metal", (min(end, across.gaps[out]), max(end, across.gaps[out])), (y - stub, y + stub))
        stops[made.complement] = y
    return stops
