"""
Draw the inverters of the address lines in metal gate, below the array: a line ends over the window of its driver, the
one that is made begins in a contact to the drain. The supplies come in bars below the metal.
"""

from dataclasses import dataclass

from layoutdrill.drawing.chains.metal_rows import (
    bar_end,
    bar_gap,
    body,
    contact,
    doped,
    half_between,
    pad,
    silicon,
    standing,
)
from layoutdrill.drawing.chains.path import Grating
from layoutdrill.drawing.chains.sheet import Sheet, Span
from layoutdrill.drawing.chains.task import Task
from layoutdrill.drawing.shared.technique import METAL


@dataclass(frozen=True, slots=True)
class Stage:
    """Length and width of the drivers' channels, which stand between bars, and half the height of those bars."""

    length: int
    width: int
    half: int


def room(task: Task, pitch: int, width: int) -> dict[int, int]:
    """Return which gaps between the columns must be wider: where two drains, or two of their contacts, meet."""
    t, apart = task.t, task.t.diffusion_spacing
    drains = max(0, 2 * bar_end(t, width) + apart - pitch)
    contacts = max(0, 2 * body(t) + apart - pitch)
    mixed = max(0, bar_end(t, width) + body(t) + apart - pitch)
    return task.wider({(False, False): drains, (True, True): contacts, (True, False): mixed, (False, True): mixed})


def drains(sheet: Sheet, task: Task, across: Grating, stage: Stage, mask: str, y: int) -> None:
    """Draw the drain of each inverter at the height `y`: from its driver to the line that is made, with a contact."""
    t = task.t
    for made in task.complements:
        a, b = (across.at[across.nets.index(net)] for net in (made.line, made.complement))
        end = bar_end(t, stage.width)
        x = (a - end, b + body(t)) if b > a else (b - body(t), a + end)
        silicon(sheet, t, mask, [x], (y - stage.half, y + stage.half))
        contact(sheet, t, mask, b, y, silicon_too=False)


def drivers(sheet: Sheet, task: Task, across: Grating, stage: Stage, y: int, which: int) -> None:
    """Draw a standing channel on each line at the height `y`; `which` of an inverter's transistors it is."""
    for made in task.complements:
        standing(sheet, task.t, across.at[across.nets.index(made.line)], y, stage.length, stage.width)
        sheet.sizes[made.transistors[which]] = 1, stage.length, stage.width


def source(sheet: Sheet, task: Task, across: Grating, stage: Stage, mask: str, y: int, x: int) -> None:
    """Draw the bar of a supply at the height `y`, from its contact at `x` to the last driver."""
    t = task.t
    last = max(across.at[across.nets.index(made.line)] for made in task.complements) + bar_end(t, stage.width)
    silicon(sheet, t, mask, [(x - body(t), last)], (y - stage.half, y + stage.half))
    contact(sheet, t, mask, x, y, silicon_too=False)


def stops_of(task: Task, stage: Stage, driver: int, drain: int) -> dict[str, int]:
    """Return where the lines begin: their own over the lowest driver, those that are made at the lowest drain."""
    d = doped(task.t)
    low = driver - stage.length // 2 - d.window_past - d.metal_past
    return dict.fromkeys(task.nets, low) | dict.fromkeys(task.made, drain - pad(task.t))


@dataclass(frozen=True, slots=True)
class Loaded:
    """
    A row of inverters with loads: where its lines begin, the height of the contact to the drivers' rail, and from where
    to where the metal of the loads' rail reaches.
    """

    stops: dict[str, int]
    sink: int
    rail: Span


def loaded(sheet: Sheet, task: Task, across: Grating, top: int, left: int) -> Loaded:
    """
    Draw inverters with enhancement loads below `top`; the drivers' rail is met at x = `left`.

    Each load stands below its drain; the metal of its rail, level and broad, is the gate of all of them.
    """
    t, d, wire = task.t, doped(task.t), task.t.wires[METAL]
    mask = d.doping[0]
    size, load = (task.sizes[name] for name in task.complements[0].transistors)
    stage = Stage(size.length or t.channel, size.width or t.widths[0][0], half_between(t))
    gap = bar_gap(t, stage.length)
    sink = top - t.diffusion_spacing - stage.half
    drain = sink - 2 * stage.half - gap
    source(sheet, task, across, stage, mask, sink, left)
    drains(sheet, task, across, stage, mask, drain)
    drivers(sheet, task, across, stage, (sink + drain) // 2, 0)
    cover = d.window_past + d.metal_past
    start = drain - pad(t) - wire.spacing - cover
    end = start - load.length
    tap = end - cover - t.contact_gate - t.contact // 2
    wide = max(load.width // 2 + d.inset, body(t))
    for made in task.complements:
        x = across.at[across.nets.index(made.complement)]
        sheet.box(mask, (x - wide, x + wide), (start, drain))
        sheet.box(mask, (x - wide, x + wide), (tap - body(t), end))
        half = load.width // 2
        sheet.box(d.window, (x - half, x + half), (end - d.window_past, start + d.window_past))
        sheet.square("contact", x, tap, t.contact // 2)
        sheet.sizes[made.transistors[1]] = 1, load.length, load.width
    stops = stops_of(task, stage, (sink + drain) // 2, drain)
    return Loaded(stops, sink, (tap - pad(t), start + cover))
