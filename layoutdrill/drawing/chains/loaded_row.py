"""Draw a row of inverters with depletion loads below the address lines that they make, in silicon gate."""

from dataclasses import dataclass

from layoutdrill.drawing.chains.path import Grating
from layoutdrill.drawing.chains.poly_rows import body, contact
from layoutdrill.drawing.chains.sheet import Sheet, Span
from layoutdrill.drawing.chains.task import Task
from layoutdrill.drawing.shared.technique import METAL, OTHER


@dataclass(frozen=True, slots=True)
class Inverters:
    """The middles of both level rails, from the lowest metal on, and where each made line begins."""

    rails: tuple[int, int]
    low: int
    stops: dict[str, int]


def room(task: Task) -> dict[int, int]:
    """Return which gaps between the columns must be wider: a driver's contact to the rail stands beside a load."""
    t = task.t
    if not task.made:
        return {}
    least = t.gate // 2 + t.diffusion_spacing + 2 * body(t) + t.contact_gate - t.surround + t.gate // 2
    more = max(0, least - (t.gate + 2 * t.contact_gate + t.contact))
    return task.wider({(True, False): more, (False, True): more})


def inverters(sheet: Sheet, task: Task, across: Grating, top: int) -> Inverters:
    """
    Draw the row below `top`, the lowest edge of the array.

    Each line runs down across its driver, between the rail and the end of the line that is made; that ends in a buried
    contact to the driver's drain and goes on as the gate of the load, which stands below.
    """
    t, metal = task.t, task.t.wires[METAL]
    size = task.sizes[task.complements[0].transistors[0]]
    load = task.sizes[task.complements[0].transistors[1]]
    half, rail = (size.width or t.widths[0][0]) // 2, t.rail // 2
    y = top - max(half + t.diffusion_spacing, rail + metal.spacing)
    gate = y - half - t.other_gap - load.length, y - half - t.other_gap
    tap = gate[0] - t.contact_gate - t.contact // 2
    stops = {}
    for made in task.complements:
        own, other = across.nets.index(made.line), across.nets.index(made.complement)
        x, end = across.at[own], across.at[other]
        far = _far(task, across, own, other)
        reach = t.wires[OTHER].width // 2
        side = (far - body(t), end + reach) if end > x else (end - reach, far + body(t))
        sheet.box("active", side, (y - half, y + half))
        contact(sheet, t, "active", far, y)
        _load(sheet, task, end, (y, half), gate, load.width // 2)
        contact(sheet, t, "active", end, tap)
        stops[made.complement] = gate[0]
        sheet.sizes[made.transistors[0]] = 1, size.length or t.channel, 2 * half
        sheet.sizes[made.transistors[1]] = 1, load.length, load.width
    return Inverters((y, tap), tap - metal.pad // 2, stops)


def _far(task: Task, across: Grating, own: int, other: int) -> int:
    """Return where a driver's contact to the rail lies; two drivers side by side share one."""
    t = task.t
    way = own - other
    beyond = own + way
    if 0 <= beyond < len(across.nets) and across.nets[beyond] not in task.made:
        return (across.at[own] + across.at[beyond]) // 2
    return across.at[own] + way * (t.gate // 2 + t.contact_gate + t.contact // 2)


def _load(sheet: Sheet, task: Task, x: int, strip: Span, gate: Span, half: int) -> None:
    """Draw a load that stands below its driver's drain; `strip` is the drain's middle and half its height."""
    t = task.t
    buried = t.buried
    assert buried is not None
    y, high = strip
    reach, wide = t.wires[OTHER].width // 2, half + t.gate_past
    sheet.box("poly", (x - reach, x + reach), (gate[1], y + high))
    sheet.box("poly", (x - wide, x + wide), gate)
    past = max(reach, half) + buried.past
    sheet.box(buried.layer, (x - past, x + past), (gate[1], y + high + buried.past))
    sheet.box("active", (x - half, x + half), (gate[0] - t.contact_gate - t.contact // 2, y))
    past = buried.implant_past
    sheet.box(buried.implant, (x - half - past, x + half + past), (gate[0] - past, gate[1] + past))
