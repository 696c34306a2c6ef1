"""Bring supplies to a tree of switches in metal gate: to the ring round it, and to the inverters of its lines."""

from dataclasses import dataclass, field

from layoutdrill.drawing.chains import metal_inverters
from layoutdrill.drawing.chains.metal_rows import bar_gap, body, doped, half_between, pad
from layoutdrill.drawing.chains.path import Grating
from layoutdrill.drawing.chains.rings import ring
from layoutdrill.drawing.chains.sheet import Sheet, Span
from layoutdrill.drawing.chains.task import Task
from layoutdrill.drawing.shared.technique import METAL, Loads


@dataclass(frozen=True, slots=True)
class Supplied:
    """From where to where the drawing reaches so far, and where the lines begin that do not run through."""

    y: Span
    stops: dict[str, int] = field(default_factory=dict)


def supplied(sheet: Sheet, task: Task, across: Grating, rows: Span, right: int) -> Supplied:
    """Draw what a tree needs whose bars lie between the heights `rows` and end at `right`."""
    if not task.made:
        if task.t.rings is None:
            return Supplied(rows)
        return Supplied(_ringed(sheet, task, rows, (across.gaps[0] - body(task.t), right))[0])
    if task.t.loads is Loads.PLATE:
        return _loaded(sheet, task, across, rows)
    return _paired(sheet, task, across, rows, right)


def _ringed(sheet: Sheet, task: Task, y: Span, x: Span) -> tuple[Span, Span]:
    """Draw the ring round all rows and the metal of the supply over its left leg; return their extents."""
    t = task.t
    assert t.rings is not None
    box = ring(sheet, t, t.rings, 0, y, x)
    at = box.x0 + t.rings.width // 2
    sheet.box("metal", (at - pad(t), at + pad(t)), (box.y0, box.y1))
    count = 2 + (box.y1 - box.y0) // 60
    low, high = box.y0 + t.rings.width // 2, box.y1 - t.rings.width // 2
    for number in range(count + 1):
        sheet.square("contact", at, low + (high - low) * number // count, t.contact // 2)
    sheet.label(task.supplies[0], "metal", at, task.dice.pick((box.y0, box.y1)))
    return (box.y0, box.y1), (box.x0, box.x1)


def _loaded(sheet: Sheet, task: Task, across: Grating, rows: Span) -> Supplied:
    half = pad(task.t)
    made = metal_inverters.loaded(sheet, task, across, rows[0], across.gaps[0])
    left = across.gaps[0] - half - 2 * task.dice.between(2, 5)
    sheet.box("metal", (left, across.gaps[0]), (made.sink - half, made.sink + half))
    sheet.label(task.supplies[1], "metal", left, made.sink)
    sheet.box("metal", (left, across.gaps[-1]), made.rail)
    sheet.label(task.supplies[0], "metal", left, (made.rail[0] + made.rail[1]) // 2)
    return Supplied((made.rail[0], rows[1]), made.stops)


def _paired(sheet: Sheet, task: Task, across: Grating, rows: Span, right: int) -> Supplied:
    """Draw complementary inverters below the rows: the n ones within the same ring, the p ones within their own."""
    t, d, half = task.t, doped(task.t), pad(task.t)
    stage = metal_inverters.Stage(t.channel, 2 * body(t), half_between(t))
    step = 2 * stage.half + bar_gap(t, stage.length)
    sink = rows[0] - max(t.diffusion_spacing, t.wires[METAL].spacing) - stage.half
    drain = sink - step
    apart = t.diffusion_spacing
    if t.rings is not None:
        apart = 2 * (t.rings.gap + t.rings.width) + t.rings.well_past + t.rings.apart
    output = drain - 2 * stage.half - apart
    rail = output - step
    x = across.gaps[0]
    for which, (supply, y, mask) in enumerate(((sink, drain, d.doping[0]), (rail, output, d.doping[1]))):
        metal_inverters.source(sheet, task, across, stage, mask, supply, x)
        metal_inverters.drains(sheet, task, across, stage, mask, y)
        metal_inverters.drivers(sheet, task, across, stage, (supply + y) // 2, which)
    left = x - half - 2 * task.dice.between(2, 5)
    low = rail - stage.half
    if t.rings is not None:
        span, ring_x = _ringed(sheet, task, (drain - stage.half, rows[1]), (x - body(t), right))
        rows, left = span, ring_x[0] + half
        box = ring(sheet, t, t.rings, 1, (low, output + stage.half), (x - body(t), right))
        legs = box.y0 + t.rings.width // 2, box.y1 - t.rings.width // 2
        sheet.box("metal", (x - half, x + half), (box.y0, box.y1))
        for y in legs:
            sheet.square("contact", x, y, t.contact // 2)
        low = box.y0
        sheet.label(task.supplies[1], "metal", x, low)
    else:
        sheet.box("metal", (left, x), (rail - half, rail + half))
        sheet.label(task.supplies[1], "metal", left, rail)
        sheet.label(task.supplies[0], "metal", left, sink)
    sheet.box("metal", (left, x), (sink - half, sink + half))
    stops = metal_inverters.stops_of(task, stage, (rail + output) // 2, output)
    return Supplied((low, rows[1]), stops)
