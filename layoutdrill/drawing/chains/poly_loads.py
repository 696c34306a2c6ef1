"""Draw rows in series from a rail to a depletion load, in silicon gate of one kind (NAND decoders)."""

from layoutdrill.drawing.array import ArrayDrawing
from layoutdrill.drawing.chains.path import grating, path_over
from layoutdrill.drawing.chains.plan import Chain, Plan
from layoutdrill.drawing.chains.poly_rows import body, contact, lines, pitch_of, strip
from layoutdrill.drawing.chains.sheet import Manner, Sheet
from layoutdrill.drawing.dice import Dice
from layoutdrill.drawing.pairing import Size
from layoutdrill.drawing.technique import METAL, OTHER, Technique
from layoutdrill.netlist.model import Netlist


def draw(netlist: Netlist, plan: Plan, t: Technique, supplies: tuple[str, str], sizes: dict[str, Size], manner: Manner,
         dice: Dice) -> ArrayDrawing:  # fmt: skip
    """
    Return the array: the low rail upright at the left, rows level, the high rail upright at the right behind the loads.

    Each output leaves in the poly of its load, below the high rail.
    """
    assert t.buried is not None
    sheet = Sheet()
    nets = tuple(net for pair in plan.pairs for net in dice.shuffled(pair))
    across = grating(nets, pitch_of(t) + manner.loose)
    size = sizes[plan.chains[0].series[0].name]
    load = sizes[plan.chains[0].load]
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
    for number, chain in enumerate(plan.chains):
        y = number * pitch
        acting = {nets.index(link.gate) for link in chain.series}
        path = path_over(acting, 0, len(nets), {0})
        strip(sheet, t, "active", across, path, y, half)
        if path.bridges and path.bridges[-1][1] == len(nets):
            contact(sheet, t, "active", across.gaps[-1], y)
        _load(sheet, t, (across.gaps[-1], start, end), y, load)
        sheet.box("poly", (start + reach + load.length - reach, out), (y + min(cover, jog), y + jog + reach))
        if jog > cover:
            sheet.box("poly", (start + reach + load.length - reach, start + reach + load.length), (y, y + jog))
        _port(sheet, t, chain, (out, y + jog + reach // 2), ported=ported)
        for link in chain.series:
            sheet.sizes[link.name] = 1, size.length or t.channel, 2 * half
        sheet.sizes[chain.load] = 1, load.length, load.width
    low, high = -max(half, metal), (len(plan.chains) - 1) * pitch + max(half, metal)
    rails = (-metal - manner.stout, metal), (end - metal, end + metal + manner.stout)
    for net, x in zip(supplies, rails, strict=True):
        sheet.box("metal", x, (low, high))
        sheet.label(net, "metal", x[0], dice.pick((low, high)))
    past = t.wires[METAL].spacing + 2 * dice.between(0, 3)
    lines(sheet, t, across, (low - past, high + past), dice.pick(("", "low", "high")))
    return sheet.finished(netlist.name, manner)


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


def _port(sheet: Sheet, t: Technique, chain: Chain, at: tuple[int, int], *, ported: bool) -> None:
    """End an output's poly: plain, or in a contact to metal."""
    x, y = at
    if not ported:
        sheet.label(chain.output, "poly", x, y)
        return
    sheet.square("poly", x, y, t.wires[OTHER].pad // 2)
    sheet.square("contact", x, y, t.contact // 2)
    sheet.square("metal", x, y, t.wires[METAL].pad // 2)
    sheet.label(chain.output, "metal", x, y)
