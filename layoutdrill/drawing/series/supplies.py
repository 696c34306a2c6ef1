"""Join the rails of rows with poly gates, tie their silicon to them, and lead outputs out beneath."""

from collections.abc import Iterable, Sequence

from layoutdrill.drawing.series.task import GateLines, Task
from layoutdrill.drawing.shared import PolyPen, Span
from layoutdrill.units import GridUnits

Rails = Sequence[tuple[int, int]]
"""The height and the supply, 0 or 1, of each level rail, from one end to the other."""


def tap_gaps(task: Task, across: GateLines) -> list[int]:
    """Choose the gaps in which taps lie, the same under each rail."""
    return sorted(task.dice.shuffled(across.gaps)[: task.dice.between(1, 2 + len(across.gaps) // 4)])


def broaden(pen: PolyPen, rails: Rails, x: Span, free: Iterable[int]) -> None:
    """Lay the second metal over the level rails, with vias in gaps that have no taps."""
    for y, _ in rails:
        pen.level(pen.upper.layer, x, y, pen.t.broad // 2)
        for at in free:
            pen.square(pen.t.via, at, y, pen.cut)


def lead_out(pen: PolyPen, task: Task, ports: Iterable[tuple[str, int]], x: GridUnits, *, raised: bool) -> Span:
    """
    Lead wires that end at `x` on under an upright rail: in poly, or where there is one in the second metal above it, in
    which `raised` wires lie already.

    Returns where the rails of the side may begin and end.
    """
    wire = pen.upper if pen.t.via else pen.under
    at = x + pen.t.other_gap + pen.pad
    start = at + pen.pad + pen.metal_gap
    end = start + 2 * pen.pad + pen.rail_extra
    out = end + pen.metal_gap + pen.pad
    ported = not pen.t.via and task.dice.chance(50)
    for net, y in ports:
        if not raised:
            pen.level(pen.metal, (x, at + pen.pad), y, pen.pad)
            for place in (at, out) if ported else (at,):
                (pen.via if pen.t.via else pen.joint)(place, y)
        pen.level(wire.layer, (x if raised else at, out), y, wire.width // 2)
        pen.label(net, pen.metal if ported else wire.layer, out, y)
    return start, end


def join_rails(pen: PolyPen, task: Task, rails: Rails, core: Span, strap: Span) -> None:
    """Draw the level rails, those of one supply joined at the left, of the other at `strap` at the right."""
    at_right = task.dice.below(2)
    left = core[0] - pen.metal_gap - (strap[1] - strap[0]), core[0] - pen.metal_gap
    for supply in (0, 1):
        ys = [y for y, own in rails if own == supply]
        side = strap if supply == at_right else left
        x = (core[0], strap[1]) if supply == at_right else (left[0], core[1])
        for y in ys:
            pen.level(pen.metal, x, y, pen.rail)
        pen.box(pen.metal, side, (min(ys) - pen.rail, max(ys) + pen.rail))
        pen.label(task.supplies[supply], pen.metal, sum(side) // 2, task.dice.pick(ys))
