"""Draw rows in series from a rail to an enhancement load, in metal gate of one kind (NOR decoders in PMOS)."""

from layoutdrill.drawing.array import ArrayDrawing
from layoutdrill.drawing.chains import metal_inverters
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
)
from layoutdrill.drawing.chains.path import grating
from layoutdrill.drawing.chains.sheet import Sheet
from layoutdrill.drawing.chains.task import Task
from layoutdrill.drawing.shared.technique import METAL, OTHER


def draw(task: Task) -> ArrayDrawing:
    """
    Return the array: the drivers' rail upright at the left, rows level, the loads' rail at the right, broad enough to
    be the gate of them all. Each output leaves in diffusion below it.
    """
    t, manner, dice, nets, chains = task.t, task.manner, task.dice, task.nets, task.plan.chains
    sheet, d, wire = Sheet(), doped(t), t.wires[METAL]
    size, load = task.link, task.sizes[chains[0].load]
    length, width = size.length or t.channel, size.width or t.widths[0][0]
    gate = max(gate_width(t, length), over_width(t, width) if task.made else 0)
    drawn = Lines(dice.pick((wire.width, gate)), gate_width(t, length))
    pitch = gate + wire.spacing + manner.loose
    across = grating(nets, pitch, task.spread(metal_inverters.room(task, pitch, width)))
    mask, half = t.diffusion[0], half_of(t, width)
    thin = max(half_of(t, load.width), body(t))
    half = max(half, thin)
    out = t.wires[OTHER].width
    pitch = 2 * thin + out + 2 * t.diffusion_spacing
    pitch = max(pitch, 2 * half + t.diffusion_spacing) + manner.apart
    cover = d.window_past + d.metal_past
    start = across.at[-1] + gate // 2 + wire.spacing + cover
    tap = start + load.length + cover + t.contact_gate + t.contact // 2
    rail = across.at[0] - gate // 2 - wire.spacing - pad(t)
    end = tap + pad(t) + manner.stout + wire.spacing + pad(t)
    ported, tongues = dice.chance(50), dice.chance(40)
    for number, chain in enumerate(chains):
        y = number * pitch
        acting = sorted(across.at[nets.index(link.gate)] for link in chain.series)
        bar(sheet, t, Bar(mask, y, half, length), (rail - body(t), start - cover), acting)
        for x in acting:
            plate(sheet, t, drawn, x, (y - half, y + half))
        contact(sheet, t, mask, rail, y)
        low = y - half + thin
        bar(sheet, t, Bar(mask, low, thin, load.length), (start - cover, tap + body(t)), [start + load.length // 2])
        contact(sheet, t, mask, tap, low)
        if tongues:
            wide = max(load.width // 2 + d.metal_past, wire.width // 2)
            sheet.box("metal", (start - cover, tap), (low - wide, low + wide))
        branch = low + thin + t.diffusion_spacing
        sheet.box(mask, (start - cover - out, start - cover), (low - thin, branch + out))
        sheet.box(mask, (start - cover - out, end), (branch, branch + out))
        if ported:
            contact(sheet, t, mask, end, branch + out // 2)
        sheet.label(chain.output, "metal" if ported else mask, end, branch + out // 2)
        for link in chain.series:
            sheet.sizes[link.name] = 1, length, width
        sheet.sizes[chain.load] = 1, load.length, load.width
    low, high = -half, (len(chains) - 1) * pitch + half
    ends, stops = [low - d.metal_past, low - d.metal_past], dict[str, int]()
    right = tap + pad(t) + manner.stout
    if task.made:
        made = metal_inverters.loaded(sheet, task, across, low, rail)
        ends, stops = [made.sink - pad(t), made.rail[0]], made.stops
        sheet.box("metal", (across.at[0] - gate // 2, right), made.rail)
    if dice.chance(40):
        sheet.box(mask, (rail - body(t), rail + body(t)), (low, high))
    columns = (rail - pad(t) - manner.stout, rail + pad(t)), (tap - pad(t) if tongues else start - cover, right)
    for net, span, bottom in zip((task.supplies[1], task.supplies[0]), columns, ends, strict=True):
        sheet.box("metal", span, (bottom, high + d.metal_past))
        sheet.label(net, "metal", span[0], dice.pick((bottom, high)))
    past = d.metal_past + 2 * dice.between(1, 6)
    lines(sheet, across, drawn, (low - past, high + past), stops, task.made)
    return sheet.finished(task.netlist.name, manner)
