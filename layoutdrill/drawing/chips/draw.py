"""Draw a whole chip: each part once, the core stacked, channels on both sides, pads and main rails round it."""

from collections.abc import Iterator, Mapping, Sequence

from layoutdrill.cells.chips import Chip, Slot
from layoutdrill.dice import Dice
from layoutdrill.drawing.chips.body import Body
from layoutdrill.drawing.chips.core import LEVEL, Core
from layoutdrill.drawing.chips.flank import PAD, Berth, Flank, draw_flank
from layoutdrill.drawing.chips.parts import BORDER, ChipJob, array_body, copied, gate_rows, pad_row, row_body
from layoutdrill.drawing.shared import Drawing, Pen, Request, all_or_none, frame_round
from layoutdrill.drawing.shared.technique import METAL
from layoutdrill.geometry.rect import Rect
from layoutdrill.headway import counted
from layoutdrill.process.model import Process

_MAIN = (3, 6)
"""How many signal widths main rails are wide, from and to (common practice: 3 to 10)."""

_AWAY, _ARM, _BAR = 14, 12, 4
"""λ: from the outermost metal to the street, a mark's arm, and the width of its bars."""


def chip_drawing(
    chip: Chip, process: Process, seed: int, *, difficulty: float = 0.3, attempt: int = 0
) -> Drawing | None:
    """
    Return the drawing of a whole chip, or None when some part found no room; the same for the same arguments.

    Raises LayoutdrillError for a chip that does not fit the process.
    """
    slots = chip.slots(process)
    asked = Request(chip.netlist(process), process, seed, difficulty, attempt=attempt)
    t, dice = asked.technique, asked.dice("chip")
    doping = dice.below(2) if t.doped is not None and t.doped.island else None
    job = ChipJob(asked, Pen(t, doping=doping), dice)
    own = [slot for slot in slots if slot.part.array]
    parts = sum(slot.pad is None for slot in slots)
    drawn = all_or_none(array_body(slot, job) for slot in counted(own, _named, of=parts))
    if drawn is None:
        return None
    arrays = {slot.part.name: body for slot, body in zip(own, drawn, strict=True)}
    side, across = _sides(chip, slots, arrays, dice)
    bodies = all_or_none(_bodies(slots, arrays, side, job))
    berths = _berths(slots, job)
    if bodies is None or berths is None:
        return None
    width = max(body.box.width for body in bodies)
    core = Core(job.pen, width, side, across)
    lanes = {e.net for body in bodies for e in body.exits if e.side not in LEVEL}
    top = core.stack([(body, _aligned(body, width, dice)) for body in bodies], sorted(across - lanes))
    wide = t.wires[METAL].width * dice.between(*_MAIN)
    left, right = (draw_flank(core, edge, wide, berths[edge], top) for edge in LEVEL)
    if left is None or right is None:
        return None
    _mains(core, left, right, top, job)
    _draw_street(job.pen, dice)
    return job.pen.finished(asked, dice.below(4), mirrored=dice.chance(50))


def _named(slot: Slot) -> str:
    return slot.part.name


def _sides(
    chip: Chip, slots: Sequence[Slot], arrays: Mapping[str, Body], dice: Dice
) -> tuple[dict[str, str], frozenset[str]]:
    """Return on which side each net is joined, and the nets that both sides need."""
    needed: dict[str, set[str]] = {}
    for pad in chip.pads:
        if pad.sort != "supply":
            needed.setdefault(pad.net, set()).add(pad.side)
    for body in arrays.values():
        for e in body.exits:
            needed.setdefault(e.net, set()).update({e.side} & set(LEVEL))
    for slot in slots:
        if not slot.part.array and slot.pad is None:
            for t in slot.netlist.transistors:
                for net in t.terminals:
                    needed.setdefault(net, set())
    side = {net: (min(sides) if sides else dice.pick(LEVEL)) for net, sides in sorted(needed.items())}
    return side, frozenset(net for net, sides in needed.items() if len(sides) > 1)


def _bodies(
    slots: Sequence[Slot], arrays: Mapping[str, Body], side: Mapping[str, str], job: ChipJob
) -> Iterator[Body | None]:
    """Yield the bodies of the core from the bottom up, None for one that found no room."""
    gates = [slot for slot in slots if not slot.part.array and slot.pad is None]
    taken_up = iter(counted(gates, _named, done=len(arrays), of=len(arrays) + len(gates)))
    for slot in slots:
        if slot.part.array:
            yield arrays[slot.part.name]
        elif slot.pad is None:
            next(taken_up)
            for row in gate_rows(slot, _outside(slot, slots), job):
                yield row_body(row, {net: side[net] for net in row.leaving}, job)


def _outside(slot: Slot, slots: Sequence[Slot]) -> set[str]:
    """Return the nets that other parts of the chip use too."""
    return {net for other in slots if other is not slot for t in other.netlist.transistors for net in t.terminals}


def _berths(slots: Sequence[Slot], job: ChipJob) -> dict[str, list[Berth]] | None:
    """Return what stands at each pad, from the bottom of its side up; what stands there is drawn once of each sort."""
    drawn: dict[str, tuple[Slot, Body]] = {}
    berths: dict[str, list[Berth]] = {side: [] for side in LEVEL}
    for slot in slots:
        pad = slot.pad
        if pad is None:
            continue
        if pad.sort not in drawn:
            body = row_body(pad_row(slot), {pad.name: "right", pad.net: "left"}, job, BORDER)
            if body is None:
                return None
            drawn[pad.sort] = slot, body
        first, body = drawn[pad.sort]
        assert first.pad is not None
        nets = {first.pad.name: pad.name, first.pad.net: pad.net}
        berths[pad.side].append(Berth(copied(body, first.names, slot.names, nets), pad.name, pad.net))
    return berths


def _aligned(body: Body, width: int, dice: Dice) -> int:
    """Return where a part's left border lies."""
    free = width - body.box.width
    return free * dice.below(3) // 2 // 2 * 2


def _mains(core: Core, left: Flank, right: Flank, top: int, job: ChipJob) -> None:
    """Draw the main rails: the low supply round the left, bottom and right edge, the high one inside, open below."""
    pen, gap, side = core.pen, core.pen.metal_gap, PAD * core.pen.t.unit
    wide = left.at.strap[1] - left.at.strap[0]
    lows, highs = (*left.lows, *right.lows), (*left.highs, *right.highs)
    floor = min(0, *lows) - pen.rail - 2 * gap - side - wide
    ceiling = max(top, *highs, max(lows) + side + 2 * pen.rail) + 2 * gap + side
    for flank in (left, right):
        pen.box(pen.metal, flank.span(flank.at.rim), (floor, max(flank.lows) + pen.rail))
        pen.box(pen.metal, flank.span(flank.at.leg), (min(flank.highs) - pen.rail, ceiling + wide))
        rails = core.rails[flank.side]
        low = floor if flank is left else min(y - half for y, half in rails)
        high = max(y + half for y, half in rails) if flank is left else ceiling + wide
        pen.box(pen.metal, flank.span(flank.at.strap), (low, high))
        for y, half in rails:
            pen.level(pen.metal, flank.span((0, flank.at.strap[1])), y, half)
    pen.box(pen.metal, (left.x(left.at.rim[1]), right.x(right.at.rim[1])), (floor, floor + wide))
    pen.box(pen.metal, (left.x(left.at.leg[1]), right.x(right.at.leg[1])), (ceiling, ceiling + wide))
    for supply, y in zip(job.asked.process.supplies, (floor + wide, ceiling - side), strict=True):
        x = core.width * job.dice.between(35, 65) // 100 // 2 * 2
        pen.bond_pad((x - side // 2, x + side // 2), (y, y + side))
        pen.label(supply, pen.metal, x, y + side // 2)


def _draw_street(pen: Pen, dice: Dice) -> None:
    """Draw a band of doped silicon round all, with metal on it where the wafer's plating ended, and crosses inside."""
    t, unit, border = pen.t, pen.t.unit, pen.border
    inner = border.grown(_AWAY * unit)
    if t.doped is not None:  # a band of n+: on bulk it ties the wafer, on sapphire it is an island like any other
        for r in frame_round(inner, 2 * pen.body + 2 * unit):
            pen.diffuse(0, (r.x0, r.x1), (r.y0, r.y1))
        for x, y in _contacts(inner, pen.body + unit, 40 * unit):
            pen.square(t.cut, x, y, pen.cut)
    for r in frame_round(inner.grown(unit), 2 * pen.body):
        pen.box(pen.metal, (r.x0, r.x1), (r.y0, r.y1))
    corners = dice.sample([(0, 0), (0, 1), (1, 0), (1, 1)], 3)
    arm, half = _ARM * unit // 2, _BAR * unit // 2
    for right, upper in corners:
        x = (border.x1 if right else border.x0) + (-arm if right else arm)
        y = (border.y1 if upper else border.y0) + (arm if upper else -arm)
        room = Rect(x, y, x, y).grown(arm + pen.metal_gap)
        if any(r.overlaps(room) for r in pen.shapes[pen.metal]):
            continue
        pen.level(pen.metal, (x - arm, x + arm), y, half)
        pen.upright(pen.metal, x, (y - arm, y + arm), half)


def _contacts(inner: Rect, out: int, apart: int) -> list[tuple[int, int]]:
    """Return places along the middle of the band, at about equal distances."""
    places = []
    for k in range(inner.width // apart):
        x = inner.x0 + apart // 2 + k * apart
        places += [(x, inner.y0 - out), (x, inner.y1 + out)]
    for k in range(inner.height // apart):
        y = inner.y0 + apart // 2 + k * apart
        places += [(inner.x0 - out, y), (inner.x1 + out, y)]
    return places
