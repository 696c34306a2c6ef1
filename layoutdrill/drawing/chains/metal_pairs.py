"""
Draw rows of complementary logic in metal gate: a level bar in series, and two bars that windows join (NAND decoders).

Between the bar of the output and that of the high rail a window under a line makes a transistor, so that those stand
side by side; two rows share the bar of the rail, and two the space, or the well, of their series.
"""

from dataclasses import dataclass

from layoutdrill.drawing.array import ArrayDrawing
from layoutdrill.drawing.chains.metal_rows import (
    Bar,
    Lines,
    bar,
    body,
    contact,
    doped,
    gate_width,
    half_of,
    lines,
    pad,
    plate,
    plate_past,
    silicon,
)
from layoutdrill.drawing.chains.path import Grating, grating
from layoutdrill.drawing.chains.plan import Chain, Plan
from layoutdrill.drawing.chains.rings import rings
from layoutdrill.drawing.chains.sheet import Manner, Sheet, Span
from layoutdrill.drawing.dice import Dice
from layoutdrill.drawing.pairing import Size
from layoutdrill.drawing.technique import METAL, OTHER, Technique
from layoutdrill.netlist.model import Netlist

SERIES, OUTPUT, RAIL = "series", "output", "rail"


@dataclass(frozen=True, slots=True)
class Sizes:
    """Length of all channels; half the heights of a series bar and of the others; width of a p channel along the row."""

    length: int
    n_half: int
    p_half: int
    p_width: int


@dataclass(frozen=True, slots=True)
class Columns:
    """The middles, in x, of the contacts to the low and the high rail, and of those to the outputs."""

    rails: tuple[int, int]
    output: int
    across: Grating


def draw(netlist: Netlist, plan: Plan, t: Technique, supplies: tuple[str, str], sizes: dict[str, Size], manner: Manner,
         dice: Dice) -> ArrayDrawing:  # fmt: skip
    """Return the array: both rails upright at the left, rows level, outputs in metal at the right."""
    sheet, d, wire = Sheet(), doped(t), t.wires[METAL]
    nets = tuple(net for pair in plan.pairs for net in dice.shuffled(pair))
    one = _sizes(t, plan, sizes, dice)
    over = one.p_width + 2 * (d.metal_past + (d.window_past if d.island else 0))
    gate = gate_width(t, one.length)
    widest = max(gate, over)
    drawn = Lines(dice.pick((wire.width, widest, max(wire.width, min(gate, over)))), gate)
    across = grating(nets, widest + wire.spacing + manner.loose)
    inner = across.at[0] - widest // 2 - wire.spacing - pad(t)
    outer = inner - 2 * pad(t) - manner.stout - wire.spacing
    right = across.at[-1] + widest // 2 + wire.spacing + pad(t)
    low_inside = dice.below(2)
    columns = Columns((inner, outer) if low_inside else (outer, inner), right, across)
    heights = _stacked(t, one, len(plan.chains), dice.below(2), manner)
    out = right + pad(t) + wire.spacing + (t.rings.width + 2 * t.rings.gap if t.rings else 0)
    for chain in plan.chains:
        row = chain.row - plan.chains[0].row
        _row(sheet, t, one, columns, {kind: heights[kind, row] for kind in (SERIES, OUTPUT, RAIL)}, chain, drawn, over)
        y = heights[OUTPUT, row]
        sheet.box("metal", (right, out), (y - wire.width // 2, y + wire.width // 2))
        sheet.label(chain.output, "metal", out, y)
    for y in {y for (kind, _), y in heights.items() if kind == RAIL}:
        silicon(
            sheet,
            t,
            d.doping[1],
            [(columns.rails[1] - body(t), across.at[-1] + one.p_width // 2 + max(d.inset, d.window_past))],
            (y - one.p_half, y + one.p_half),
        )
        contact(sheet, t, d.doping[1], columns.rails[1], y, silicon_too=False)
    low, high = min(heights.values()) - one.n_half, max(heights.values()) + one.n_half
    if t.rings is not None:
        groups = _groups(heights, one)
        low, high = rings(sheet, t, t.rings, groups, columns.rails, right + body(t))
    for supply, x in enumerate(columns.rails):
        span = (x - pad(t) - (manner.stout if x == outer else 0), x + pad(t))
        sheet.box("metal", span, (low, high))
        sheet.label(supplies[supply], "metal", x, dice.pick((low, high)))
    past = d.metal_past + 2 * dice.between(1, 6)
    lines(sheet, t, across, drawn, (low - past, high + past))
    return sheet.finished(netlist.name, manner)


def _sizes(t: Technique, plan: Plan, sizes: dict[str, Size], dice: Dice) -> Sizes:
    n, p = sizes[plan.chains[0].series[0].name], sizes[plan.chains[0].beside[0].name]
    least = t.wires[OTHER].width if doped(t).island else t.least_width
    n_width = n.width or 2 * dice.between(4, 8)
    p_width = p.width or 2 * dice.between(least // 2, least // 2 + 3)
    d = doped(t)
    between = t.wires[METAL].spacing // 2 + d.window_past + d.metal_past - d.past
    return Sizes(t.channel, max(half_of(t, n_width), body(t)), max(body(t), between), p_width)


def _gap(t: Technique, length: int) -> int:
    """Return the distance of two bars that a channel joins."""
    return length + 2 * doped(t).past


def _stacked(t: Technique, one: Sizes, rows: int, first: int, manner: Manner) -> dict[tuple[str, int], int]:
    """Return the middle of each bar, by what it is and its row, from the bottom up; rows stand back to back."""
    found: dict[tuple[str, int], int] = {}
    y = 0
    out = plate_past(t)
    beside = max(t.diffusion_spacing, t.wires[METAL].spacing + 2 * out)
    between = beside + manner.apart
    if t.rings is not None:
        between += 2 * (t.rings.gap + t.rings.width) + t.rings.well_past + t.rings.apart - beside
    for row in range(rows):
        kinds = (SERIES, OUTPUT, RAIL) if (row + first) % 2 == 0 else (RAIL, OUTPUT, SERIES)
        for number, kind in enumerate(kinds):
            half = one.n_half if kind == SERIES else one.p_half
            if number == 0 and row:
                if kind == RAIL:
                    found[kind, row] = found[RAIL, row - 1]
                    continue
                y += beside
            elif number:
                y += between if SERIES in kinds[number - 1 : number + 1] else _gap(t, one.length)
            found[kind, row] = y + half
            y += 2 * half
    return found


def _row(sheet: Sheet, t: Technique, one: Sizes, columns: Columns, heights: dict[str, int], chain: Chain, drawn: Lines,
         over: int) -> None:  # fmt: skip
    d, across = doped(t), columns.across
    acting = sorted(across.at[across.nets.index(link.gate)] for link in chain.series)
    y = heights[SERIES]
    left, right = columns.rails[0] - body(t), columns.output + body(t)
    bar(sheet, t, Bar(d.doping[0], y, one.n_half, one.length), (left, right), acting)
    for x in acting:
        plate(sheet, t, drawn, x, (y - one.n_half, y + one.n_half))
    contact(sheet, t, d.doping[0], columns.rails[0], y, silicon_too=False)
    contact(sheet, t, d.doping[0], columns.output, y, silicon_too=False)
    y, rail = heights[OUTPUT], heights[RAIL]
    silicon(
        sheet,
        t,
        d.doping[1],
        [(across.at[0] - one.p_width // 2 - max(d.inset, d.window_past), right)],
        (y - one.p_half, y + one.p_half),
    )
    contact(sheet, t, d.doping[1], columns.output, y, silicon_too=False)
    ends = (heights[SERIES], y) if heights[SERIES] < y else (y, heights[SERIES])
    sheet.box("metal", (columns.output - pad(t), columns.output + pad(t)), ends)
    middle = (y + rail) // 2
    for x in acting:
        _bridge(sheet, t, one, x, middle, over)
    for link in chain.series:
        sheet.sizes[link.name] = 1, one.length, 2 * (one.n_half - d.inset)
    for link in chain.beside:
        sheet.sizes[link.name] = 1, one.length, one.p_width


def _bridge(sheet: Sheet, t: Technique, one: Sizes, x: int, y: int, over: int) -> None:
    """Draw an upright channel between two bars: its window, on an island its silicon, and the metal over it."""
    d = doped(t)
    half, reach = one.p_width // 2, one.length // 2
    if d.island:
        sheet.box(t.diffusion[1], (x - half, x + half), (y - reach - d.past, y + reach + d.past))
    wide = half + (d.window_past if d.island else 0)
    sheet.box(d.window, (x - wide, x + wide), (y - reach - d.window_past, y + reach + d.window_past))
    out = reach + d.window_past + d.metal_past
    sheet.box("metal", (x - over // 2, x + over // 2), (y - out, y + out))


def _groups(heights: dict[tuple[str, int], int], one: Sizes) -> list[tuple[int, Span]]:
    """Return what a ring goes round, from the bottom up: 0 for series or 1 for bars that stand side by side, and from where to where."""
    found: list[tuple[int, Span]] = []
    for (kind, _), y in sorted(heights.items(), key=lambda item: item[1]):
        group = 0 if kind == SERIES else 1
        half = one.n_half if group == 0 else one.p_half
        if found and found[-1][0] == group:
            found[-1] = group, (found[-1][1][0], y + half)
        else:
            found.append((group, (y - half, y + half)))
    return found
