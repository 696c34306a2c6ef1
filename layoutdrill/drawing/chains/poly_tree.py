"""Draw a tree of switches in silicon gate: strips of diffusion across poly lines, forks upright in metal."""

from layoutdrill.drawing.array import ArrayDrawing
from layoutdrill.drawing.chains.forks import Fork, forks_of, shuffled_lines
from layoutdrill.drawing.chains.path import Grating, grating, path_over
from layoutdrill.drawing.chains.plan import Plan
from layoutdrill.drawing.chains.poly_rows import body, lines, pitch_of, strip
from layoutdrill.drawing.chains.sheet import Manner, Sheet, Span
from layoutdrill.drawing.dice import Dice
from layoutdrill.drawing.pairing import Size
from layoutdrill.drawing.technique import METAL, OTHER, Technique
from layoutdrill.netlist.model import Netlist


def draw(netlist: Netlist, plan: Plan, t: Technique, supplies: tuple[str, str], sizes: dict[str, Size], manner: Manner,
         dice: Dice) -> ArrayDrawing:  # fmt: skip
    """Return the tree: its root at the left, outputs in metal at the right, rows from the lowest up."""
    sheet = Sheet()
    nets = shuffled_lines(plan, dice)
    across = grating(nets, pitch_of(t) + manner.loose)
    size = sizes[plan.chains[0].series[0].name]
    width = size.width or 2 * dice.between(body(t), body(t) + 3)
    half, metal = width // 2, t.wires[METAL]
    pitch = max(width + t.diffusion_spacing, metal.pad + metal.spacing) + manner.apart
    rows = len(plan.chains)
    out = across.gaps[-1] + metal.pad // 2 + metal.spacing + 2 * dice.between(0, 4)
    slim = metal.width // 2
    for number, chain in enumerate(plan.chains):
        y = number * pitch
        acting = {nets.index(link.gate) for link in chain.series}
        columns = {link.column - plan.first_column for link in chain.series}
        wired = {2 * column for column in columns} | {len(nets)}
        strip(sheet, t, "active", across, path_over(acting, 2 * min(columns), len(nets), wired), y, half)
        sheet.box("metal", (across.gaps[-1], out), (y - slim, y + slim))
        sheet.label(chain.output, "metal", out, y)
        for link in chain.series:
            sheet.sizes[link.name] = 1, size.length or t.channel, width
    forks = forks_of(plan)
    for fork in forks:
        x, stub = across.gaps[2 * fork.column], metal.pad // 2
        sheet.box("metal", (x - stub, x + stub), (fork.rows[0] * pitch - stub, fork.rows[1] * pitch + stub))
    low, high = -max(half, metal.pad // 2), (rows - 1) * pitch + max(half, metal.pad // 2)
    left = across.gaps[0] - metal.pad // 2
    tied = _tie(sheet, t, supplies[0], across, (low, high), half, manner, dice) if supplies[0] in netlist.ports else None
    _root(sheet, t, forks[0], left, pitch, strapped=tied is not None and tied[2], dice=dice)
    if tied is not None:
        low, high = tied[:2]
    past = metal.spacing + 2 * dice.between(0, 3)
    lines(sheet, t, across, (low - past, high + past), dice.pick(("", "low", "high")))
    return sheet.finished(netlist.name, manner)


def _root(sheet: Sheet, t: Technique, fork: Fork, x: int, pitch: int, *, strapped: bool, dice: Dice) -> None:
    """Lead the root out to the left at one of the rows it forks to: in metal, or in poly where a strap is in its way."""
    metal, poly = t.wires[METAL], t.wires[OTHER]
    y = dice.pick(fork.rows) * pitch
    half = metal.pad // 2
    if not strapped:
        end = x - metal.spacing - 2 * dice.between(0, 4)
        sheet.box("metal", (end, x + half), (y - metal.width // 2, y + metal.width // 2))
        sheet.label(fork.net, "metal", end, y)
        return
    at = x - t.other_gap - half
    sheet.box("metal", (at - half, x + half), (y - half, y + half))
    sheet.square("contact", at, y, t.contact // 2)
    sheet.square(poly.layer, at, y, poly.pad // 2)
    end = at - half - 2 * metal.spacing - metal.pad - 8
    sheet.box(poly.layer, (end, at), (y - poly.width // 2, y + poly.width // 2))
    sheet.label(fork.net, poly.layer, end, y)


def _tie(sheet: Sheet, t: Technique, net: str, across: Grating, y: Span, half: int, manner: Manner,
         dice: Dice) -> tuple[int, int, bool]:  # fmt: skip
    """
    Draw the supply that the silicon is tied to: a rail with taps below the array, above, or both, then with a strap at
    the left. Returns from where to where the rails reach, and whether there is a strap.
    """
    implants, metal = t.implants, t.wires[METAL]
    assert implants is not None
    rail = t.rail // 2 + manner.stout // 2
    distance = max(body(t) + implants.tap_gap, rail + metal.spacing)
    sides = dice.pick((("low",), ("high",), ("low", "high")))
    inner = -half, y[1] + y[0] + half
    places = [inner[0] - distance if side == "low" else inner[1] + distance for side in sides]
    gaps = sorted(dice.shuffled(across.gaps)[: dice.between(2, 2 + len(across.gaps) // 3)])
    x = across.gaps[0] - body(t), across.gaps[-1] + body(t)
    for place in places:
        sheet.box("metal", x, (place - rail, place + rail))
        for gap in gaps:
            sheet.square("active", gap, place, body(t))
            sheet.square("contact", gap, place, t.contact // 2)
        past = body(t) + implants.past
        sheet.box(implants.doping[1], (gaps[0] - past, gaps[-1] + past), (place - past, place + past))
    sheet.label(net, "metal", dice.pick(x), dice.pick(places))
    box = (x[0] - implants.past, x[1] + implants.past)
    sheet.box(implants.doping[0], box, (inner[0] - implants.past, inner[1] + implants.past))
    strapped = len(places) == 2
    if strapped:
        right = x[0] - t.other_gap - metal.pad - metal.spacing
        left = right - metal.pad - manner.stout
        sheet.box("metal", (left, right), (places[0] - rail, places[1] + rail))
        for place in places:
            sheet.box("metal", (left, x[0]), (place - rail, place + rail))
    return min(y[0], places[0] - rail), max(y[1], places[-1] + rail), strapped
