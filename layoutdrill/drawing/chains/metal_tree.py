"""Draw a tree of switches in metal gate: level bars below metal lines, forks upright in diffusion or in metal."""

from dataclasses import dataclass

from layoutdrill.drawing.array import ArrayDrawing
from layoutdrill.drawing.chains import metal_inverters
from layoutdrill.drawing.chains.forks import Fork, forks_of
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
    over_width,
    pad,
    plate,
    plate_past,
    silicon,
)
from layoutdrill.drawing.chains.metal_tree_supplies import supplied
from layoutdrill.drawing.chains.path import Grating, grating
from layoutdrill.drawing.chains.sheet import Sheet
from layoutdrill.drawing.chains.task import Task
from layoutdrill.drawing.shared.technique import METAL, OTHER, Technique


@dataclass(frozen=True, slots=True)
class Form:
    """`wired` columns fork in metal, with a contact to each row; the rest fork in diffusion."""

    wired: frozenset[int]
    pitch: int
    half: int
    mask: str


def draw(task: Task) -> ArrayDrawing:
    """Return the tree: its root upright at the left, outputs at the right, rows from the lowest up."""
    t, manner, dice, plan, nets = task.t, task.manner, task.dice, task.plan, task.nets
    sheet, d, wire = Sheet(), doped(t), t.wires[METAL]
    length, width = task.link.length or t.channel, task.link.width or 2 * dice.between(4, 7)
    gate = gate_width(t, length)
    drawn = Lines(dice.pick((wire.width, gate)), gate)
    mask = d.doping[0]
    half = max(half_of(t, width), body(t))
    share = dice.pick((0, 0, 50, 100))
    wired = frozenset({0} | {column for column in range(len(plan.pairs)) if dice.chance(share)})
    pitch = 2 * half + max(t.diffusion_spacing, wire.spacing + 2 * plate_past(t), 2 * pad(t) + wire.spacing - 2 * half)
    form = Form(wired, pitch + manner.apart, half, mask)
    widest = max(gate, over_width(t, 2 * body(t))) if task.made else gate
    lateral = widest + wire.spacing + manner.loose
    wider = _room(t, form, len(plan.pairs))
    for gap, more in metal_inverters.room(task, lateral, 2 * body(t)).items():
        wider[gap] = max(more, wider.get(gap, 0))
    across = grating(nets, lateral, task.spread(wider))
    right = across.at[-1] + widest // 2 + wire.spacing + pad(t)
    ends = right + body(t)
    plain = t.rings is None and dice.chance(50)
    out = right + pad(t) + 2 * dice.between(1, 4)
    if t.rings is not None:
        out = ends + 2 * t.rings.gap + t.rings.width
    for number, chain in enumerate(plan.chains):
        y = number * form.pitch
        acting = sorted(across.at[nets.index(link.gate)] for link in chain.series)
        first = min(link.column for link in chain.series) - plan.first_column
        reach = body(t) if first in form.wired else t.wires[OTHER].width // 2
        bar(sheet, t, Bar(mask, y, half, length), (across.gaps[2 * first] - reach, ends), acting)
        for x in acting:
            plate(sheet, t, drawn, x, (y - half, y + half))
        if plain:
            sheet.label(chain.output, t.diffusion[0], ends, y)
        else:
            contact(sheet, t, mask, right, y, silicon_too=False)
            sheet.box("metal", (right, out), (y - wire.width // 2, y + wire.width // 2))
            sheet.label(chain.output, "metal", out, y)
        for link in chain.series:
            sheet.sizes[link.name] = 1, length, 2 * (half - d.inset)
    forks = forks_of(plan)
    for fork in forks:
        _fork(sheet, t, form, across, fork)
    rows = -half, (len(plan.chains) - 1) * form.pitch + half
    found = supplied(sheet, task, across, rows, ends)
    past = d.metal_past + 2 * dice.between(1, 6)
    low, high = found.y[0] - past, found.y[1] + past
    x, edge = across.gaps[0], wire.width // 2
    first_row, last_row = (row * form.pitch for row in forks[0].rows)
    sheet.box("metal", (x - edge, x + edge), (first_row, high) if task.made else (low, last_row))
    sheet.label(forks[0].net, "metal", x, high if task.made else low)
    lines(sheet, across, drawn, (low, high), found.stops, task.made)
    return sheet.finished(task.netlist.name, manner)


def _room(t: Technique, form: Form, columns: int) -> dict[int, int]:
    """Return what the gaps before each column need more than others."""
    d, wire = doped(t), t.wires[METAL]
    plain = max(0, t.wires[OTHER].width + 2 * max(d.past, d.window_past) - 2 * d.metal_past)
    return {2 * c: (2 * pad(t) + wire.spacing if c in form.wired else plain) for c in range(columns)}


def _fork(sheet: Sheet, t: Technique, form: Form, across: Grating, fork: Fork) -> None:
    x, (low, high) = across.gaps[2 * fork.column], fork.rows
    if fork.column in form.wired:
        for row in fork.rows:
            contact(sheet, t, form.mask, x, row * form.pitch, silicon_too=False)
        sheet.box("metal", (x - pad(t), x + pad(t)), (low * form.pitch, high * form.pitch))
        return
    half = t.wires[OTHER].width // 2
    silicon(sheet, t, form.mask, [(x - half, x + half)], (low * form.pitch, high * form.pitch))
