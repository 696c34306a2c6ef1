"""Draw an unbroken diffusion: its gates, what lies between them, and the distances that they keep."""

import itertools
from collections.abc import Iterable, Mapping, Sequence

from layoutdrill.drawing.row_pairs.placing.floor import Gate, Strip
from layoutdrill.drawing.row_pairs.placing.folding import Box
from layoutdrill.drawing.row_pairs.placing.forms import under
from layoutdrill.drawing.row_pairs.placing.pairing import Device
from layoutdrill.drawing.row_pairs.shaping.bent import Upright, draw_bent, draw_step
from layoutdrill.drawing.row_pairs.shaping.pockets import rise_of
from layoutdrill.drawing.row_pairs.shaping.sketch import Edge, Shape, Sketch
from layoutdrill.drawing.shared.technique import METAL, GateForm, Technique

Landed = Mapping[int, Sequence[tuple[int, bool]]]
"""For each region by its id, the lines of its contacts from the left, and which of them are buried."""


Bands = tuple[int, Mapping[int, tuple[int, int]]]
"""How far above a strip's lower edge its contacts lie, and from where to where low regions reach, by id."""


def half_of(gate: Gate, t: Technique) -> int:
    """Return half the width of a gate's wire."""
    return (t.gate - t.channel + extent(gate.device, t)) // 2


def extent(device: Device, t: Technique) -> int:
    """Return how far a channel reaches from end to end: its length, or less when it is folded."""
    return device.fold.plate if device.fold is not None else device.length or t.channel


def draw_strip(out: Sketch, t: Technique, strip: Strip, net: int, ends: tuple[int, int], line: int, height: int,
               gates: Mapping[int, int], landed: Landed, bands: Bands) -> None:  # fmt: skip
    """
    Add a strip between the lines `ends` whose lower edge is `line`; `gates` are the lines of the gates by id.

    Channels narrower than the strip lie about the height of its contacts, where the diffusion is drawn in.
    """
    _chain(out, t, strip, ends, gates, landed)
    bent = strip.bent
    up = Upright(line, height, strip.row)
    for first, last, _ in bent:
        draw_bent(out, t, first, last, gates, ends[first.device.far], up)
    curved = {id(gate) for first, last, _ in bent for gate in (first, last)}
    for gate in strip.gates:
        if gate.device.step:
            draw_step(out, t, gate, gates[id(gate)], up)
            curved.add(id(gate))
    (left, right), y0, y1 = ends, (line, 0), (line, height)
    widths = {id(gate): gate.device.width or height - 2 * t.inset for gate in strip.gates}
    even = all(width == height - 2 * t.inset for width in widths.values())
    even = even and all(gate.device.fold is None for gate in strip.gates)
    bulk = t.doped is not None and not t.doped.island
    whole = even and not bulk
    mask = t.diffusion[strip.row] if whole else ""
    out.shapes.append(Shape(mask, "diffusion", net, (left, 0), (right, 0), y0, y1, solid=True))
    if not whole and not bulk:
        _necks(out, t, strip, ends, line, height, gates, landed, bands, widths)
    if t.doped is not None:
        _doping(out, t, strip, ends, line, height, gates)
    wire = t.wires[t.gate_layer]
    sort = "metal" if t.gate_layer == METAL else "other"
    for gate in strip.gates:
        if id(gate) in curved:
            continue
        x, half, width = gates[id(gate)], half_of(gate, t), widths[id(gate)]
        y0, y1 = (line, -t.gate_past), (line, height + t.gate_past)
        out.shapes.append(Shape(wire.layer, sort, gate.device.gate, (x, -half), (x, half), y0, y1, solid=True))
        channel = extent(gate.device, t) // 2
        fold = gate.device.fold
        rise = rise_of(width + 2 * t.inset, height, bands[0]) + t.inset
        if fold is not None:
            rise, width = (height - fold.height) // 2, fold.height
        if t.doped is not None and bulk and fold is not None:
            _folded(out, t.doped.window, fold.grown(t.doped.window_past, 0), (x, -channel), (line, rise))
        elif t.doped is not None:
            across = channel + t.doped.window_past
            along = 0 if bulk else t.doped.window_past
            y0, y1 = (line, rise - along), (line, rise + width + along)
            out.shapes.append(Shape(t.doped.window, "", 0, (x, -across), (x, across), y0, y1, solid=True))
        if t.buried is not None and gate.device.depletion:
            past = t.buried.implant_past
            y0, y1 = (line, rise - past), (line, rise + width + past)
            box = (x, -channel - past), (x, channel + past), y0, y1
            out.shapes.append(Shape(t.buried.implant, "", 0, *box, solid=True))


def _folded(out: Sketch, mask: str, boxes: Iterable[Box], x: Edge, y: Edge) -> None:
    """Draw the boxes of a fold from the places `x` and `y` on."""
    for a, b, low, high in boxes:
        across, along = ((x[0], x[1] + a), (x[0], x[1] + b)), ((y[0], y[1] + low), (y[0], y[1] + high))
        out.shapes.append(Shape(mask, "", 0, *across, *along, solid=True))


def _chain(out: Sketch, t: Technique, strip: Strip, ends: tuple[int, int], gates: Mapping[int, int],
           landed: Landed) -> None:  # fmt: skip
    """Keep contacts, gates and the ends of a diffusion in order and apart."""
    left, right = ends
    rules = out.x_rules
    inset = t.contact // 2 + t.surround
    left_of: list[Edge] = []
    right_of: list[Edge] = []
    before: Gate | None = None
    lines: Sequence[tuple[int, bool]] = ()
    for item in strip.items:
        if isinstance(item, Gate):
            line, half = gates[id(item)], half_of(item, t)
            left_step, right_step = min(0, item.device.step), max(0, item.device.step)
            rules += [(other, line, half - right_step + _near(t, buried=buried)) for other, buried in lines]
            if before is not None:
                gap = t.wires[t.gate_layer].spacing
                if before.device.width != item.device.width and t.form is GateForm.POLY:
                    gap = t.diffusion_past + t.other_gap
                reach = half_of(before, t) + max(0, before.device.step)
                rules.append((gates[id(before)], line, half - left_step + reach + gap))
            left_of.append((line, left_step - half - t.diffusion_past))
            right_of.append((line, right_step + half + t.diffusion_past))
            before = item
        else:
            lines = landed[id(item)]
            for (a, _), (b, _) in itertools.pairwise(lines):
                rules.append((a, b, 2 * t.contact))
            if before is not None:
                near = half_of(before, t) + min(0, before.device.step)
                rules += [(gates[id(before)], other, near + _near(t, buried=buried)) for other, buried in lines]
            left_of += [(other, -inset) for other, _ in lines]
            right_of += [(other, inset) for other, _ in lines]
    rules += [(left, line, -offset) for line, offset in left_of]
    rules += [(line, right, offset) for line, offset in right_of]
    out.snug_x += [(left, 1, left_of), (right, -1, right_of)]


def _near(t: Technique, *, buried: bool) -> int:
    """Return how far the middle of a contact stays from the edge of a gate."""
    if buried:
        assert t.buried is not None
        return t.gate // 2 + t.buried.past + t.buried.gate
    return t.contact // 2 + t.contact_gate


def _necks(out: Sketch, t: Technique, strip: Strip, ends: tuple[int, int], line: int, height: int,
           gates: Mapping[int, int], landed: Landed, bands: Bands, widths: Mapping[int, int]) -> None:  # fmt: skip
    """Draw a strip in pieces: as high as the row at contacts, as high as its channel under each gate."""
    inset = t.contact // 2 + t.surround
    mask = t.diffusion[strip.row]

    def piece(x0: Edge, x1: Edge, width: int) -> None:
        rise = rise_of(width, height, bands[0])
        out.shapes.append(Shape(mask, "", 0, x0, x1, (line, rise), (line, rise + width), solid=True))

    for place in range(1, len(strip.items), 2):
        gate = strip.items[place]
        x, width = gates[id(gate)], widths[id(gate)]
        device = gate.device  # type: ignore[union-attr]
        half = half_of(gate, t)  # type: ignore[arg-type]
        past = -half - t.diffusion_past + min(0, device.step), half + t.diffusion_past + max(0, device.step)
        if device.step:
            piece((x, past[0]), (x, past[1]), width)
        reach: list[Edge] = []
        for side in (-1, 1):
            lines = [at for at, _ in landed[id(strip.items[place + side])]]
            beyond = place + 2 * side
            if lines:
                reach.append((lines[-1] if side < 0 else lines[0], 0))
            elif not 0 <= beyond < len(strip.items):
                reach.append((ends[side > 0], 0))
            elif widths[id(strip.items[beyond])] < width:
                reach.append((x, past[side > 0]))
            else:
                reach.append((gates[id(strip.items[beyond])], 0))
        fold = device.fold
        if fold is None:
            piece(reach[0], reach[1], width)
            continue
        start, y = (x, -fold.plate // 2), (line, (height - fold.height) // 2)
        _folded(out, mask, fold.boxes, start, y)
        for a, b, low, high in fold.boxes:
            y0, y1 = (line, y[1] + low), (line, y[1] + high)
            if a == 0:
                out.shapes.append(Shape(mask, "", 0, reach[0], (x, start[1] + b), y0, y1, solid=True))
            if b == fold.plate:
                out.shapes.append(Shape(mask, "", 0, (x, start[1] + a), reach[1], y0, y1, solid=True))
    for region in strip.regions:
        lines = [at for at, _ in landed[id(region)]]
        if lines:
            low, high = bands[1].get(id(region), (0, height))
            y0, y1 = (line, low), (line, high)
            out.shapes.append(Shape(mask, "", 0, (lines[0], -inset), (lines[-1], inset), y0, y1, solid=True))


def _doping(out: Sketch, t: Technique, strip: Strip, ends: tuple[int, int], line: int, height: int,
            gates: Mapping[int, int]) -> None:  # fmt: skip
    """Dope source and drain only, where the gate is metal; poly gates mask themselves."""
    assert t.doped is not None
    past = t.doped.past
    halves = [(gates[id(gate)], extent(gate.device, t) // 2) for gate in strip.gates]
    starts = [(ends[0], -past)] + [(x, half) for x, half in halves]
    stops = [(x, -half) for x, half in halves] + [(ends[1], past)]
    mask, up = t.doped.doping[strip.row], Upright(line, height, strip.row)
    inside = {id(region) for _, _, region in strip.bent}
    wide = t.channel
    for region, x0, x1 in zip(strip.regions, starts, stops, strict=True):
        if id(region) not in inside:
            out.shapes.append(Shape(mask, "", 0, x0, x1, *up.span(-past, height + past), solid=True))
            continue
        low = under(t)
        out.shapes.append(Shape(mask, "", 0, x0, x1, *up.span(low + wide, height + past), solid=True))
        left = x0 if x0[0] == ends[0] else (x0[0], x0[1] - wide)
        right = x1 if x1[0] == ends[1] else (x1[0], x1[1] + wide)
        out.shapes.append(Shape(mask, "", 0, left, right, *up.span(-past, low), solid=True))
