"""Draw a whole chip: each part once, the core stacked, channels on both sides, pads and main rails round it."""

from collections.abc import Mapping, Sequence
from dataclasses import replace

from layoutdrill.cells.chips import Chip, Slot
from layoutdrill.dice import Dice
from layoutdrill.drawing.chips.body import Body
from layoutdrill.drawing.chips.core import LEVEL, Core
from layoutdrill.drawing.chips.flank import GLASS, PAD, Berth, Flank, glass_of, open_glass
from layoutdrill.drawing.chips.parts import BORDER, Row, array_body, copied, gate_rows, pad_row, row_body
from layoutdrill.drawing.chips.street import draw_street
from layoutdrill.drawing.shared.canvas import ArrayDrawing, Canvas
from layoutdrill.drawing.shared.families import technique_for
from layoutdrill.drawing.shared.pen import Pen
from layoutdrill.drawing.shared.technique import METAL
from layoutdrill.process.model import Process

_MAIN = (3, 6)
"""How many signal widths main rails are wide, from and to (common practice: 3 to 10)."""


def chip_drawing(
    chip: Chip, process: Process, seed: int, *, difficulty: float = 0.3, attempt: int = 0
) -> ArrayDrawing | None:
    """
    Return the drawing of a whole chip, or None when some part found no room; the same for the same arguments.

    Raises LayoutdrillError for a chip that does not fit the process.
    """
    slots = chip.slots(process)
    t = technique_for(process)
    dice = Dice.from_text(
        f"chip|{process.name}|{seed}|{round(difficulty * 100)}|{attempt}|{chip.netlist(process).text()}"
    )
    doping = dice.below(2) if t.doped is not None and t.doped.island else None
    pen = Pen(Canvas(), t, doping=doping)
    arrays = _arrays(slots, pen, process, dice, difficulty, attempt)
    if arrays is None:
        return None
    side, across = _sides(chip, slots, arrays, dice)
    bodies = _bodies(slots, arrays, side, process, dice, difficulty)
    berths = _berths(slots, process, dice, difficulty)
    if bodies is None or berths is None:
        return None
    width = max(body.box.width for body in bodies)
    core = Core(pen, width, side, across)
    lanes = {e.net for body in bodies for e in body.exits if e.side not in LEVEL}
    top = core.stack([(body, _aligned(body, width, dice)) for body in bodies], sorted(across - lanes))
    wide = t.wires[METAL].width * dice.between(*_MAIN)
    flanks = [Flank(core, edge, wide, process.grid_per_lambda, berths[edge]) for edge in LEVEL]
    for flank in flanks:
        pitch = max(flank.least_pitch, top // len(flank.berths))
        tall = pitch * len(flank.berths)
        if not flank.draw((top - tall) // 2 + pitch // 4, pitch):
            return None
    _mains(core, flanks, top, process, dice)
    draw_street(pen, process, dice)
    glass, shapes = glass_of(process), pen.canvas.shapes
    opened = shapes.pop(GLASS, [])
    if glass is not None:
        shapes[glass] = opened
    return pen.canvas.finished(chip.name, chip.netlist(process).ports, dice.below(4), mirrored=dice.chance(50))


def _arrays(
    slots: Sequence[Slot], pen: Pen, process: Process, dice: Dice, difficulty: float, attempt: int
) -> dict[str, Body] | None:
    bodies: dict[str, Body] = {}
    for slot in slots:
        if slot.part.array:
            body = array_body(slot, pen, process, dice, difficulty, attempt)
            if body is None:
                return None
            bodies[slot.part.name] = body
    return bodies


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
    slots: Sequence[Slot],
    arrays: Mapping[str, Body],
    side: Mapping[str, str],
    process: Process,
    dice: Dice,
    difficulty: float,
) -> list[Body] | None:
    """Return the bodies of the core from the bottom up."""
    bodies: list[Body] = []
    for slot in slots:
        if slot.pad is not None:
            continue
        if slot.part.array:
            bodies.append(arrays[slot.part.name])
            continue
        outside = _outside(slot, slots)
        rows = gate_rows(slot, process, dice)
        for row in rows:
            shared = {net for other in rows if other is not row for net in other.leaving}
            leaving = [net for net in row.leaving if net in outside | shared]
            own = Row(replace(row.netlist, ports=_kept(row, leaving)), row.names, tuple(leaving))
            body = row_body(own, {net: side[net] for net in leaving}, process, dice, difficulty)
            if body is None:
                return None
            bodies.append(body)
    return bodies


def _outside(slot: Slot, slots: Sequence[Slot]) -> set[str]:
    """Return the nets that other parts of the chip use too."""
    return {net for other in slots if other is not slot for t in other.netlist.transistors for net in t.terminals}


def _kept(row: Row, leaving: Sequence[str]) -> tuple[str, ...]:
    return tuple(port for port in row.netlist.ports if port not in row.leaving or port in leaving)


def _berths(slots: Sequence[Slot], process: Process, dice: Dice, difficulty: float) -> dict[str, list[Berth]] | None:
    """Return what stands at each pad, from the bottom of its side up; what stands there is drawn once of each sort."""
    drawn: dict[str, tuple[Slot, Body]] = {}
    berths: dict[str, list[Berth]] = {side: [] for side in LEVEL}
    for slot in slots:
        pad = slot.pad
        if pad is None:
            continue
        if pad.sort not in drawn:
            row = pad_row(slot)
            body = row_body(row, {pad.name: "right", pad.net: "left"}, process, dice, difficulty, BORDER)
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


def _mains(core: Core, flanks: Sequence[Flank], top: int, process: Process, dice: Dice) -> None:
    """Draw the main rails: the low supply round the left, bottom and right edge, the high one inside, open below."""
    pen, gap = core.pen, core.pen.metal_gap
    unit, wide = flanks[0].unit, flanks[0].wide
    side = PAD * unit
    low_end = min([0, *(min(f.lows) for f in flanks)]) - pen.rail
    high_end = max([top, *(max(f.highs) for f in flanks), *(max(f.lows) + side + 2 * pen.rail for f in flanks)])
    floor = low_end - 2 * gap - side - wide
    ceiling = high_end + 2 * gap + side
    left, right = flanks
    for flank in flanks:
        x0, x1 = sorted(flank.span(*flank.rim))
        pen.box(pen.metal, (x0, x1), (floor, max(flank.lows) + pen.rail))
        x0, x1 = sorted(flank.span(*flank.leg))
        pen.box(pen.metal, (x0, x1), (min(flank.highs) - pen.rail, ceiling + wide))
    pen.box(pen.metal, (left.x(left.rim[1]), right.x(right.rim[1])), (floor, floor + wide))
    pen.box(pen.metal, (left.x(left.leg[1]), right.x(right.leg[1])), (ceiling, ceiling + wide))
    for flank, ends in ((left, (floor, None)), (right, (None, ceiling + wide))):
        rails = core.rails[flank.side]
        low = min(y - half for y, half in rails) if ends[0] is None else ends[0]
        high = max(y + half for y, half in rails) if ends[1] is None else ends[1]
        x0, x1 = sorted(flank.span(*flank.strap))
        pen.box(pen.metal, (x0, x1), (low, high))
        for y, half in rails:
            pen.level(pen.metal, flank.span(0, flank.strap[1]), y, half)
    places = {process.supplies[0]: (floor + wide, floor + wide + side), process.supplies[1]: (ceiling - side, ceiling)}
    for supply, (y0, y1) in places.items():
        x = core.width * dice.between(35, 65) // 100 // 2 * 2
        pen.box(pen.metal, (x - side // 2, x + side // 2), (y0, y1))
        open_glass(pen, (x - side // 2, x + side // 2), (y0, y1), unit)
        pen.label(supply, pen.metal, x, (y0 + y1) // 2)
