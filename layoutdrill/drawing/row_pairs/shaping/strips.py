"""
Draw a strip of diffusion with its gates, straight ones and those that are not: rings, hooks, elbows and steps.

Corners are square. A channel of even breadth b along a centre line of length c has the area b · c, and edges whose
mean is c, corners and closed rings included; so W is the length of the centre line and L is b (common practice for
bent gates; Mead & Conway 1980 count a corner square as less, from memory). The stub by which a ring's gate leaves
over its source is channel too and counts with it, though it has source on both sides.
"""

import itertools
from collections.abc import Iterable

from layoutdrill.drawing.row_pairs.placing.devices import Box, Form
from layoutdrill.drawing.row_pairs.placing.floor import Gate
from layoutdrill.drawing.row_pairs.placing.forms import under
from layoutdrill.drawing.row_pairs.shaping.lane import Lane, extent, half_of, middle
from layoutdrill.drawing.row_pairs.shaping.lines import Edge, Span, about, span
from layoutdrill.drawing.row_pairs.shaping.sketch import Bent, Paint, Sketch, Sort
from layoutdrill.drawing.shared.technique import GateForm, Technique
from layoutdrill.geometry.cutting import union
from layoutdrill.geometry.regions import edge_length

Bars = list[tuple[Span, Span]]


def measured(sketch: Sketch) -> dict[str, tuple[int, float, float]]:
    """
    Return fingers, and length and width in grid units, of each bent channel once its lines have their places.

    The edges of a channel are its outline without the ends at which it is cut off.
    """
    sizes = {}
    for bent in sketch.bent:
        rects = union([sketch.rect(x, y) for x, y in bent.boxes])
        outline = sum(2 * (r.width + r.height) for r in rects)
        outline -= 2 * sum(edge_length(a, b) for a, b in itertools.combinations(rects, 2) if a.touches(b))
        width = (outline - bent.ends * sketch.technique.channel) / 2
        sizes[bent.name] = 1, sum(r.area for r in rects) / width, width
    return sizes


def draw_bent(out: Sketch, lane: Lane, first: Gate, last: Gate) -> None:
    """Add channel, gate and metal's window of a device that goes round a region."""
    t, device = lane.technique, first.device
    ends = 1 if device.form is Form.RING else 2
    out.bent.append(Bent(device.name, tuple(_bars(lane, first, last, 0, -t.inset)), ends))
    for x, y in _bars(lane, first, last, (t.gate - t.channel) // 2, t.gate_past):
        out.box(out.wire_paint(t.gate_layer, device.gate), x, y)
    if t.doped is not None:
        free = t.doped.window_past if t.doped.island else -t.doped.inset
        for x, y in _bars(lane, first, last, t.doped.window_past, free):
            out.box(Paint(t.doped.window), x, y)


def _bars(lane: Lane, first: Gate, last: Gate, past: int, free: int) -> Bars:
    """Return arms and bars `past` the channel, and `free` past the diffusion's edge where they run out over it."""
    t, channel = lane.technique, first.device.channel
    ring = channel.form is Form.RING
    reach = t.channel // 2 + past
    low = under(t) - past
    thick = t.channel + 2 * past
    top = lane.height - low if ring else lane.height + free
    a, b = lane.gates[first], lane.gates[last]
    bars = [(about(line, reach), lane.inward(low, top)) for line in sorted({a, b})]
    start, stop = (a, -reach), (b, reach)
    if channel.form is Form.ELBOW:
        start, stop = (start, (lane.right, free)) if channel.far else ((lane.left, -free), stop)
    bars.append(((start, stop), lane.inward(low, low + thick)))
    if ring:
        bars.append(((start, stop), lane.inward(top - thick, top)))
        bars.append((about(b if channel.far else a, reach), lane.inward(top - thick, lane.height + free)))
    return bars


def draw_step(out: Sketch, lane: Lane, gate: Gate) -> None:
    """Add channel and gate of a device that steps aside half-way, towards its rail."""
    t, x, step = lane.technique, lane.gates[gate], gate.step
    half = t.channel // 2
    low, high = middle(lane.height, t)

    def bars(past: int) -> Bars:
        return [
            (about(x, half, step), lane.inward(-past, high)),
            (span(x, min(0, step) - half, max(0, step) + half), lane.inward(low, high)),
            (about(x, half), lane.inward(low, lane.height + past)),
        ]

    out.bent.append(Bent(gate.device.name, tuple(bars(0)), 2))
    for across, along in bars(t.gate_past):
        out.box(out.wire_paint(t.gate_layer, gate.device.gate), across, along)


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
