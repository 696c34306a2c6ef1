"""
What stands beside a core on one side: the core's main rail, the channel, and the edge of the die with its pads.

From the core outwards: where its wires dive, a main rail, upright wires of the channel in metal, a leg of the other
supply, what stands at each pad, the pads, and a leg of the low supply at the edge. Between metal that stands upright
all wires run below it.
"""

from collections.abc import Sequence
from dataclasses import field

from layoutdrill.drawing.blocks.channel import tracks_of
from layoutdrill.drawing.chips.body import Body, free_span
from layoutdrill.drawing.chips.core import Core, Taken
from layoutdrill.drawing.shared.pen import Pen
from layoutdrill.geometry.transform import Transform
from layoutdrill.process.model import Process
from layoutdrill.value import value

PAD, RIM = 36, 3
"""λ: a pad's side (at 3 µm, 108 µm: 100 µm and up is common practice), and the metal that the glass laps over."""


@value
class Berth:
    """What stands at one pad of a flank: the body, as if the edge were on the right, the pin's name, the inner net."""

    body: Body
    pin: str
    net: str


@value
class Flank:
    """
    One side of the chip, +1 right or −1 left, from where the core's wires dive at `origin`; `wide` are main rails.

    `supply` is that of the core's main rail on this side.
    """

    core: Core
    side: str
    wide: int
    unit: int
    berths: Sequence[Berth]
    lows: list[int] = field(default_factory=list)
    highs: list[int] = field(default_factory=list)
    tracks: dict[str, int] = field(default_factory=dict)

    @property
    def pen(self) -> Pen:
        return self.core.pen

    @property
    def sense(self) -> int:
        return -1 if self.side == "left" else 1

    def x(self, u: int) -> int:
        return self.core.edge(self.side) + self.sense * u

    def span(self, u0: int, u1: int) -> tuple[int, int]:
        return self.x(u0), self.x(u1)

    @property
    def gap(self) -> int:
        return self.pen.metal_gap

    @property
    def strap(self) -> tuple[int, int]:
        near = self.core.half_pad + self.gap
        return near, near + self.wide

    def track(self, number: int) -> int:
        return self.strap[1] + self.gap + self.core.half_pad + number * self.core.pitch

    @property
    def jog(self) -> int:
        return self.track(1 + max(self.tracks.values(), default=-1))

    @property
    def leg(self) -> tuple[int, int]:
        near = self.jog + self.core.half_pad + self.gap
        return near, near + self.wide

    @property
    def inner(self) -> int:
        """Return where the wires of pads dive."""
        return self.leg[1] + self.gap + self.core.half_pad

    @property
    def cells(self) -> int:
        return self.inner + self.core.half_pad + self.core.clear

    @property
    def stub(self) -> int:
        width = max(berth.body.box.width for berth in self.berths)
        return self.cells + width + self.gap + self.pen.rail

    @property
    def pads(self) -> tuple[int, int]:
        near = self.stub + self.pen.rail + self.gap
        return near, near + PAD * self.unit

    @property
    def rim(self) -> tuple[int, int]:
        near = self.pads[1] + 2 * self.gap
        return near, near + self.wide

    @property
    def least_pitch(self) -> int:
        """Return how near pads may stand to one another."""
        tall = max(berth.body.box.height for berth in self.berths) + self.core.clear
        return max(tall, PAD * self.unit + 2 * (self.gap + self.pen.rail))

    def draw(self, bottom: int, pitch: int) -> bool:
        """Draw everything but the legs of rails; tell whether every wire from a pad found a height of its own."""
        wires = self.core.wires[self.side]
        lows = [bottom + number * pitch for number in range(len(self.berths))]
        heights = [
            b.body.exit(b.net).place - b.body.rails[0].place + low for b, low in zip(self.berths, lows, strict=True)
        ]
        crossing = _free_heights(heights, [w.y for w in wires], self.core.pitch)
        if crossing is None:
            return False
        inward = [Taken(berth.net, y) for berth, y in zip(self.berths, crossing, strict=True)]
        self.tracks.update(self._tracks((*wires, *inward)))
        for wire in wires:
            self._to_track(wire, 0)
        for berth, low, height, y in zip(self.berths, lows, heights, crossing, strict=True):
            self._berth(berth, low)
            self._inward(berth.net, height, y)
        return True

    def _tracks(self, wires: Sequence[Taken]) -> dict[str, int]:
        stretches: dict[str, tuple[int, int]] = {}
        for wire in wires:
            low, high = stretches.get(wire.net, (wire.y, wire.y))
            stretches[wire.net] = min(low, wire.y), max(high, wire.y)
        tracks = tracks_of(stretches, self.core.pitch)
        pen = self.pen
        for net, (low, high) in stretches.items():
            pen.upright(pen.metal, self.x(self.track(tracks[net])), (low - pen.pad, high + pen.pad), pen.wire)
        return tracks

    def _to_track(self, wire: Taken, u: int) -> None:
        """Run below the metal from u to the track of a wire's net."""
        to = self.track(self.tracks[wire.net])
        if wire.metal:
            self._joint(u, wire.y)
        self._under(u, to, wire.y)
        self._joint(to, wire.y)

    def _joint(self, u: int, y: int) -> None:
        self.pen.joint(self.x(u), y, 1)

    def _under(self, u0: int, u1: int, y: int) -> None:
        half = self.pen.under.width // 2
        low, high = sorted(self.span(u0, u1))
        self.pen.run_under(1, (low, high), (y - half, y + half))

    def _inward(self, net: str, height: int, y: int) -> None:
        """Lead a pad's wire below the leg to its track, by a step in metal where its height is taken."""
        pen = self.pen
        pen.level(pen.metal, self.span(self.inner, self.cells), height, pen.wire)
        if y == height:
            self._to_track(Taken(net, y), self.inner)
            return
        self._joint(self.inner, height)
        self._under(self.inner, self.jog, height)
        self._joint(self.jog, height)
        pen.upright(pen.metal, self.x(self.jog), (min(height, y), max(height, y)), pen.wire)
        self._to_track(Taken(net, y), self.jog)

    def _berth(self, berth: Berth, low: int) -> None:
        """Draw what stands at a pad, with its low rail at a height, and the pad."""
        pen, body = self.pen, berth.body
        dy = low - body.rails[0].place
        turn = Transform(0, 0, 2, mirrored=True) if self.side == "left" else Transform()
        near = self.x(self.cells)
        at = Transform(near - self.sense * body.box.x0, dy, turn.turns, turn.mirrored)
        placed = pen.placed(at)
        for mask, rects in body.shapes.items():
            placed.canvas.add(mask, rects)
        pen.canvas.sizes.update(body.sizes)
        rail = body.rails[0].half
        far = self.cells + body.box.width
        pen.level(pen.metal, self.span(far, self.rim[1]), low, rail)
        high = body.rails[1].place + dy
        pen.level(pen.metal, self.span(self.leg[0], self.cells), high, rail)
        self.lows.append(low)
        self.highs.append(high)
        y0 = low + rail + self.gap
        y1 = y0 + PAD * self.unit
        pen.box(pen.metal, self.span(*self.pads), (y0, y1))
        open_glass(pen, self.span(*self.pads), (y0, y1), self.unit)
        out = body.exit(berth.pin).place + dy
        to = min(max(out, y0 + pen.rail), y1 - pen.rail)
        pen.level(pen.metal, self.span(far, self.stub + pen.rail), out, pen.rail)
        if to != out:
            low_y, high_y = sorted((out, to))
            pen.upright(pen.metal, self.x(self.stub), (low_y - pen.rail, high_y + pen.rail), pen.rail)
        pen.level(pen.metal, self.span(self.stub, self.pads[0]), to, pen.rail)
        pen.label(berth.pin, pen.metal, self.x(sum(self.pads) // 2), (y0 + y1) // 2)


def open_glass(pen: Pen, x: tuple[int, int], y: tuple[int, int], unit: int) -> None:
    """Open the glass over a pad. The mask's name is noted under “glass”, and exchanged for the process's at the end."""
    (x0, x1), rim = sorted(x), RIM * unit
    pen.box(GLASS, (x0 + rim, x1 - rim), (y[0] + rim, y[1] - rim))


GLASS = "glass opening"


def glass_of(process: Process) -> str | None:
    return next((name for name, layer in process.layers.items() if layer.role == "glass-opening"), None)


def _free_heights(wanted: Sequence[int], taken: Sequence[int], pitch: int) -> list[int] | None:
    """Return for each height the nearest that keeps a pitch from all taken and from the others, or None."""
    spans = [(y - pitch, y + pitch) for y in taken]
    order = sorted(range(len(wanted)), key=lambda k: not free_span(spans, wanted[k], wanted[k]))
    heights = list(wanted)
    for k in order:
        y = next(
            (
                wanted[k] + sign * step
                for step in (0, *range(pitch, 16 * pitch, 2))
                for sign in (1, -1)
                if free_span(spans, wanted[k] + sign * step, wanted[k] + sign * step)
            ),
            None,
        )
        if y is None:
            return None
        heights[k] = y
        spans.append((y - pitch, y + pitch))
    return heights
