"""Draw the loads at the beginning of lines, one for each, in the way of the process's gates."""

from layoutdrill.drawing.crosspoints.task import Lines, LoadPlace, Loads
from layoutdrill.drawing.shared import GatePen, MetalPen, PolyPen, Size
from layoutdrill.geometry.rect import Rect
from layoutdrill.geometry.transform import Transform


def load_pitch(pen: GatePen, size: Size) -> int:
    """Return the least distance between lines for the sake of their loads."""
    if isinstance(pen, MetalPen):
        return 2 * pen.reach(size.width) + pen.apart
    least = max(size.width, 2 * pen.body) + pen.t.diffusion_spacing
    return least if pen.t.buried is None else max(least, size.width + 2 * pen.t.gate_past + pen.under.spacing)


def draw_loads(pen: GatePen, lines: Lines, size: Size, place: LoadPlace, supply: str) -> Loads:
    """Draw a load for every line, and name the supply on the silicon that they share; its rail is not drawn."""
    for line, _ in lines:
        pen.size(line.load, size.length, size.width)
    if isinstance(pen, MetalPen):
        loads = _plated(pen, lines, size, place)
    else:
        loads = (_kept_on if pen.t.buried is None else _depletion)(pen, lines, size, place)
        pen.upright(pen.metal, loads.rail, loads.reach, pen.rail)
    pen.label(supply, pen.metal, loads.rail, lines[0][1])
    return loads


def _kept_on(pen: PolyPen, lines: Lines, size: Size, place: LoadPlace) -> Loads:
    """Draw long p transistors below one broad gate, tied to the low supply, that keeps them on."""
    t, active = pen.t, pen.t.diffusion[1]
    drain = place.left - pen.apart - pen.body - place.spare
    right = drain - pen.cut - t.contact_gate
    gate = right - size.length // 2
    source = right - size.length - t.contact_gate - pen.cut
    vs = [v for _, v in lines]
    half = max(size.width // 2, pen.body)
    low, high = min(vs) - half, max(vs) + half
    pen.upright(active, source, (low, high), pen.body)
    for v in vs:
        pen.level(active, (source, drain), v, size.width // 2)
        pen.contact(source, v, 1)
        pen.contact(drain, v, 1)
    past = size.width // 2 + t.gate_past
    ends = min(min(vs) - past, place.tie - pen.pad), max(max(vs) + past, place.tie + pen.pad)
    pen.box(pen.poly, (right - size.length, right), ends)
    pen.square(t.cut, gate, place.tie, pen.cut)
    away = pen.implants.tap_gap + pen.body
    taps = (low - away, high + away)[: min(place.taps, 2)]
    for v in taps:
        pen.taps((source,), v, 1)
    pen.bed(1, Rect(source - pen.body, low, drain + pen.body, high), [(source, v) for v in taps])
    reach = taps[0] - pen.pad, (taps[1] + pen.pad if len(taps) > 1 else high)
    return Loads(drain, source, reach, (gate - pen.pad, gate + pen.pad))


def _depletion(pen: PolyPen, lines: Lines, size: Size, place: LoadPlace) -> Loads:
    """Draw depletion transistors, each with its gate run back into its own source by a buried contact."""
    source = place.left - pen.t.diffusion_spacing - pen.body - place.spare
    near = pen.body + pen.t.other_gap
    gate = near + pen.buried.overlap
    drain = pen.load_drain(gate, size)
    vs = [v for _, v in lines]
    pen.upright(pen.t.diffusion[1], source - drain, (min(vs) - pen.body, max(vs) + pen.body), pen.body)
    for v in vs:
        pen.contact(source, v, 1)
        load = pen.placed(Transform(source, v, 2))
        load.level(pen.t.diffusion[1], (0, near), 0, size.width // 2)
        load.depletion_load(near, gate, drain, size, neck=size.width // 2 + pen.t.gate_past)
    return Loads(source, source - drain, (min(vs) - pen.pad, max(vs) + pen.pad), (place.left, place.left))


def _plated(pen: MetalPen, lines: Lines, size: Size, place: LoadPlace) -> Loads:
    """
    Draw loads with metal gates below one plate of metal.

    Where there are two kinds of transistor the plate, the gate of all loads, goes on to meet the drivers' rail. Where
    there is one kind, lines are the loads' own diffusions, and the plate is the supply's.
    """
    kind = 0 if pen.one_kind else 1
    vs = [v for _, v in lines]
    half = pen.reach(size.width)
    low, high = min(vs) - half, max(vs) + half
    drain = place.left - pen.across - place.spare - pen.body
    end = place.left if pen.one_kind else drain - pen.contact_gate
    begin = end - size.length
    source = begin - pen.contact_gate
    past = pen.doped.past
    for v in vs:
        pen.channel((begin, end), v, size.width, level=True)
        pen.square(pen.t.cut, source, v, pen.cut)
        if not pen.one_kind:
            pen.bar(kind, (end + past, drain + pen.body), v, half)
            pen.contact(drain, v)
            pen.level(pen.metal, (drain, place.start), v, pen.pad)
    pen.diffuse(kind, (source - pen.body, begin - past), (low, high))
    over = max(half, size.width // 2 + pen.over)
    sides = (source - pen.pad if pen.one_kind else begin - pen.cover), end + pen.cover
    pen.box(pen.metal, sides, (min(vs) - over, max(vs) + over if pen.one_kind else place.tie))
    if not pen.one_kind:
        pen.upright(pen.metal, source, (low, high), pen.pad)
    right = place.left if pen.one_kind else drain + pen.body
    return Loads(source, source, (low, high), sides, Rect(source - pen.body, low, right, high))
