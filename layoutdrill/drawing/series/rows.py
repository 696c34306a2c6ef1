"""Draw a row of transistors in series across gate lines, and the lines, in the way of the process's gates."""

from collections.abc import Collection, Mapping

from layoutdrill.drawing.series.plan import Row
from layoutdrill.drawing.series.task import GateLines, Task, gate_lines, path_over
from layoutdrill.drawing.shared import GatePen, MetalPen, PolyPen, Span
from layoutdrill.drawing.shared.inverters import InverterRow, RowPlace, inverters, pair_room
from layoutdrill.process.terms import Mode
from layoutdrill.units import GridUnits
from layoutdrill.value import value

_CONTACTS = (), (True,), (False,), (True, False)
"""Whether poly lines, in turn, have contacts to metal at their lower ends: none has any, all below, all above."""


@value
class RowForm:
    """
    What all rows of an array have in common: their gate lines, half the width of a line between gates, half the height
    of a row's silicon, and length and width of its channels.
    """

    across: GateLines
    line: int
    half: GridUnits
    length: GridUnits
    width: GridUnits


def row_form(task: Task, pen: GatePen, width: GridUnits, room: tuple[int, int], wider: Mapping[int, int]) -> RowForm:
    """
    Return the form of rows whose channels have a width.

    `room` are the widths of the inverters' transistors where the netlist leaves them free, and of others that stand
    below a line; `wider` says by the number of a gap what it needs more.
    """
    length, loose = task.link.length or pen.t.channel, task.choices.loose
    if isinstance(pen, PolyPen):
        pitch, line, half = 2 * pen.beside, pen.gate, width // 2
    else:
        gate = length + 2 * pen.cover
        standing = list(room)
        if task.made:  # the netlist may give its inverters other widths
            own = task.inverter_row(0, room)
            standing += [own.driver.width, own.pull_up.width]
        widest = max(gate, max(standing) + 2 * pen.over if max(standing) else 0)
        line, half = task.dice.pick((pen.wire, gate // 2)), pen.reach(width)
        pitch = widest + pen.metal_gap
    pitch += loose
    apart = task.choices.spread  # between columns of address lines
    if task.made:
        apart = max(apart, pair_room(pen, task.inverter_row(0, room), pitch))
    more = dict.fromkeys(range(2, len(task.nets), 2), apart)
    across = gate_lines(task.nets, pitch, more | {gap: max(least, more.get(gap, 0)) for gap, least in wider.items()})
    return RowForm(across, line, half, length, width if isinstance(pen, PolyPen) else 2 * (half - pen.doped.inset))


def contact_room(pen: GatePen) -> int:
    """Return by how much a gap between lines must be wider for a contact to diffusion in it."""
    return 2 * pen.pad + pen.metal_gap if isinstance(pen, MetalPen) else 0


def draw_row(pen: GatePen, form: RowForm, row: Row, y: GridUnits, ends: Span, wired: Collection[int]) -> None:
    """Draw a row from one gap to another, both by number, with contacts in the gaps `wired` in which wires reach it."""
    across = form.across
    acting = {across.nets.index(link.gate) for link in row.series}
    for link in row.series:
        pen.size(link.name, form.length, form.width)
    if isinstance(pen, MetalPen):
        left, right = (pen.body if gap in wired else pen.under.width // 2 for gap in ends)
        reach = across.gaps[ends[0]] - left, across.gaps[ends[1]] + right
        pen.series(reach, y, form.half, (across.at[k] for k in acting), form.length)
        for gap in wired:
            if ends[0] <= gap <= ends[1]:
                pen.contact(across.gaps[gap], y)
        return
    runs, bridges, contacts = path_over(acting, *ends, wired)
    for a, b in runs:
        pen.level(pen.t.diffusion[0], (across.gaps[a] - pen.body, across.gaps[b] + pen.body), y, form.half)
    for a, b in bridges:
        pen.level(pen.metal, (across.gaps[a] - pen.pad, across.gaps[b] + pen.pad), y, pen.pad)
    for gap in contacts:
        pen.contact(across.gaps[gap], y, 0)
    for link in row.series:
        if link.mode is Mode.DEPLETION:
            x, past = across.of(link.gate), pen.buried.implant_past
            far = form.length // 2 + past
            pen.level(pen.buried.implant, (x - far, x + far), y, form.half + past)


def hang_inverters(
    pen: GatePen, task: Task, across: GateLines, place: RowPlace, x: int | None = None
) -> tuple[InverterRow, dict[str, int]]:
    """
    Draw the inverters of the address lines; return their row, and where lines begin that do not run through.

    With metal gates they hang from a bar whose contact is at `x`, or from one that is there already.
    """
    row = inverters(pen, tuple(task.stages(across)), place)
    stops = dict.fromkeys(task.made, row.outputs)
    if isinstance(pen, MetalPen):
        stops |= {i.a: row.inputs for i in task.plan.complements}
        if x is not None:
            last = max(across.of(i.a) for i in task.plan.complements) + pen.reach(place.driver.width)
            pen.bar(0, (x - pen.body, last), place.base, pen.body)
            pen.contact(x, place.base)
    return row, stops


def draw_lines(pen: GatePen, task: Task, form: RowForm, y: Span, stops: Mapping[str, int]) -> None:
    """
    Draw the gate lines from end to end, each named at its lower end.

    `stops` says of lines that begin further up where that is; those are named at the top, or not at all if the array
    has made them itself.
    """
    contacts = task.dice.pick(_CONTACTS) if isinstance(pen, PolyPen) else ()
    for number, (net, x) in enumerate(zip(form.across.nets, form.across.at, strict=True)):
        pen.upright(pen.gates, x, (stops.get(net, y[0]), y[1]), form.line)
        if net in task.made:
            continue
        if not contacts:
            pen.label(net, pen.gates, x, y[1] if net in stops else y[0])
        else:
            low = net not in stops and contacts[number % len(contacts)]
            at = y[0] - pen.pad if low else y[1] + pen.pad
            pen.joint(x, at)
            pen.label(net, pen.metal, x, at)


def tap_gaps(task: Task, across: GateLines) -> list[int]:
    """Choose the gaps in which taps lie, the same under each rail."""
    return sorted(task.dice.shuffled(across.gaps)[: task.dice.between(1, 2 + len(across.gaps) // 4)])
