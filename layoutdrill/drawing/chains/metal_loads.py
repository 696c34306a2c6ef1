"""Draw rows in series from a rail to an enhancement load, in metal gate of one kind (NOR decoders in PMOS)."""

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
)
from layoutdrill.drawing.chains.path import grating
from layoutdrill.drawing.chains.plan import Plan
from layoutdrill.drawing.chains.sheet import Manner, Sheet
from layoutdrill.drawing.dice import Dice
from layoutdrill.drawing.pairing import Size
from layoutdrill.drawing.technique import METAL, OTHER, Technique
from layoutdrill.netlist.model import Netlist


def draw(netlist: Netlist, plan: Plan, t: Technique, supplies: tuple[str, str], sizes: dict[str, Size], manner: Manner,
         dice: Dice) -> ArrayDrawing:  # fmt: skip
    """
    Return the array: the drivers' rail upright at the left, rows level, the loads' rail at the right, broad enough to
    be the gate of them all. Each output leaves in diffusion below it.
    """
    sheet, d, wire = Sheet(), doped(t), t.wires[METAL]
    nets = tuple(net for pair in plan.pairs for net in dice.shuffled(pair))
    size, load = sizes[plan.chains[0].series[0].name], sizes[plan.chains[0].load]
    length, width = size.length or t.channel, size.width or t.widths[0][0]
    gate = gate_width(t, length)
    drawn = Lines(dice.pick((wire.width, gate)), gate)
    across = grating(nets, gate + wire.spacing + manner.loose)
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
    ported = dice.chance(50)
    for number, chain in enumerate(plan.chains):
        y = number * pitch
        acting = sorted(across.at[nets.index(link.gate)] for link in chain.series)
        bar(sheet, t, Bar(mask, y, half, length), (rail - body(t), start - cover), acting)
        for x in acting:
            plate(sheet, t, drawn, x, (y - half, y + half))
        contact(sheet, t, mask, rail, y)
        low = y - half + thin
        bar(sheet, t, Bar(mask, low, thin, load.length), (start - cover, tap + body(t)), [start + load.length // 2])
        contact(sheet, t, mask, tap, low)
        branch = low + thin + t.diffusion_spacing
        sheet.box(mask, (start - cover - out, start - cover), (low - thin, branch + out))
        sheet.box(mask, (start - cover - out, end), (branch, branch + out))
        if ported:
            contact(sheet, t, mask, end, branch + out // 2)
        sheet.label(chain.output, "metal" if ported else mask, end, branch + out // 2)
        for link in chain.series:
            sheet.sizes[link.name] = 1, length, width
        sheet.sizes[chain.load] = 1, load.length, load.width
    low, high = -half, (len(plan.chains) - 1) * pitch + half
    past = d.metal_past + 2 * dice.between(1, 6)
    columns = (rail - pad(t) - manner.stout, rail + pad(t)), (start - cover, tap + pad(t) + manner.stout)
    for net, x in zip((supplies[1], supplies[0]), columns, strict=True):
        sheet.box("metal", x, (low - d.metal_past, high + d.metal_past))
        sheet.label(net, "metal", x[0], dice.pick((low, high)))
    lines(sheet, t, across, drawn, (low - past, high + past))
    return sheet.finished(netlist.name, manner)
