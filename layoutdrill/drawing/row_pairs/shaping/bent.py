"""
Draw the channels that are not straight: rings, hooks, elbows and steps, with the gate over them.

Corners are square. A channel of even breadth b along a centre line of length c has the area b · c, and edges whose
mean is c, corners and closed rings included; so W is the length of the centre line and L is b (common practice for
bent gates; Mead & Conway 1980 count a corner square as less, from memory). The stub by which a ring's gate leaves
over its source is channel too and counts with it, though it has source on both sides.
"""

from collections.abc import Mapping

from layoutdrill.drawing.row_pairs.placing.floor import Gate
from layoutdrill.drawing.row_pairs.placing.forms import under
from layoutdrill.drawing.row_pairs.placing.pairing import Form
from layoutdrill.drawing.row_pairs.shaping.sketch import Bent, Edge, Shape, Sketch
from layoutdrill.drawing.shared.technique import METAL, Technique


def measured(sketch: Sketch) -> dict[str, tuple[int, float, float]]:
    """Return fingers, and length and width in grid units, of each bent channel once its lines have their places."""

    def x(edge: Edge) -> int:
        return sketch.xs[edge[0]] + edge[1]

    def y(edge: Edge) -> int:
        return sketch.ys[edge[0]] + edge[1]

    found = {}
    for bent in sketch.bent:
        area = sum((x(x1) - x(x0)) * (y(y1) - y(y0)) for x0, x1, y0, y1 in bent.boxes)
        edges = sum(x(b) - x(a) for a, b in bent.level) + sum(y(b) - y(a) for a, b in bent.upright)
        width = edges / 2
        found[bent.name] = 1, area / width, width
    return found


class Upright:
    """Tells places in a strip by how far they lie inside its outer edge, the one by its rail."""

    def __init__(self, line: int, height: int, row: int) -> None:
        self.line = line
        self.height = height
        self.row = row

    def span(self, low: int, high: int) -> tuple[Edge, Edge]:
        if self.row == 0:
            return (self.line, low), (self.line, high)
        return (self.line, self.height - high), (self.line, self.height - low)


Bar = tuple[Edge, Edge, int, int]
"""A piece of channel: left and right, and how far it begins and ends inside the strip's outer edge."""


def draw_bent(out: Sketch, t: Technique, first: Gate, last: Gate, lines: Mapping[int, int], end: int,
              up: Upright) -> None:  # fmt: skip
    """Add channel and gate of a device that goes round a region; an elbow's bar runs out past the line `end`."""
    half = t.channel // 2
    a, b = lines[id(first)], lines[id(last)]
    form, far = first.device.form, first.device.far
    low = under(t)
    top = up.height - (t.inset if form is not Form.RING else low)
    right = form is not Form.ELBOW or far
    arms: list[Bar] = [((a, -half), (a, half), low, top)]
    if form is Form.ELBOW:
        edge: Edge = (end, -t.inset if far else t.inset)
        bar: Bar = ((a, half), edge, low, low + t.channel) if right else (edge, (a, -half), low, low + t.channel)
        level = [(bar[0], bar[1]), ((a, -half), edge) if right else (edge, (a, half))]
        sides = [(low, top), (low + t.channel, top)]
        bars = [bar]
    else:
        arms.append(((b, -half), (b, half), low, top))
        hole = (a, half), (b, -half)
        bars = [(*hole, low, low + t.channel)]
        level = [hole, ((a, -half), (b, half))]
        sides = [(low, top)] * 2 + [(low + t.channel, top)] * 2
    if form is Form.RING:
        bars.append((*hole, top - t.channel, top))
        way = b if far else a
        arms.append(((way, -half), (way, half), top, up.height))
        sides = [(low, top)] * 2 + [(low + t.channel, top - t.channel)] * 2 + [(top, up.height)] * 2
        level = [hole, hole, ((a, -half), (b, half)), *_beside((a, -half), (b, half), (way, -half), (way, half))]
    boxes = tuple((x0, x1, *up.span(v0, v1)) for x0, x1, v0, v1 in arms + bars)
    out.bent.append(Bent(first.device.name, boxes, tuple(level), tuple(up.span(v0, v1) for v0, v1 in sides)))
    _paint(out, t, first, (a, b), end, up)


def draw_step(out: Sketch, t: Technique, gate: Gate, x: int, up: Upright) -> None:
    """Add channel and gate of a device that steps aside half-way, towards its rail."""
    half, step = t.channel // 2, gate.device.step
    low, high = middle(up.height, t)
    left, right = min(0, step) - half, max(0, step) + half
    bars: list[Bar] = [
        ((x, step - half), (x, step + half), 0, low),
        ((x, left), (x, right), low, high),
        ((x, -half), (x, half), high, up.height),
    ]
    boxes = tuple((x0, x1, *up.span(v0, v1)) for x0, x1, v0, v1 in bars)
    aside = (x, 0), (x, abs(step))
    whole = up.span(0, up.height)
    out.bent.append(Bent(gate.device.name, boxes, (aside, aside), (whole, whole)))
    wire = t.wires[t.gate_layer].layer
    bars[0] = (*bars[0][:2], -t.gate_past, high)
    bars[2] = (*bars[2][:2], low, up.height + t.gate_past)
    for x0, x1, v0, v1 in bars:
        y0, y1 = up.span(v0, v1)
        out.shapes.append(Shape(wire, "other", gate.device.gate, x0, x1, y0, y1, solid=True))


def middle(height: int, t: Technique) -> tuple[int, int]:
    """Return from where to where, inside a strip's outer edge, the level part of a step lies."""
    low = (height - t.gate) // 2
    return low, low + t.gate


def _beside(left: Edge, right: Edge, x0: Edge, x1: Edge) -> list[tuple[Edge, Edge]]:
    """Return what is left of a stretch beside a stub."""
    return [pair for pair in ((left, x0), (x1, right)) if pair[0] != pair[1]]


def _paint(out: Sketch, t: Technique, gate: Gate, lines: tuple[int, int], end: int, up: Upright) -> None:
    """Draw the gate, and for metal the window below it, as the channel grown by what each must reach past it."""
    device = gate.device
    wire, sort = t.wires[t.gate_layer].layer, "metal" if t.gate_layer == METAL else "other"
    past = (t.gate - t.channel) // 2
    _bars(out, t, device.form, device.far, lines, end, up, past, t.gate_past, (wire, sort, device.gate))
    if t.doped is not None:
        free = t.doped.window_past if t.doped.island else -t.doped.inset
        _bars(out, t, device.form, device.far, lines, end, up, t.doped.window_past, free, (t.doped.window, "", 0))


def _bars(out: Sketch, t: Technique, form: Form, far: bool, lines: tuple[int, int], end: int, up: Upright,
          past: int, free: int, as_what: tuple[str, str, int]) -> None:  # fmt: skip
    """Draw arms and bars `past` the channel, and `free` past the diffusion's edge where they run out over it."""
    reach = t.channel // 2 + past
    low = under(t) - past
    thick = t.channel + 2 * past
    top = up.height - low if form is Form.RING else up.height + free
    a, b = lines

    def box(x0: Edge, x1: Edge, v0: int, v1: int) -> None:
        y0, y1 = up.span(v0, v1)
        out.shapes.append(Shape(*as_what, x0, x1, y0, y1, solid=True))

    for line in sorted({a, b}):
        box((line, -reach), (line, reach), low, top)
    if form is Form.ELBOW:
        if far:
            box((a, -reach), (end, free), low, low + thick)
        else:
            box((end, -free), (a, reach), low, low + thick)
        return
    box((a, -reach), (b, reach), low, low + thick)
    if form is Form.RING:
        way = b if far else a
        box((a, -reach), (b, reach), top - thick, top)
        box((way, -reach), (way, reach), top - thick, up.height + free)
