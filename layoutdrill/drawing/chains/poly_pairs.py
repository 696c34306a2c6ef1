"""Draw rows of complementary logic in silicon gate: n transistors in series, p side by side (NAND decoders)."""

from dataclasses import dataclass

from layoutdrill.drawing.array import ArrayDrawing
from layoutdrill.drawing.chains.banks import Bank, Frame
from layoutdrill.drawing.chains.pair_row import Heights, heights_of, inverters, wells
from layoutdrill.drawing.chains.path import Grating, grating, path_over
from layoutdrill.drawing.chains.plan import Chain
from layoutdrill.drawing.chains.poly_rows import Heads, body, contact, lines, pitch_of, strip, via
from layoutdrill.drawing.chains.sheet import Sheet
from layoutdrill.drawing.chains.supplies import broaden, join_rails, lead_out, taps_under
from layoutdrill.drawing.chains.task import Task
from layoutdrill.drawing.shared.technique import METAL, UPPER_METAL, Technique


@dataclass(frozen=True, slots=True)
class Choice:
    """
    `lift_first`: at the left of a p transistor lies the high rail's side. `apart`: contacts keep to their sides.
    `raised`: the wire of the output lies in the second metal.
    """

    lift_first: bool
    apart: bool
    double: bool
    raised: bool


def draw(task: Task) -> ArrayDrawing:
    """Return the array: rails level, one row between each two, poly lines upright through all rows."""
    t, manner, dice, chains = task.t, task.manner, task.dice, task.plan.chains
    sheet = Sheet()
    across = grating(task.nets, pitch_of(t) + manner.loose, task.spread({}))
    heights = heights_of(task, task.link.width, task.sizes[chains[0].beside[0].name].width)
    own = 1 if task.made else 0
    bank = Bank(len(chains) + own, heights.high, dice.below(2))
    choice = Choice(dice.chance(50), dice.chance(60), dice.chance(40), bool(t.via) and dice.chance(50))
    stops = inverters(sheet, task, across, bank.frame(0), heights) if own else {}
    for number, chain in enumerate(chains):
        _row(sheet, t, across, bank.frame(number + own), heights, chain, choice)
        for link in chain.series:
            sheet.sizes[link.name] = 1, t.channel, heights.n[1] - heights.n[0]
        for link in chain.beside:
            sheet.sizes[link.name] = 1, t.channel, heights.p[1] - heights.p[0]
    edges = across.gaps[0] - body(t), across.gaps[-1] + body(t)
    for row in range(bank.rows):
        wells(sheet, t, bank.frame(row), heights, edges)
    gaps = taps_under(sheet, t, bank.rails(), across, dice)
    ports = [(chain.output, bank.frame(number + own).y(heights.wire)) for number, chain in enumerate(chains)]
    end, strap = lead_out(sheet, t, ports, edges[1], manner, dice, raised=choice.raised)
    join_rails(sheet, t, bank, task.supplies, (edges[0], end), strap, manner, dice)
    if t.via and dice.chance(50):
        broaden(sheet, t, bank, edges, [x for x in across.gaps if x not in gaps])
    past = t.rail // 2 + manner.stout // 2 + t.wires[METAL].spacing + 2 * dice.between(0, 3)
    lines(sheet, t, across, (-past, bank.rows * bank.height + past), dice.pick(tuple(Heads)), stops)
    return sheet.finished(task.netlist.name, manner)


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
    for x in reached if choice.raised else ():
        via(sheet, t, x, frame.y(heights.wire))
    layer = t.wires[UPPER_METAL if choice.raised else METAL].layer
    span = min(reached) - stub, across.gaps[-1] + body(t)
    sheet.box(layer, span, frame.span(heights.wire - slim, heights.wire + slim))


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
