"""
Draw the channels that are not straight: rings, hooks, elbows and steps, with the gate over them.

Corners are square. A channel of even breadth b along a centre line of length c has the area b · c, and edges whose
mean is c, corners and closed rings included; so W is the length of the centre line and L is b (common practice for
bent gates; Mead & Conway 1980 count a corner square as less, from memory). The stub by which a ring's gate leaves
over its source is channel too and counts with it, though it has source on both sides.
"""

import itertools

from layoutdrill.drawing.row_pairs.placing.devices import Form
from layoutdrill.drawing.row_pairs.placing.floor import Gate
from layoutdrill.drawing.row_pairs.placing.forms import under
from layoutdrill.drawing.row_pairs.shaping.lane import Lane, middle
from layoutdrill.drawing.row_pairs.shaping.lines import Span, about, span
from layoutdrill.drawing.row_pairs.shaping.sketch import Bent, Paint, Sketch
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
