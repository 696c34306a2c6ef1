"""Tie the silicon below a tree of switches to its supply, and put the inverters of its address lines beside that."""

from layoutdrill.drawing.chains.banks import Frame
from layoutdrill.drawing.chains.pair_row import heights_of, inverters, wells
from layoutdrill.drawing.chains.path import Grating
from layoutdrill.drawing.chains.poly_rows import body
from layoutdrill.drawing.chains.sheet import Sheet, Span
from layoutdrill.drawing.chains.supplies import taps_under
from layoutdrill.drawing.chains.task import Task
from layoutdrill.drawing.shared.technique import METAL


def tied(sheet: Sheet, task: Task, across: Grating, y: Span) -> tuple[Span, bool, dict[str, int]]:
    """
    Draw a rail with taps below the rows, which lie between `y`, above them, or both, then with a strap at the left.

    A row of inverters shares the rail below. Returns from where to where rails reach, whether there is a strap, and
    where the lines that the array makes begin.
    """
    t, dice, manner = task.t, task.dice, task.manner
    implants, metal = t.implants, t.wires[METAL]
    assert implants is not None
    rail = t.rail // 2 + manner.stout // 2
    distance = max(body(t) + implants.tap_gap, rail + metal.spacing)
    low, high = y[0] - distance, y[1] + distance
    places = dice.pick(((low,), (low, high))) if task.made else dice.pick(((low,), (high,), (low, high)))
    x = across.gaps[0] - body(t), across.gaps[-1] + body(t)
    rails = [(place, 0) for place in places]
    stops: dict[str, int] = {}
    if task.made:
        heights = heights_of(task, 0, 0)
        frame = Frame(low, -1)
        stops = inverters(sheet, task, across, frame, heights)
        wells(sheet, t, frame, heights, x)
        rails.append((frame.y(heights.high), 1))
        sheet.label(task.supplies[1], "metal", dice.pick(x), frame.y(heights.high))
    for place, _ in rails:
        sheet.box("metal", x, (place - rail, place + rail))
    taps_under(sheet, t, rails, across, dice)
    sheet.label(task.supplies[0], "metal", dice.pick(x), dice.pick(places))
    past = implants.past
    sheet.box(implants.doping[0], (x[0] - past, x[1] + past), (y[0] - past, y[1] + past))
    if len(places) == 2:
        right = x[0] - t.other_gap - metal.pad - metal.spacing
        left = right - metal.pad - manner.stout
        sheet.box("metal", (left, right), (places[0] - rail, places[1] + rail))
        for place in places:
            sheet.box("metal", (left, x[0]), (place - rail, place + rail))
    ends = [place for place, _ in rails]
    return (min(y[0], min(ends) - rail), max(y[1], max(ends) + rail)), len(places) == 2, stops
