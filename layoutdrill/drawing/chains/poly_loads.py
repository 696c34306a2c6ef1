"""Draw rows in series from a rail to a depletion load, in silicon gate of one kind (NAND decoders)."""

from layoutdrill.drawing.array import ArrayDrawing
from layoutdrill.drawing.chains import loaded_row
from layoutdrill.drawing.chains.path import grating, path_over
from layoutdrill.drawing.chains.poly_rows import Heads, body, contact, joint, lines, pitch_of, strip
from layoutdrill.drawing.chains.sheet import Sheet
from layoutdrill.drawing.chains.task import Task
from layoutdrill.drawing.shared.sizes import Size
from layoutdrill.drawing.shared.technique import METAL, OTHER, Technique


def draw(task: Task) -> ArrayDrawing:
    """
    Return the array: the low rail upright at the left, rows level, the high rail upright at the right behind the loads.

    Each output leaves in the poly of its load, below the high rail.
    """
    t, manner, dice, nets = task.t, task.manner, task.dice, task.nets
    sheet, chains = Sheet(), task.plan.chains
    across = grating(nets, pitch_of(t) + manner.loose, task.spread(loaded_row.room(task)))
    size, load = task.link, task.sizes[chains[0].load]
    half, cover = (size.width or t.widths[0][0]) // 2, load.width // 2 + t.gate_past
    reach = t.wires[OTHER].width
    jog = max(cover, body(t) + t.other_gap)
    pitch = max(cover + jog + reach + t.wires[OTHER].spacing, 2 * half + t.diffusion_spacing,
                t.wires[METAL].pad + t.wires[METAL].spacing) + manner.apart  # fmt: skip
    start = across.gaps[-1] + body(t) + t.other_gap
    end = start + reach + load.length + t.contact_gate + t.contact // 2
    metal = t.wires[METAL].pad // 2
    out = end + metal + manner.stout + t.wires[METAL].spacing + metal
    ported = dice.chance(50)
    for number, chain in enumerate(chains):
        y = number * pitch
        path = path_over({nets.index(link.gate) for link in chain.series}, 0, len(nets), {0})
        strip(sheet, t, "active", across, path, y, half)
        if path.bridges and path.bridges[-1][1] == len(nets):
            contact(sheet, t, "active", across.gaps[-1], y)
        _load(sheet, t, (across.gaps[-1], start, end), y, load)
        gate_end = start + reach + load.length
        sheet.box("poly", (gate_end - reach, out), (y + min(cover, jog), y + jog + reach))
        if jog > cover:
            sheet.box("poly", (gate_end - reach, gate_end), (y, y + jog))
        if ported:
            joint(sheet, t, out, y + jog + reach // 2)
        sheet.label(chain.output, "metal" if ported else "poly", out, y + jog + reach // 2)
        for link in chain.series:
            sheet.sizes[link.name] = 1, size.length or t.channel, 2 * half
        sheet.sizes[chain.load] = 1, load.length, load.width
    low, high = -max(half, metal), (len(chains) - 1) * pitch + max(half, metal)
    low_row = low
    stops: dict[str, int] = {}
    ends = [low, low]
    rails = (-metal - manner.stout, metal), (end - metal, end + metal + manner.stout)
    if task.made:
        made = loaded_row.inverters(sheet, task, across, min(low, -cover))
        low, stops, ends = made.low, made.stops, [y - metal for y in made.rails]
        for y in made.rails:
            first = rails[0][0] if y == made.rails[0] else across.at[0] - metal
            last = rails[1][1] if y == made.rails[1] else across.gaps[-1]
            sheet.box("metal", (first, last), (y - metal, y + metal))
    if dice.chance(40):
        sheet.box("active", (-body(t), body(t)), (low_row, high))
    for net, x, bottom in zip(task.supplies, rails, ends, strict=True):
        sheet.box("metal", x, (bottom, high))
        sheet.label(net, "metal", x[0], dice.pick((bottom, high)))
    past = t.wires[METAL].spacing + 2 * dice.between(0, 3)
    lines(sheet, t, across, (low - past, high + past), dice.pick(tuple(Heads)), stops)
    return sheet.finished(task.netlist.name, manner)


def _load(sheet: Sheet, t: Technique, at: tuple[int, int, int], y: int, size: Size) -> None:
    """Draw a level load: diffusion from the row's end, poly from the buried contact on, the contact to the rail."""
    buried = t.buried
    assert buried is not None
    begin, start, end = at
    half = size.width // 2
    wide, reach = half + t.gate_past, t.wires[OTHER].width
    gate = start + reach, start + reach + size.length
    sheet.box("active", (begin, end), (y - half, y + half))
    sheet.box("poly", (start, gate[1]), (y - wide, y + wide))
    sheet.box(buried.layer, (start - buried.past, gate[0]), (y - half - buried.past, y + half + buried.past))
    past = buried.implant_past
    sheet.box(buried.implant, (gate[0] - past, gate[1] + past), (y - half - past, y + half + past))
    contact(sheet, t, "active", end, y)
