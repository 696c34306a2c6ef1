"""Draw rows of complementary logic in silicon gate: n transistors in series, p side by side (NAND decoders)."""

from dataclasses import dataclass

from layoutdrill.drawing.array import ArrayDrawing
from layoutdrill.drawing.chains.banks import Bank, Frame
from layoutdrill.drawing.chains.path import Grating, grating, path_over
from layoutdrill.drawing.chains.plan import Chain, Plan
from layoutdrill.drawing.chains.poly_rows import body, contact, lines, pitch_of, strip
from layoutdrill.drawing.chains.sheet import Manner, Sheet
from layoutdrill.drawing.chains.supplies import join_rails, lead_out, taps_under
from layoutdrill.drawing.dice import Dice
from layoutdrill.drawing.pairing import Size
from layoutdrill.drawing.technique import METAL, Technique
from layoutdrill.netlist.model import Netlist


@dataclass(frozen=True, slots=True)
class Heights:
    """
    A row's heights over its low rail: the strips of n and p from and to, the middle of the wire of its output, and its
    high rail.
    """

    n: tuple[int, int]
    p: tuple[int, int]
    wire: int
    high: int


@dataclass(frozen=True, slots=True)
class Choice:
    """`lift_first`: at the left of a p transistor lies the high rail's side. `apart`: contacts keep to their sides."""

    lift_first: bool
    apart: bool
    double: bool


def draw(netlist: Netlist, plan: Plan, t: Technique, supplies: tuple[str, str], sizes: dict[str, Size], manner: Manner,
         dice: Dice) -> ArrayDrawing:  # fmt: skip
    """Return the array: rails level, one row between each two, poly lines upright through all rows."""
    sheet = Sheet()
    nets = tuple(net for pair in plan.pairs for net in dice.shuffled(pair))
    across = grating(nets, pitch_of(t) + manner.loose)
    heights = _heights(t, plan, sizes, manner, dice)
    bank = Bank(len(plan.chains), heights.high, dice.below(2))
    choice = Choice(dice.chance(50), dice.chance(60), dice.chance(40))
    for number, chain in enumerate(plan.chains):
        frame = bank.frame(number)
        _row(sheet, t, across, frame, heights, chain, choice)
        for link in chain.series:
            sheet.sizes[link.name] = 1, t.channel, heights.n[1] - heights.n[0]
        for link in chain.beside:
            sheet.sizes[link.name] = 1, t.channel, heights.p[1] - heights.p[0]
    edges = across.gaps[0] - body(t), across.gaps[-1] + body(t)
    _wells(sheet, t, bank, heights, edges)
    taps_under(sheet, t, bank, across, dice)
    ports = [(chain.output, bank.frame(number).y(heights.wire)) for number, chain in enumerate(plan.chains)]
    end, strap = lead_out(sheet, t, ports, edges[1], manner, dice)
    join_rails(sheet, t, bank, supplies, (edges[0], end), strap, manner, dice)
    ends = t.rail // 2 + manner.stout // 2 + t.wires[METAL].spacing + 2 * dice.between(0, 3)
    lines(sheet, t, across, (-ends, bank.rows * bank.height + ends), dice.pick(("", "low", "high")))
    return sheet.finished(netlist.name, manner)


def _heights(t: Technique, plan: Plan, sizes: dict[str, Size], manner: Manner, dice: Dice) -> Heights:
    assert t.implants is not None
    n, p = (2 * dice.between(low // 2, high // 2) for low, high in ((12, 22), (12, 20)))
    n = sizes[plan.chains[0].series[0].name].width or n
    p = sizes[plan.chains[0].beside[0].name].width or p
    metal = t.wires[METAL]
    rail = t.rail // 2 + manner.stout // 2
    clear = max(body(t) + t.implants.tap_gap, rail + metal.spacing)
    n_top = clear + n
    least = max(2 * t.implants.well_past, metal.width + 2 * metal.spacing)
    p_low = n_top + least + manner.apart
    wire = n_top + (p_low - n_top) // 2
    return Heights((clear, n_top), (p_low, p_low + p), wire - wire % 2, p_low + p + clear)


def _row(sheet: Sheet, t: Technique, across: Grating, frame: Frame, heights: Heights, chain: Chain,
         choice: Choice) -> None:  # fmt: skip
    metal = t.wires[METAL]
    acting = sorted(across.nets.index(link.gate) for link in chain.series)
    first, last = acting[0], acting[-1] + 1
    half = (heights.n[1] - heights.n[0]) // 2
    middle = heights.n[0] + half
    path = path_over(acting, first, last, {first, last})
    strip(sheet, t, "active", across, path, frame.y(middle), half)
    slim, stub = metal.width // 2, metal.pad // 2
    for gap, end in ((first, 0), (last, heights.wire)):
        x = across.gaps[gap]
        sheet.box("metal", (x - stub, x + stub), frame.span(*sorted((middle, end))))
    low, high = heights.p
    sides: dict[int, bool] = {}  # whether a gap is the high rail's
    for group in _neighbours(acting):
        for number, gap in enumerate(range(group[0], group[-1] + 2)):
            sides[gap] = (number % 2 == 0) == choice.lift_first
        left, right = across.gaps[group[0]] - body(t), across.gaps[group[-1] + 1] + body(t)
        sheet.box("active", (left, right), frame.span(low, high))
    for gap, lifts in sides.items():
        x = across.gaps[gap]
        at = _contacts(t, heights, choice, lifts=lifts)
        for v in at:
            contact(sheet, t, "active", x, frame.y(v))
        end = heights.high if lifts else heights.wire
        sheet.box("metal", (x - stub, x + stub), frame.span(min(*at, end), max(*at, end)))
    reached = [across.gaps[last], *(across.gaps[gap] for gap, lifts in sides.items() if not lifts)]
    x = min(reached) - stub, across.gaps[-1] + body(t)
    sheet.box("metal", x, frame.span(heights.wire - slim, heights.wire + slim))


def _contacts(t: Technique, heights: Heights, choice: Choice, *, lifts: bool) -> tuple[int, ...]:
    """Return the heights of the contacts on a p transistor's side."""
    low, high = heights.p[0] + body(t), heights.p[1] - body(t)
    if choice.double and high - low >= 2 * t.contact:
        return low, high
    if choice.apart:
        return ((high if lifts else low),)
    return ((low + high) // 2,)


def _neighbours(acting: list[int]) -> list[list[int]]:
    groups: list[list[int]] = []
    for line in acting:
        if groups and groups[-1][-1] == line - 1:
            groups[-1].append(line)
        else:
            groups.append([line])
    return groups


def _wells(sheet: Sheet, t: Technique, bank: Bank, heights: Heights, x: tuple[int, int]) -> None:
    """Draw wells and implants from side to side of the array."""
    implants = t.implants
    assert implants is not None
    for row in range(bank.rows):
        frame = bank.frame(row)
        for strip_of, mask in zip((heights.n, heights.p), implants.doping, strict=True):
            y = frame.span(strip_of[0] - implants.past, strip_of[1] + implants.past)
            sheet.box(mask, (x[0] - implants.past, x[1] + implants.past), y)
        top = heights.high + body(t) + implants.well_tap
        y = frame.span(heights.p[0] - implants.well_past, top)
        sheet.box(implants.well, (x[0] - implants.well_past, x[1] + implants.well_past), y)
