"""Draw an unbroken diffusion: its gates, what lies between them, and the distances that they keep."""

import itertools
from collections.abc import Iterable, Iterator, Sequence

from layoutdrill.drawing.row_pairs.placing.floor import Gate, Region
from layoutdrill.drawing.row_pairs.placing.folding import Box
from layoutdrill.drawing.row_pairs.placing.forms import under
from layoutdrill.drawing.row_pairs.shaping.bent import draw_bent, draw_step
from layoutdrill.drawing.row_pairs.shaping.lane import Lane, extent, half_of
from layoutdrill.drawing.row_pairs.shaping.sketch import Edge, Paint, Sketch, Sort, about
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
    curved = {gate for first, last, _ in bends for gate in (first, last)}
    for gate in strip.gates:
        if gate.step:
            draw_step(out, lane, gate)
            curved.add(gate)
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
    out.box(out.gate_paint(device.gate), about(x, half_of(gate, t)), upright)
    channel, fold, width = extent(device, t) // 2, device.fold, lane.width(gate)
    rise = lane.band(width + 2 * t.inset)[0][1] + t.inset
    if fold is not None:
        rise, width = (lane.height - fold.height) // 2, fold.height

    def cover(mask: str, across: int, along: int) -> None:
        y = (lane.line, rise - along), (lane.line, rise + width + along)
        out.box(Paint(mask), about(x, channel + across), y)

    if t.doped is not None and t.bulk and fold is not None:
        _draw_fold(out, t.doped.window, fold.grown(t.doped.window_past, 0), (x, -channel), (lane.line, rise))
    elif t.doped is not None:
        cover(t.doped.window, t.doped.window_past, 0 if t.bulk else t.doped.window_past)
    if t.buried is not None and device.depletion:
        cover(t.buried.implant, t.buried.implant_past, t.buried.implant_past)


def _draw_fold(out: Sketch, mask: str, boxes: Iterable[Box], x: Edge, y: Edge) -> None:
    """Draw the boxes of a fold from the places `x` and `y` on."""
    for a, b, low, high in boxes:
        across, along = ((x[0], x[1] + a), (x[0], x[1] + b)), ((y[0], y[1] + low), (y[0], y[1] + high))
        out.box(Paint(mask), across, along)


def _keep_order(out: Sketch, lane: Lane) -> None:
    """Keep contacts, gates and the ends of a diffusion in order and apart."""
    t, rules = lane.technique, out.x_rules
    inset = t.body // 2
    lows: list[Edge] = []
    highs: list[Edge] = []
    before: Gate | None = None
    contacts: Sequence[tuple[int, bool]] = ()
    for item in lane.strip.items:
        if isinstance(item, Gate):
            line, half = lane.gates[item], half_of(item, t)
            low, high = min(0, item.step) - half, max(0, item.step) + half
            rules += [
                (contact, line, half - max(0, item.step) + _near(t, buried=buried)) for contact, buried in contacts
            ]
            if before is not None:
                gap = t.wires[t.gate_layer].spacing
                if before.device.size.width != item.device.size.width and t.form is GateForm.POLY:
                    gap = t.diffusion_past + t.other_gap
                reach = half_of(before, t) + max(0, before.step)
                rules.append((lane.gates[before], line, reach + gap - low))
            lows.append((line, low - t.diffusion_past))
            highs.append((line, high + t.diffusion_past))
            before = item
        else:
            contacts = lane.contacts[item]
            rules += [(a, b, 2 * t.contact) for (a, _), (b, _) in itertools.pairwise(contacts)]
            if before is not None:
                near = half_of(before, t) + min(0, before.step)
                rules += [(lane.gates[before], at, near + _near(t, buried=buried)) for at, buried in contacts]
            lows += [(at, -inset) for at, _ in contacts]
            highs += [(at, inset) for at, _ in contacts]
    rules += [(lane.left, line, -offset) for line, offset in lows]
    rules += [(line, lane.right, offset) for line, offset in highs]
    out.followers += [(lane.left, 1, lows), (lane.right, -1, highs)]


def _near(t: Technique, *, buried: bool) -> int:
    """Return how far the middle of a contact stays from the edge of a gate."""
    if buried:
        assert t.buried is not None
        return t.gate // 2 + t.buried.past + t.buried.gate
    return t.contact // 2 + t.contact_gate


def _draw_necks(out: Sketch, lane: Lane) -> None:
    """Draw a strip in pieces: as high as the row at contacts, as high as its channel under each gate."""
    t, regions = lane.technique, lane.strip.regions
    paint, inset = Paint(t.diffusion[lane.strip.row]), t.body // 2
    for place, gate in enumerate(lane.strip.gates):
        x, width, fold = lane.gates[gate], lane.width(gate), gate.device.fold
        left, right = (_neck_end(lane, place, side) for side in (-1, 1))
        if gate.step:
            half = half_of(gate, t) + t.diffusion_past
            out.box(paint, ((x, min(0, gate.step) - half), (x, max(0, gate.step) + half)), lane.band(width))
        if fold is None:
            out.box(paint, (left, right), lane.band(width))
            continue
        start, rise = -fold.plate // 2, (lane.height - fold.height) // 2
        _draw_fold(out, paint.mask, fold.boxes, (x, start), (lane.line, rise))
        for a, b, low, high in fold.boxes:
            y = (lane.line, rise + low), (lane.line, rise + high)
            if a == 0:
                out.box(paint, (left, (x, start + b)), y)
            if b == fold.plate:
                out.box(paint, ((x, start + a), right), y)
    for region in regions:
        lines = [at for at, _ in lane.contacts[region]]
        if lines:
            low, high = lane.bands.get(region, (0, lane.height))
            out.box(paint, ((lines[0], -inset), (lines[-1], inset)), ((lane.line, low), (lane.line, high)))


def _neck_end(lane: Lane, place: int, side: int) -> Edge:
    """Return where the diffusion of a gate, the `place`th, ends on a side: contact, wider channel or border."""
    t, gates = lane.technique, lane.strip.gates
    gate, beyond = gates[place], place + side
    contacts = lane.contacts[lane.strip.regions[place + (side > 0)]]
    if contacts:
        return (contacts[-1] if side < 0 else contacts[0])[0], 0
    if not 0 <= beyond < len(gates):
        return (lane.right if side > 0 else lane.left), 0
    if lane.width(gates[beyond]) < lane.width(gate):
        half = half_of(gate, t) + t.diffusion_past
        return lane.gates[gate], max(0, gate.step) + half if side > 0 else min(0, gate.step) - half
    return lane.gates[gates[beyond]], 0


def _dope(out: Sketch, lane: Lane) -> None:
    """Dope source and drain only, where the gate is metal; poly gates mask themselves."""
    t = lane.technique
    assert t.doped is not None
    past, low, wide = t.doped.past, under(t), t.channel
    paint = Paint(t.doped.doping[lane.strip.row])
    inside = {region for _, _, region in lane.strip.bent}
    for region, x0, x1 in _between_channels(lane, past):
        if region not in inside:
            out.box(paint, (x0, x1), lane.inward(-past, lane.height + past))
            continue
        out.box(paint, (x0, x1), lane.inward(low + wide, lane.height + past))
        left = x0 if x0[0] == lane.left else (x0[0], x0[1] - wide)
        right = x1 if x1[0] == lane.right else (x1[0], x1[1] + wide)
        out.box(paint, (left, right), lane.inward(-past, low))


def _between_channels(lane: Lane, past: int) -> Iterator[tuple[Region, Edge, Edge]]:
    """Yield the regions and from where to where each lies between its channels, `past` the ends of the strip."""
    t = lane.technique
    sides = [about(lane.gates[gate], extent(gate.device, t) // 2) for gate in lane.strip.gates]
    starts: list[Edge] = [(lane.left, -past), *(high for _, high in sides)]
    stops: list[Edge] = [*(low for low, _ in sides), (lane.right, past)]
    yield from zip(lane.strip.regions, starts, stops, strict=True)
