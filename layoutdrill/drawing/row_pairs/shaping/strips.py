"""Draw an unbroken diffusion: its gates, what lies between them, and the distances that they keep."""

import itertools
from collections.abc import Iterable

from layoutdrill.drawing.row_pairs.placing.floor import Gate
from layoutdrill.drawing.row_pairs.placing.folding import Box
from layoutdrill.drawing.row_pairs.placing.forms import under
from layoutdrill.drawing.row_pairs.shaping.bent import draw_bent, draw_step
from layoutdrill.drawing.row_pairs.shaping.lane import Lane, extent, half_of
from layoutdrill.drawing.row_pairs.shaping.lines import Edge, about, span
from layoutdrill.drawing.row_pairs.shaping.sketch import Paint, Sketch, Sort
from layoutdrill.drawing.shared.technique import GateForm, Technique


def draw_strip(out: Sketch, lane: Lane, net: int) -> None:
    """
    Add a strip; its diffusion counts as `net`.

    Channels narrower than the strip lie about the height of its contacts, where the diffusion is drawn in.
    """
    t, strip = lane.technique, lane.strip
    _keep_order(out, lane)
    bends = strip.bent
    for first, last, _ in bends:
        draw_bent(out, lane, first, last)
    steps = [gate for gate in strip.gates if gate.step]
    for gate in steps:
        draw_step(out, lane, gate)
    curved = {*steps, *(gate for first, last, _ in bends for gate in (first, last))}
    full = lane.height - 2 * t.inset
    even = all(lane.width(gate) == full and gate.device.fold is None for gate in strip.gates)
    mask = t.diffusion[strip.row] if even and not t.bulk else ""
    out.box(Paint(mask, Sort.DIFFUSION, net), ((lane.left, 0), (lane.right, 0)), lane.whole)
    if not even and not t.bulk:
        _draw_necks(out, lane)
    if t.doped is not None:
        _dope(out, lane)
    for gate in strip.gates:
        if gate not in curved:
            _draw_gate(out, lane, gate)


def _draw_gate(out: Sketch, lane: Lane, gate: Gate) -> None:
    """Draw a straight gate, with the window or the implant of its channel."""
    t, device, x = lane.technique, gate.device, lane.gates[gate]
    upright = lane.inward(-t.gate_past, lane.height + t.gate_past)
    out.box(out.wire_paint(t.gate_layer, device.gate), about(x, half_of(gate, t)), upright)
    channel, fold, width = extent(device, t) // 2, device.fold, lane.width(gate)
    rise = lane.rise(width + 2 * t.inset) + t.inset
    if fold is not None:
        rise, width = (lane.height - fold.height) // 2, fold.height

    def cover(mask: str, across: int, along: int) -> None:
        out.box(Paint(mask), about(x, channel + across), span(lane.line, rise - along, rise + width + along))

    if t.doped is not None and t.bulk and fold is not None:
        _draw_fold(out, t.doped.window, fold.grown(t.doped.window_past, 0), (x, -channel), (lane.line, rise))
    elif t.doped is not None:
        cover(t.doped.window, t.doped.window_past, 0 if t.bulk else t.doped.window_past)
    if t.buried is not None and device.depletion:
        cover(t.buried.implant, t.buried.implant_past, t.buried.implant_past)


def _draw_fold(out: Sketch, mask: str, boxes: Iterable[Box], x: Edge, y: Edge) -> None:
    """Draw the boxes of a fold from the places `x` and `y` on."""
    for a, b, low, high in boxes:
        out.box(Paint(mask), span(x[0], x[1] + a, x[1] + b), span(y[0], y[1] + low, y[1] + high))


def _keep_order(out: Sketch, lane: Lane) -> None:
    """Keep contacts, gates and the ends of a diffusion in order and apart."""
    t, keep, gates, regions = lane.technique, out.x.keep, lane.strip.gates, lane.strip.regions
    kept = [about(at, t.body // 2) for region in regions for at, _ in lane.contacts[region]]
    kept += [span(lane.gates[gate], *lane.sides(gate, t.diffusion_past)) for gate in gates]
    for region in regions:
        out.x.order((at for at, _ in lane.contacts[region]), 2 * t.contact)
    for gate, left, right in zip(gates, regions, regions[1:], strict=False):
        line, half, step = lane.gates[gate], half_of(gate, t), gate.step
        for at, buried in lane.contacts[left]:  # contacts may move in beside a gate that steps aside
            keep(at, line, half - max(0, step) + _near(t, buried=buried))
        for at, buried in lane.contacts[right]:
            keep(line, at, half + min(0, step) + _near(t, buried=buried))
    for gate, after in itertools.pairwise(gates):
        gap = t.wires[t.gate_layer].spacing
        if gate.device.size.width != after.device.size.width and t.form is GateForm.POLY:
            gap = t.diffusion_past + t.other_gap
        keep(lane.gates[gate], lane.gates[after], lane.sides(gate)[1] + gap - lane.sides(after)[0])
    for low_edge, high_edge in kept:
        keep(lane.left, low_edge[0], -low_edge[1])
        keep(high_edge[0], lane.right, high_edge[1])
    lows, highs = zip(*kept, strict=True)
    out.x.followers += [(lane.left, 1, [*lows]), (lane.right, -1, [*highs])]


def _near(t: Technique, *, buried: bool) -> int:
    """Return how far the middle of a contact stays from the edge of a gate."""
    if buried:
        assert t.buried is not None
        return t.gate // 2 + t.buried.past + t.buried.gate
    return t.contact // 2 + t.contact_gate


def _draw_necks(out: Sketch, lane: Lane) -> None:
    """Draw a strip in pieces: as high as the row at contacts, as high as its channel under each gate."""
    t = lane.technique
    paint, inset = Paint(t.diffusion[lane.strip.row]), t.body // 2
    for gate in lane.strip.gates:
        x, width, fold = lane.gates[gate], lane.width(gate), gate.device.fold
        left, right = _neck_end(lane, gate, -1), _neck_end(lane, gate, 1)
        if gate.step:
            out.box(paint, span(x, *lane.sides(gate, t.diffusion_past)), lane.band(width))
        if fold is None:
            out.box(paint, (left, right), lane.band(width))
            continue
        start, rise = -fold.plate // 2, (lane.height - fold.height) // 2
        _draw_fold(out, paint.mask, fold.boxes, (x, start), (lane.line, rise))
        for a, b, low, high in fold.boxes:
            y = span(lane.line, rise + low, rise + high)
            if a == 0:
                out.box(paint, (left, (x, start + b)), y)
            if b == fold.plate:
                out.box(paint, ((x, start + a), right), y)
    for region in lane.strip.regions:
        lines = [at for at, _ in lane.contacts[region]]
        if lines:
            out.box(paint, ((lines[0], -inset), (lines[-1], inset)), span(lane.line, *lane.region(region)))


def _neck_end(lane: Lane, gate: Gate, side: int) -> Edge:
    """Return where the diffusion of a gate ends on a side, −1 or +1: contact, wider channel or border."""
    gates, right = lane.strip.gates, side > 0
    beyond = gates.index(gate) + side
    contacts = lane.contacts[lane.strip.beside(gate)[right]]
    if contacts:
        return contacts[0 if right else -1][0], 0
    if not 0 <= beyond < len(gates):
        return (lane.right if right else lane.left), 0
    if lane.width(gates[beyond]) < lane.width(gate):
        return lane.gates[gate], lane.sides(gate, lane.technique.diffusion_past)[right]
    return lane.gates[gates[beyond]], 0


def _dope(out: Sketch, lane: Lane) -> None:
    """Dope source and drain only, where the gate is metal; poly gates mask themselves."""
    t, strip = lane.technique, lane.strip
    assert t.doped is not None
    past, low, wide = t.doped.past, under(t), t.channel
    paint = Paint(t.doped.doping[strip.row])
    inside = {region for _, _, region in strip.bent}
    channels = [about(lane.gates[gate], extent(gate.device, t) // 2) for gate in strip.gates]
    starts = [(lane.left, -past), *(stop for _, stop in channels)]
    stops = [*(start for start, _ in channels), (lane.right, past)]
    for region, x0, x1 in zip(strip.regions, starts, stops, strict=True):
        if region not in inside:
            out.box(paint, (x0, x1), lane.inward(-past, lane.height + past))
            continue
        out.box(paint, (x0, x1), lane.inward(low + wide, lane.height + past))
        left = x0 if x0[0] == lane.left else (x0[0], x0[1] - wide)
        right = x1 if x1[0] == lane.right else (x1[0], x1[1] + wide)
        out.box(paint, (left, right), lane.inward(-past, low))
