"""Draw a load that stands between its rail and its output."""

from layoutdrill.drawing.row_pairs.placing.floor import Stand
from layoutdrill.drawing.row_pairs.shaping.sketch import Edge, Shape, Sketch
from layoutdrill.drawing.shared.technique import METAL, OTHER, Loads, Technique


def draw_stand(out: Sketch, t: Technique, stand: Stand, net: int, x: int, lines: tuple[int, int, int], *,
               landed: bool) -> None:  # fmt: skip
    """
    Add a standing load on the line `x`; `lines` are those of its output contact, its rail contact and its poly.

    A depletion load's poly covers the channel and ends in a buried contact on its own source; an enhancement load's
    gate is the metal of its rail, which covers the channel from the rail contact on.
    """
    draw = _buried if t.loads is Loads.BURIED else _plate
    draw(_Pen(out, x, 1 if stand.device.row == 1 else -1, net), t, stand, lines, landed=landed)


def run_of(stand: Stand) -> int:
    """Return how far a standing channel reaches from its output to its rail."""
    return stand.device.fold.plate if stand.device.fold is not None else stand.device.length


class _Pen:
    """Draws upright, from the output (low) to the rail (high), whichever way that is on the sketch."""

    def __init__(self, out: Sketch, x: int, sense: int, net: int) -> None:
        self.out = out
        self.x = x
        self.sense = sense
        self.net = net

    def box(self, mask: str, sort: str, net: int, half: int, low: Edge, high: Edge) -> None:
        self.piece(mask, sort, net, (-half, half), low, high)

    def piece(self, mask: str, sort: str, net: int, across: tuple[int, int], low: Edge, high: Edge) -> None:
        """Draw a box that reaches from `across[0]` to `across[1]` from the middle line."""
        a, b = (low[0], self.sense * low[1]), (high[0], self.sense * high[1])
        y0, y1 = (a, b) if self.sense > 0 else (b, a)
        x0, x1 = (self.x, across[0]), (self.x, across[1])
        self.out.shapes.append(Shape(mask, sort, net, x0, x1, y0, y1, solid=True))

    def keep(self, low: int, high: int, least: int) -> None:
        self.out.y_rules.append((low, high, least) if self.sense > 0 else (high, low, least))

    def fix(self, low: int, high: int, distance: int) -> None:
        self.keep(low, high, distance)
        self.keep(high, low, -distance)

    def line(self, near: int, offset: int) -> int:
        return self.out.y_line(self.out.ys[near] + self.sense * offset)


def _buried(pen: _Pen, t: Technique, stand: Stand, lines: tuple[int, int, int], *, landed: bool) -> None:
    buried = t.buried
    assert buried is not None
    output, rail, poly = lines
    device = stand.device
    length, half = run_of(stand), device.width // 2
    body, reach = t.contact // 2 + t.surround, t.wires[OTHER].width // 2
    mask = t.diffusion[device.row]
    pad = t.contact // 2
    start = output if landed else poly
    below = (start, 0 if landed else -reach)
    if device.fold is None:
        pen.box(mask, "diffusion", pen.net, half, below, (rail, 0))
    else:
        pen.box(mask, "diffusion", pen.net, half, below, (poly, reach))
        for a, b, low, high in device.fold.boxes:
            top = (rail, 0) if b == device.fold.plate else (poly, reach + b)
            pen.piece(mask, "diffusion", pen.net, (low, high), (poly, reach + a), top)
    if landed:
        pen.box(mask, "diffusion", pen.net, body, (output, -body), (output, body))
        pen.keep(output, poly, body + t.other_gap + reach)
    pen.box(mask, "diffusion", pen.net, body, (rail, -body), (rail, body))
    apart = next((gap.least for gap in pen.out.gaps if gap.a == gap.b == "metal"), 0)
    pen.fix(poly, rail, max(reach + length + t.contact_gate + pad, t.wires[METAL].pad + apart))
    left, right = device.fold.sides if device.fold is not None else (-half, half)
    wide = left - t.gate_past, right + t.gate_past
    pen.piece(t.wires[OTHER].layer, "other", stand.inner.net, wide, (poly, -reach), (poly, reach + length))
    pen.box(buried.layer, "", 0, half + buried.past, (poly, -reach - buried.past), (poly, reach))
    past = buried.implant_past
    wide = left - past, right + past
    pen.piece(buried.implant, "", 0, wide, (poly, reach - past), (poly, reach + length + past))


def _plate(pen: _Pen, t: Technique, stand: Stand, lines: tuple[int, int, int], *, landed: bool) -> None:
    doped = t.doped
    assert doped is not None
    output, rail, _ = lines
    device = stand.device
    length, half = run_of(stand), device.width // 2
    body, metal = t.contact // 2 + t.surround, t.wires[METAL]
    mask = t.diffusion[device.row]
    cover = doped.window_past + doped.metal_past
    gap = metal.pad // 2 + metal.spacing + cover
    start = pen.line(output, gap)
    pen.keep(output, start, gap)
    pen.fix(start, rail, length + doped.window_past + t.contact_gate + doped.metal_past + t.contact // 2)
    wide = max(half + doped.inset, body)
    low = (output, -body) if landed else (start, -body)
    pen.box(mask, "diffusion", pen.net, wide, low, (start, 0))
    pen.box(mask, "diffusion", pen.net, wide, (start, length), (rail, body))
    if device.fold is None:
        pen.box(doped.window, "", 0, half, (start, -doped.window_past), (start, length + doped.window_past))
    else:
        for a, b, left, right in device.fold.grown(doped.window_past, 0):
            pen.piece(doped.window, "", 0, (left, right), (start, a), (start, b))
    left, right = device.fold.sides if device.fold is not None else (-half, half)
    plate = min(left - doped.metal_past, -metal.pad // 2), max(right + doped.metal_past, metal.pad // 2)
    pen.piece(metal.layer, "metal", stand.outer.net, plate, (start, -cover), (rail, 0))
