"""Draw a row of transistors in series across gate lines, and the lines, in the way of the process's gates."""

from collections.abc import Collection, Mapping
from enum import Enum

from layoutdrill.drawing.series.plan import Row
from layoutdrill.drawing.series.task import Task
from layoutdrill.drawing.shared.canvas import Span
from layoutdrill.drawing.shared.gate_lines import GateLines, path_over
from layoutdrill.drawing.shared.inverters import InverterRow, RowPlace, inverters
from layoutdrill.drawing.shared.metal import MetalPen
from layoutdrill.drawing.shared.poly import PolyPen
from layoutdrill.units import GridUnits
from layoutdrill.value import value


class GateContacts(Enum):
    """Where poly lines have contacts to metal: nowhere, at one end, or in turn at either."""

    NONE = "plain"
    LOW = "below"
    HIGH = "above"
    SPLIT = "in turn"


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


def row_form(
    task: Task, pen: PolyPen | MetalPen, width: GridUnits, room: tuple[int, int], wider: Mapping[int, int]
) -> RowForm:
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
    across = task.gate_lines(pitch, task.pair_room(pen, room, pitch), wider)
    return RowForm(across, line, half, length, width if isinstance(pen, PolyPen) else 2 * (half - pen.doped.inset))


def contact_room(pen: PolyPen | MetalPen) -> int:
    """Return by how much a gap between lines must be wider for a contact to diffusion in it."""
    return 2 * pen.pad + pen.metal_gap if isinstance(pen, MetalPen) else 0


def draw_row(
    pen: PolyPen | MetalPen, form: RowForm, row: Row, y: GridUnits, ends: Span, wired: Collection[int]
) -> None:
    """Draw a row from one gap to another, both by number, with contacts in the gaps `wired` in which wires reach it."""
    across = form.across
    acting = {across.nets.index(link.gate) for link in row.series}
    for link in row.series:
        pen.size(link.name, form.length, form.width)
    if isinstance(pen, PolyPen):
        pen.series(across, path_over(acting, *ends, wired), y, form.half)
        for link in row.series:
            if link.depletion:
                x, past = across.of(link.gate), pen.buried.implant_past
                far = form.length // 2 + past
                pen.level(pen.buried.implant, (x - far, x + far), y, form.half + past)
        return
    left, right = (pen.body if gap in wired else pen.under.width // 2 for gap in ends)
    reach = across.gaps[ends[0]] - left, across.gaps[ends[1]] + right
    channels = [(across.at[k] - form.length // 2, across.at[k] + form.length // 2) for k in sorted(acting)]
    pen.series(reach, y, form.half, channels)
    for gap in wired:
        if ends[0] <= gap <= ends[1]:
            pen.contact(across.gaps[gap], y)


def hang_inverters(
    pen: PolyPen | MetalPen, task: Task, across: GateLines, place: RowPlace, x: int | None = None
) -> tuple[InverterRow, dict[str, int]]:
    """
    Draw the inverters of the address lines; return their row, and where lines begin that do not run through.

    With metal gates they hang from a bar whose contact is at `x`, or from one that is there already.
    """
    row = inverters(pen, task.stages(across), place)
    stops = dict.fromkeys(task.made, row.outputs)
    if isinstance(pen, MetalPen):
        stops |= {made.line: row.inputs for made in task.complements}
        if x is not None:
            last = max(across.of(made.line) for made in task.complements) + pen.reach(place.driver.width)
            pen.bar(0, (x - pen.body, last), place.base, pen.body)
            pen.contact(x, place.base)
    return row, stops


def draw_lines(
    pen: PolyPen | MetalPen,
    form: RowForm,
    y: Span,
    stops: Mapping[str, int],
    made: Collection[str],
    contacts: GateContacts = GateContacts.NONE,
) -> None:
    """
    Draw the gate lines from end to end, each named at its lower end.

    `stops` says of lines that begin further up where that is; those are named at the top, or not at all if the array
    has `made` them itself.
    """
    half = pen.pad
    for number, (net, x) in enumerate(zip(form.across.nets, form.across.at, strict=True)):
        pen.upright(pen.gates, x, (stops.get(net, y[0]), y[1]), form.line)
        if net in made:
            continue
        low = net not in stops and (
            contacts is GateContacts.LOW or (contacts is GateContacts.SPLIT and number % 2 == 0)
        )
        if contacts is GateContacts.NONE:
            pen.label(net, pen.gates, x, y[1] if net in stops else y[0])
        else:
            at = y[0] - half if low else y[1] + half
            pen.joint(x, at)
            pen.label(net, pen.metal, x, at)
