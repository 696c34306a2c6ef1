"""Draw a tree of switches in silicon gate: strips of diffusion across poly lines, forks upright in metal."""

from layoutdrill.dice import Dice
from layoutdrill.drawing.array import ArrayDrawing
from layoutdrill.drawing.chains import loaded_row
from layoutdrill.drawing.chains.forks import Fork, forks_of
from layoutdrill.drawing.chains.path import grating, path_over
from layoutdrill.drawing.chains.poly_rows import Heads, body, contact, joint, lines, pitch_of, strip, via
from layoutdrill.drawing.chains.sheet import Sheet
from layoutdrill.drawing.chains.task import Task
from layoutdrill.drawing.chains.ties import tied
from layoutdrill.drawing.shared.technique import METAL, OTHER, UPPER_METAL, Technique


def draw(task: Task) -> ArrayDrawing:
    """Return the tree: its root at the left, outputs in metal at the right, rows from the lowest up."""
    t, manner, dice, nets, plan = task.t, task.manner, task.dice, task.nets, task.plan
    sheet = Sheet()
    loaded = t.buried is not None
    across = grating(nets, pitch_of(t) + manner.loose, task.spread(loaded_row.room(task) if loaded else {}))
    width = task.link.width or 2 * dice.between(body(t), body(t) + 3)
    half, metal = width // 2, t.wires[METAL]
    pitch = max(width + t.diffusion_spacing, metal.pad + metal.spacing) + manner.apart
    out = across.gaps[-1] + metal.pad // 2 + metal.spacing + 2 * dice.between(0, 4)
    slim, stub = metal.width // 2, metal.pad // 2
    share = dice.pick((0, 50, 100))
    in_metal = {0} | {column for column in range(len(plan.pairs)) if dice.chance(share)}
    raised = bool(t.via) and dice.chance(50)
    for number, chain in enumerate(plan.chains):
        y = number * pitch
        acting = {nets.index(link.gate) for link in chain.series}
        first = min(link.column for link in chain.series) - plan.first_column
        forks_here = {2 * column: column in in_metal for column in range(first, len(plan.pairs))}
        wired = {gap for gap, metal_there in forks_here.items() if metal_there} | {len(nets)}
        for gap in forks_here:
            if gap not in wired and not {gap - 1, gap} & acting:
                contact(sheet, t, "active", across.gaps[gap], y)
        strip(sheet, t, "active", across, path_over(acting, 2 * first, len(nets), wired), y, half)
        end = across.gaps[-1] + 2 * metal.pad if raised else out
        sheet.box("metal", (across.gaps[-1], end), (y - slim, y + slim))
        if raised:
            via(sheet, t, end, y)
            sheet.box(t.wires[UPPER_METAL].layer, (end, end + out - across.gaps[-1]), (y - slim, y + slim))
        sheet.label(chain.output, t.wires[UPPER_METAL].layer if raised else "metal", end, y)
        for link in chain.series:
            sheet.sizes[link.name] = 1, task.link.length or t.channel, width
    forks = forks_of(plan)
    for fork in forks:
        x, rows = across.gaps[2 * fork.column], tuple(row * pitch for row in fork.rows)
        if fork.column in in_metal:
            sheet.box("metal", (x - stub, x + stub), (rows[0] - stub, rows[1] + stub))
        else:
            sheet.box("active", (x - slim, x + slim), (rows[0], rows[1]))
    span = -max(half, stub), (len(plan.chains) - 1) * pitch + max(half, stub)
    left = across.gaps[0] - stub
    strapped, stops = False, dict[str, int]()
    if t.implants is not None:
        span, strapped, stops = tied(sheet, task, across, (-half, (len(plan.chains) - 1) * pitch + half))
    elif loaded and task.made:
        made = loaded_row.inverters(sheet, task, across, span[0])
        span, stops = (made.low, span[1]), made.stops
        for net, place in zip(task.supplies, made.rails, strict=True):
            sheet.box("metal", (left, across.gaps[-1] + stub), (place - stub, place + stub))
            sheet.label(net, "metal", left, place)
    _root(sheet, t, forks[0], left, pitch, strapped=strapped, dice=dice)
    past = metal.spacing + 2 * dice.between(0, 3)
    lines(sheet, t, across, (span[0] - past, span[1] + past), dice.pick(tuple(Heads)), stops)
    return sheet.finished(task.netlist.name, manner)


def _root(sheet: Sheet, t: Technique, fork: Fork, x: int, pitch: int, *, strapped: bool, dice: Dice) -> None:
    """Lead the root out to the left at one of the rows it forks to, below or above a strap where one is in the way."""
    metal, poly = t.wires[METAL], t.wires[OTHER]
    y = dice.pick(fork.rows) * pitch
    half = metal.pad // 2
    if not strapped:
        end = x - metal.spacing - 2 * dice.between(0, 4)
        sheet.box("metal", (end, x + half), (y - metal.width // 2, y + metal.width // 2))
        sheet.label(fork.net, "metal", end, y)
        return
    at = x - t.other_gap - half
    wire = t.wires[UPPER_METAL] if t.via else poly
    sheet.box("metal", (at - half, x + half), (y - half, y + half))
    (via if t.via else joint)(sheet, t, at, y)
    end = at - half - 2 * metal.spacing - metal.pad - 8
    sheet.box(wire.layer, (end, at), (y - wire.width // 2, y + wire.width // 2))
    sheet.label(fork.net, wire.layer, end, y)
