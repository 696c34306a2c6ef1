"""Bring supplies to a tree of switches: to its silicon, and to the inverters of its address lines."""

from dataclasses import replace

from layoutdrill.drawing.series.gate_lines import GateLines
from layoutdrill.drawing.series.rows import hang_inverters
from layoutdrill.drawing.series.supplies import tap_gaps
from layoutdrill.drawing.series.task import Task
from layoutdrill.drawing.shared.canvas import Span
from layoutdrill.drawing.shared.metal import MetalPen
from layoutdrill.drawing.shared.pens import GatePen
from layoutdrill.drawing.shared.poly import PolyPen
from layoutdrill.geometry.rect import Rect
from layoutdrill.value import value


@value
class Supplied:
    """From where to where the drawing reaches, where lines begin that do not run through, and if a strap is left."""

    y: Span
    stops: dict[str, int]
    strapped: bool = False


def supplied(pen: GatePen, task: Task, across: GateLines, rows: Span, widths: tuple[int, int]) -> Supplied:
    """Draw what a tree needs whose silicon lies between the heights `rows`; `widths` are those of its inverters."""
    if isinstance(pen, MetalPen):
        return _under_metal(pen, task, across, rows, widths)
    if pen.t.implants is not None:
        return _tied(pen, task, across, rows, widths)
    rows = min(rows[0], -pen.pad), max(rows[1], pen.pad)
    if not task.made:
        return Supplied(rows, {})
    base = rows[0] - pen.metal_gap - pen.rail
    row, stops = hang_inverters(pen, task, across, task.inverter_row(base, widths))
    for net, y in zip(task.supplies, (base, row.rail), strict=True):
        pen.level(pen.metal, (-pen.pad, across.gaps[-1] + pen.pad), y, pen.rail)
        pen.label(net, pen.metal, -pen.pad, y)
    return Supplied((row.rail - pen.rail, rows[1]), stops)


def _tied(pen: PolyPen, task: Task, across: GateLines, y: Span, widths: tuple[int, int]) -> Supplied:
    """
    Draw a rail with taps below the rows, above them, or both, then with a strap at the left.

    A row of inverters hangs from the rail below.
    """
    dice = task.dice
    distance = max(pen.body + pen.implants.tap_gap, pen.rail + pen.metal_gap)
    low, high = y[0] - distance, y[1] + distance
    places = dice.pick(((low,), (low, high))) if task.made else dice.pick(((low,), (high,), (low, high)))
    x = across.gaps[0] - pen.body, across.gaps[-1] + pen.body
    gaps = tap_gaps(task, across)
    rails, stops = list(places), dict[str, int]()
    if task.made:
        row, stops = hang_inverters(pen, task, across, replace(task.inverter_row(low, widths), taps=tuple(gaps)))
        rails.append(row.rail)
        pen.label(task.supplies[1], pen.metal, dice.pick(x), row.rail)
    for place in rails:
        pen.level(pen.metal, x, place, pen.rail)
    for place in places:
        pen.taps(gaps, place, 0)
    pen.label(task.supplies[0], pen.metal, dice.pick(x), dice.pick(places))
    pen.bed(0, Rect(x[0], y[0], x[1], y[1]), [(gap, place) for gap in gaps for place in places])
    if len(places) == 2:
        right = x[0] - pen.t.other_gap - 2 * pen.pad - pen.metal_gap
        left = right - 2 * pen.pad - pen.rail_extra
        pen.box(pen.metal, (left, right), (low - pen.rail, high + pen.rail))
        for place in places:
            pen.level(pen.metal, (left, x[0]), place, pen.rail)
    ends = min(y[0], min(rails) - pen.rail), max(y[1], max(rails) + pen.rail)
    return Supplied(ends, stops, strapped=len(places) == 2)


def _under_metal(pen: MetalPen, task: Task, across: GateLines, rows: Span, widths: tuple[int, int]) -> Supplied:
    """Draw the ring round the rows, and the inverters below them within the same ring, or the p ones in their own."""
    x = across.gaps[0] - pen.body, across.gaps[-1] + pen.body
    low, high = task.supplies[::-1] if pen.one_kind else task.supplies
    left = x[0] - 2 * task.dice.between(2, 5)
    if not task.made:
        area = pen.ring(Rect(x[0], rows[0], x[1], rows[1]), 0)
        _on_ring(pen, task, area, low)
        return Supplied((area.y0, area.y1), {})
    base = rows[0] - max(pen.apart, pen.metal_gap) - pen.body
    row, stops = hang_inverters(pen, task, across, task.inverter_row(base, widths), across.gaps[0])
    area = pen.ring(Rect(x[0], row.near, x[1], rows[1]), 0)
    far = area if row.far is None else pen.ring(row.far, 1)
    if pen.t.rings is not None:
        left = _on_ring(pen, task, area, low)
        for y in (far.y0 + pen.t.rings.width // 2, far.y1 - pen.t.rings.width // 2):
            pen.contact(0, y)
        pen.upright(pen.metal, 0, (far.y0, far.y1), pen.pad)
    else:
        pen.label(low, pen.metal, left, base)
    pen.level(pen.metal, (left, across.gaps[0]), base, pen.pad)
    end = 0 if pen.t.rings is not None else left
    pen.level(pen.metal, (end, 0), row.rail, pen.pad)
    pen.label(high, pen.metal, end, row.rail)
    bottom = row.rail - pen.pad if row.far is None else far.y0
    return Supplied((bottom, area.y1), stops)


def _on_ring(pen: MetalPen, task: Task, outer: Rect, supply: str) -> int:
    """Lay the metal of a supply over the left leg of the ring round an array; return its middle."""
    rings = pen.t.rings
    at = outer.x0
    if rings is not None:
        at += rings.width // 2
        pen.upright(pen.metal, at, (outer.y0, outer.y1), pen.pad)
        low, high = outer.y0 + rings.width // 2, outer.y1 - rings.width // 2
        count = 2 + (outer.y1 - outer.y0) // 60
        for number in range(count + 1):
            pen.contact(at, low + (high - low) * number // count)
        pen.label(supply, pen.metal, at, task.dice.pick((outer.y0, outer.y1)))
    return at
