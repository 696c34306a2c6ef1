"""Draw a tree of switches in metal gate: level bars below metal lines, forks upright in diffusion or in metal."""

from dataclasses import dataclass

from layoutdrill.drawing.array import ArrayDrawing
from layoutdrill.drawing.chains.forks import Fork, forks_of, shuffled_lines
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
from layoutdrill.drawing.chains.plan import Plan
from layoutdrill.drawing.chains.rings import ring
from layoutdrill.drawing.chains.sheet import Manner, Sheet
from layoutdrill.drawing.dice import Dice
from layoutdrill.drawing.pairing import Size
from layoutdrill.drawing.technique import METAL, OTHER, Technique
from layoutdrill.netlist.model import Netlist


@dataclass(frozen=True, slots=True)
class Form:
    """`wired` columns fork in metal, with a contact to each row; the rest fork in diffusion."""

    wired: frozenset[int]
    pitch: int
    half: int
    mask: str


def draw(netlist: Netlist, plan: Plan, t: Technique, supplies: tuple[str, str], sizes: dict[str, Size], manner: Manner,
         dice: Dice) -> ArrayDrawing:  # fmt: skip
    """Return the tree: its root upright at the left, outputs at the right, rows from the lowest up."""
    sheet, d, wire = Sheet(), doped(t), t.wires[METAL]
    nets = shuffled_lines(plan, dice)
    size = sizes[plan.chains[0].series[0].name]
    length, width = size.length or t.channel, size.width or 2 * dice.between(4, 7)
    gate = gate_width(t, length)
    drawn = Lines(dice.pick((wire.width, gate)), gate)
    mask = d.doping[0]
    half = max(half_of(t, width), body(t))
    share = dice.pick((0, 0, 50, 100))
    wired = frozenset({0} | {column for column in range(len(plan.pairs)) if dice.chance(share)})
    pitch = 2 * half + max(t.diffusion_spacing, wire.spacing + 2 * plate_past(t), 2 * pad(t) + wire.spacing - 2 * half)
    form = Form(wired, pitch + manner.apart, half, mask)
    across = grating(nets, gate + wire.spacing + manner.loose, _room(t, form, len(plan.pairs)))
    right = across.at[-1] + gate // 2 + wire.spacing + pad(t)
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
    low, high = -half, (len(plan.chains) - 1) * form.pitch + half
    past = d.metal_past + 2 * dice.between(1, 6)
    if t.rings is not None:
        low, high = _ringed(sheet, t, supplies[0], (low, high), (across.gaps[0] - body(t), ends), dice)
    sheet.box("metal", (across.gaps[0] - wire.width // 2, across.gaps[0] + wire.width // 2),
              (low - past, forks[0].rows[1] * form.pitch))  # fmt: skip
    sheet.label(forks[0].net, "metal", across.gaps[0], low - past)
    lines(sheet, t, across, drawn, (low - past, high + past))
    return sheet.finished(netlist.name, manner)


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


def _ringed(sheet: Sheet, t: Technique, net: str, y: tuple[int, int], x: tuple[int, int],
            dice: Dice) -> tuple[int, int]:  # fmt: skip
    """Draw the ring round all rows and the metal of the supply over its left leg."""
    assert t.rings is not None
    box = ring(sheet, t, t.rings, 0, y, x)
    at = box.x0 + t.rings.width // 2
    sheet.box("metal", (at - pad(t), at + pad(t)), (box.y0, box.y1))
    count = 2 + (box.y1 - box.y0) // 60
    low, high = box.y0 + t.rings.width // 2, box.y1 - t.rings.width // 2
    for number in range(count + 1):
        sheet.square("contact", at, low + (high - low) * number // count, t.contact // 2)
    sheet.label(net, "metal", at, dice.pick((box.y0, box.y1)))
    return box.y0, box.y1
