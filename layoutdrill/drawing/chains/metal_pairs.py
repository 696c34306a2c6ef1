"""
Draw rows of complementary logic in metal gate: a level bar in series, and two bars that windows join (NAND decoders).

Between the bar of the output and that of the high rail a window under a line makes a transistor, so that those stand
side by side; two rows share the bar of the rail, and two the space, or the well, of their series.
"""

from dataclasses import dataclass

from layoutdrill.drawing.array import ArrayDrawing
from layoutdrill.drawing.chains import metal_inverters
from layoutdrill.drawing.chains.metal_rows import (
    Bar,
    Lines,
    bar,
    bar_end,
    body,
    contact,
    doped,
    gate_width,
    half_between,
    half_of,
    lines,
    over_width,
    pad,
    plate,
    silicon,
    standing,
)
from layoutdrill.drawing.chains.path import Grating, grating
from layoutdrill.drawing.chains.plan import Chain
from layoutdrill.drawing.chains.rings import rings
from layoutdrill.drawing.chains.sheet import Sheet
from layoutdrill.drawing.chains.stack import DRAIN, OUTPUT, OWN, RAIL, SERIES, SINK, Halves, Stack, stacked
from layoutdrill.drawing.chains.task import Task
from layoutdrill.drawing.shared.technique import METAL, OTHER, Technique


@dataclass(frozen=True, slots=True)
class Columns:
    """The middles, in x, of the contacts to the low and the high rail, and of those to the outputs."""

    rails: tuple[int, int]
    output: int
    across: Grating


def draw(task: Task) -> ArrayDrawing:
    """Return the array: both rails upright at the left, rows level, outputs in metal at the right."""
    t, manner, dice, chains = task.t, task.manner, task.dice, task.plan.chains
    sheet, d, wire = Sheet(), doped(t), t.wires[METAL]
    least = t.wires[OTHER].width if d.island else t.least_width
    halves = Halves(max(half_of(t, task.link.width or 2 * dice.between(4, 8)), body(t)), half_between(t))
    width = task.sizes[chains[0].beside[0].name].width or 2 * dice.between(least // 2, least // 2 + 2)
    gate, over = gate_width(t, t.channel), over_width(t, width)
    widest = max(gate, over)
    slim = dice.weighted(((wire.width, 50), (max(wire.width, min(gate, over)), 30), (widest, 20)))
    drawn = Lines(slim, gate)
    pitch = widest + wire.spacing + manner.loose
    across = grating(task.nets, pitch, task.spread(metal_inverters.room(task, pitch, width)))
    inner = across.at[0] - widest // 2 - wire.spacing - pad(t)
    outer = inner - 2 * pad(t) - manner.stout - wire.spacing
    right = across.at[-1] + widest // 2 + wire.spacing + pad(t)
    columns = Columns(dice.pick(((inner, outer), (outer, inner))), right, across)
    stack = stacked(t, halves, len(chains), dice.below(2), manner, own=bool(task.made))
    out = right + pad(t) + wire.spacing + (t.rings.width + 2 * t.rings.gap if t.rings else 0)
    for number, chain in enumerate(chains):
        at = {kind: stack.at[kind, number] for kind in (SERIES, OUTPUT, RAIL)}
        _row(sheet, t, halves, columns, at, chain, drawn, width)
        sheet.box("metal", (right, out), (at[OUTPUT] - wire.width // 2, at[OUTPUT] + wire.width // 2))
        sheet.label(chain.output, "metal", out, at[OUTPUT])
    for y in {y for (kind, _), y in stack.at.items() if kind == RAIL}:
        span = columns.rails[1] - body(t), across.at[-1] + bar_end(t, width)
        silicon(sheet, t, d.doping[1], [span], (y - halves.other, y + halves.other))
        contact(sheet, t, d.doping[1], columns.rails[1], y, silicon_too=False)
    stops = _inverters(sheet, task, columns, stack, halves, width) if task.made else {}
    low, high = stack.ends
    if t.rings is not None:
        low, high = rings(sheet, t, t.rings, stack.groups(), columns.rails, right + body(t))
    for supply, x in enumerate(columns.rails):
        sheet.box("metal", (x - pad(t) - (manner.stout if x == outer else 0), x + pad(t)), (low, high))
        sheet.label(task.supplies[supply], "metal", x, dice.pick((low, high)))
    past = d.metal_past + 2 * dice.between(1, 6)
    lines(sheet, across, drawn, (low - past, high + past), stops, task.made)
    return sheet.finished(task.netlist.name, manner)


def _row(sheet: Sheet, t: Technique, halves: Halves, columns: Columns, at: dict[str, int], chain: Chain, drawn: Lines,
         width: int) -> None:  # fmt: skip
    d, across = doped(t), columns.across
    acting = sorted(across.at[across.nets.index(link.gate)] for link in chain.series)
    series, output = at[SERIES], at[OUTPUT]
    left, right = columns.rails[0] - body(t), columns.output + body(t)
    bar(sheet, t, Bar(d.doping[0], series, halves.series, t.channel), (left, right), acting)
    for x in acting:
        plate(sheet, t, drawn, x, (series - halves.series, series + halves.series))
        standing(sheet, t, x, (output + at[RAIL]) // 2, t.channel, width)
    contact(sheet, t, d.doping[0], columns.rails[0], series, silicon_too=False)
    contact(sheet, t, d.doping[0], columns.output, series, silicon_too=False)
    x_of = across.at[0] - bar_end(t, width), right
    silicon(sheet, t, d.doping[1], [x_of], (output - halves.other, output + halves.other))
    contact(sheet, t, d.doping[1], columns.output, output, silicon_too=False)
    ends = min(series, output), max(series, output)
    sheet.box("metal", (columns.output - pad(t), columns.output + pad(t)), ends)
    for link in chain.series:
        sheet.sizes[link.name] = 1, t.channel, 2 * (halves.series - d.inset)
    for link in chain.beside:
        sheet.sizes[link.name] = 1, t.channel, width


def _inverters(sheet: Sheet, task: Task, columns: Columns, stack: Stack, halves: Halves, width: int) -> dict[str, int]:
    """Draw the inverters between the lowest bars; return where the lines begin."""
    d, across = doped(task.t), columns.across
    stage = metal_inverters.Stage(task.t.channel, width, halves.other)
    sink, drain, output, rail = (stack.at[kind, OWN] for kind in (SINK, DRAIN, OUTPUT, RAIL))
    metal_inverters.source(sheet, task, across, stage, d.doping[0], sink, columns.rails[0])
    for which, (y, other) in enumerate(((drain, sink), (output, rail))):
        metal_inverters.drains(sheet, task, across, stage, d.doping[which], y)
        metal_inverters.drivers(sheet, task, across, stage, (y + other) // 2, which)
    low = min((drain + sink) // 2, (output + rail) // 2)
    return metal_inverters.stops_of(task, stage, low, min(drain, output))
