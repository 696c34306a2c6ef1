"""Draw a load that stands between its rail and its output."""

from layoutdrill.drawing.row_pairs.placing.floor import Stand
from layoutdrill.drawing.row_pairs.shaping.lines import Edge
from layoutdrill.drawing.row_pairs.shaping.sketch import Paint, Sketch, Sort
from layoutdrill.drawing.shared.technique import METAL, OTHER, Loads
from layoutdrill.value import value


def draw_stand(out: Sketch, stand: Stand, net: int, x: int, lines: tuple[int, int, int], *, landed: bool) -> None:
    """
    Add a standing load on the line `x`, its diffusion counted as `net`; `lines` are those of its output contact, its
    rail contact and its poly.

    A depletion load's poly covers the channel and ends in a buried contact on its own source; an enhancement load's
    gate is the metal of its rail, which covers the channel from the rail contact on.
    """
    draw = _buried if out.technique.loads is Loads.BURIED else _plate
    draw(_Pen(out, stand, x, 1 if stand.device.row == 1 else -1, net), lines, landed=landed)


@value
class _Pen:
    """Draws a stand upright on the line `x`, from the output (low) to the rail (high), whichever way that is."""

    out: Sketch
    stand: Stand
    x: int
    sense: int
    net: int

    @property
    def diffusion(self) -> Paint:
        return Paint(self.out.technique.diffusion[self.stand.device.row], Sort.DIFFUSION, self.net)

    @property
    def half(self) -> int:
        """Return half the width of the channel."""
        return self.stand.device.size.width // 2

    def box(self, paint: Paint, across: int | tuple[int, int], low: Edge, high: Edge) -> None:
        """Draw a box that reaches from `across[0]` to `across[1]` from the middle line, or as far to either side."""
        left, right = (-across, across) if isinstance(across, int) else across
        edges = (low[0], self.sense * low[1]), (high[0], self.sense * high[1])
        self.out.box(paint, ((self.x, left), (self.x, right)), edges if self.sense > 0 else edges[::-1])

    def keep(self, low: int, high: int, least: int) -> None:
        self.out.y.keep(*((low, high) if self.sense > 0 else (high, low)), least)

    def fix(self, low: int, high: int, distance: int) -> None:
        self.keep(low, high, distance)
        self.keep(high, low, -distance)


def _buried(pen: _Pen, lines: tuple[int, int, int], *, landed: bool) -> None:
    t, fold, channel = pen.out.technique, pen.stand.device.fold, pen.stand.channel
    assert t.buried is not None
    output, rail, poly = lines
    length, half = channel.plate, pen.half
    body, reach = t.body // 2, t.wires[OTHER].width // 2
    below = (output, 0) if landed else (poly, -reach)
    pen.box(pen.diffusion, half, below, (rail, 0) if fold is None else (poly, reach))
    for a, b, left, right in fold.boxes if fold is not None else ():
        pen.box(pen.diffusion, (left, right), (poly, reach + a), (rail, 0) if b == length else (poly, reach + b))
    if landed:
        pen.box(pen.diffusion, body, (output, -body), (output, body))
        pen.keep(output, poly, body + t.other_gap + reach)
    pen.box(pen.diffusion, body, (rail, -body), (rail, body))
    apart = next((gap.least for gap in pen.out.gaps if gap.a == gap.b == Sort.METAL), 0)
    pen.fix(poly, rail, max(reach + length + t.contact_gate + t.contact // 2, t.wires[METAL].pad + apart))
    left, right = channel.sides
    gate = pen.out.wire_paint(OTHER, pen.stand.inner.net)
    pen.box(gate, (left - t.gate_past, right + t.gate_past), (poly, -reach), (poly, reach + length))
    past = t.buried.past
    pen.box(Paint(t.buried.layer), half + past, (poly, -reach - past), (poly, reach))
    past = t.buried.implant_past
    wide = left - past, right + past
    pen.box(Paint(t.buried.implant), wide, (poly, reach - past), (poly, reach + length + past))


def _plate(pen: _Pen, lines: tuple[int, int, int], *, landed: bool) -> None:
    t, channel = pen.out.technique, pen.stand.channel
    assert t.doped is not None
    output, rail, _ = lines
    length, metal, body = channel.plate, t.wires[METAL], t.body // 2
    window = t.doped.window_past
    cover = window + t.doped.metal_past
    gap = metal.pad // 2 + metal.spacing + cover
    start = pen.out.y.line(pen.out.y.at[output] + pen.sense * gap)
    pen.keep(output, start, gap)
    pen.fix(start, rail, length + t.contact_gate + cover + t.contact // 2)
    wide = max(pen.half + t.doped.inset, body)
    pen.box(pen.diffusion, wide, (output if landed else start, -body), (start, 0))
    pen.box(pen.diffusion, wide, (start, length), (rail, body))
    for a, b, left, right in channel.grown(window, 0):
        pen.box(Paint(t.doped.window), (left, right), (start, a), (start, b))
    left, right = channel.sides
    plate = min(left - t.doped.metal_past, -metal.pad // 2), max(right + t.doped.metal_past, metal.pad // 2)
    pen.box(pen.out.wire_paint(METAL, pen.stand.outer.net), plate, (start, -cover), (rail, 0))
