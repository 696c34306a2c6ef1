"""
What stands beside a core on one side: the core's main rail, the channel, and the edge of the die with its pads.

From the core outwards: where its wires dive, a main rail, upright wires of the channel in metal, a leg of the other
supply, what stands at each pad, the pads, and a leg of the low supply at the edge. Between metal that stands upright
all wires run below it.
"""

from collections.abc import Mapping, Sequence

from layoutdrill.drawing.blocks.channel import tracks_of
from layoutdrill.drawing.chips.body import Body, free_span
from layoutdrill.drawing.chips.core import Core, Taken
from layoutdrill.drawing.shared import Pen, Span, reach_by_net
from layoutdrill.geometry.transform import Transform
from layoutdrill.value import value

PAD = 36
"""λ: a pad's side (at 3 µm, 108 µm: 100 µm and up is common practice)."""


@value
class Berth:
    """What stands at one pad of a flank: the body, as if the edge were on the right, the pin's name, the inner net."""

    body: Body
    pin: str
    net: str


@value
class Places:
    """
    Where things lie, from where the core's wires dive outwards: the core's main rail, the first track, a track of steps
    beyond the last one, a leg of the other supply, where the wires of pads dive, what stands at pads, upright wires to
    the pads, the pads, and the leg at the edge.
    """

    strap: Span
    first: int
    jog: int
    leg: Span
    inner: int
    cells: int
    stub: int
    pads: Span
    rim: Span


def _places(core: Core, wide: int, berths: Sequence[Berth], count: int) -> Places:
    """Return the places beside a core with main rails so `wide`, and so many tracks."""
    gap, half, rail = core.pen.metal_gap, core.half_pad, core.pen.rail
    strap = half + gap
    first = strap + wide + gap + half
    jog = first + count * core.pitch
    leg = jog + half + gap
    inner = leg + wide + gap + half
    cells = inner + half + core.clear
    stub = cells + max(berth.body.box.width for berth in berths) + gap + rail
    pads = stub + rail + gap
    side = PAD * core.pen.t.unit
    rim = pads + side + 2 * gap
    return Places(
        (strap, strap + wide), first, jog, (leg, leg + wide), inner, cells, stub, (pads, pads + side), (rim, rim + wide)
    )


@value
class Flank:
    """A side of the chip, left or right of its core: the tracks of nets, and what stands there at what heights."""

    core: Core
    side: str
    at: Places
    tracks: Mapping[str, int]
    stands: Sequence[tuple[Berth, int]]

    @property
    def pen(self) -> Pen:
        return self.core.pen

    @property
    def lows(self) -> list[int]:
        """Return the heights at which the low supply's rail leads to each pad."""
        return [low for _, low in self.stands]

    @property
    def highs(self) -> list[int]:
        return [low + berth.body.rail_pitch for berth, low in self.stands]

    def x(self, u: int) -> int:
        return self.core.edge(self.side) + (-u if self.side == "left" else u)

    def span(self, u: Span) -> Span:
        return self.x(u[0]), self.x(u[1])

    def track(self, net: str) -> int:
        return self.at.first + self.tracks[net] * self.core.pitch

    def to_track(self, wire: Taken, u: int) -> None:
        """Run below the metal from u to the track of a wire's net."""
        to = self.track(wire.net)
        if wire.metal:
            self._joint(u, wire.y)
        self.pen.level_under(1, self.span((u, to)), wire.y)
        self._joint(to, wire.y)

    def _joint(self, u: int, y: int) -> None:
        self.pen.joint(self.x(u), y, 1)

    def inward(self, net: str, height: int, y: int) -> None:
        """Lead a pad's wire below the leg to its track, by a step in metal where its height is taken."""
        pen, at, dive = self.pen, self.at, self.at.inner
        pen.level(pen.metal, self.span((dive, at.cells)), height, pen.wire)
        if y != height:
            self._joint(dive, height)
            pen.level_under(1, self.span((dive, at.jog)), height)
            self._joint(at.jog, height)
            pen.upright(pen.metal, self.x(at.jog), (height, y), pen.wire)
            dive = at.jog
        self.to_track(Taken(net, y), dive)

    def berth(self, berth: Berth, low: int) -> None:
        """Draw what stands at a pad, with its low rail at a height, and the pad."""
        pen, at, body = self.pen, self.at, berth.body
        dy, left = low - body.rails[0].place, self.side == "left"
        near = self.x(at.cells - body.box.x0)
        pen.placed(Transform(near, dy, 2 if left else 0, mirrored=left)).lay(body.shapes, body.sizes)
        rail, far = body.rails[0].half, at.cells + body.box.width
        pen.level(pen.metal, self.span((far, at.rim[1])), low, rail)
        pen.level(pen.metal, self.span((at.leg[0], at.cells)), low + body.rail_pitch, rail)
        y0 = low + rail + pen.metal_gap
        y1 = y0 + PAD * pen.t.unit
        pen.bond_pad(self.span(at.pads), (y0, y1))
        out = body.exit(berth.pin).place + dy
        to = min(max(out, y0 + pen.rail), y1 - pen.rail)
        pen.level(pen.metal, self.span((far, at.stub + pen.rail)), out, pen.rail)
        if to != out:
            pen.upright(pen.metal, self.x(at.stub), (min(out, to) - pen.rail, max(out, to) + pen.rail), pen.rail)
        pen.level(pen.metal, self.span((at.stub, at.pads[0])), to, pen.rail)
        pen.label(berth.pin, pen.metal, self.x(sum(at.pads) // 2), (y0 + y1) // 2)


def draw_flank(core: Core, side: str, wide: int, berths: Sequence[Berth], top: int) -> Flank | None:
    """
    Draw all that lies beside a core, `top` high, but the legs of rails, which are so `wide`.

    Returns None where some wire from a pad found no height of its own.
    """
    pen, wires = core.pen, core.wires[side]
    tall = max(berth.body.box.height for berth in berths) + core.clear
    pitch = max(tall, PAD * pen.t.unit + 2 * (pen.metal_gap + pen.rail), top // len(berths))
    bottom = (top - pitch * len(berths)) // 2 + pitch // 4
    stands = [(berth, bottom + number * pitch) for number, berth in enumerate(berths)]
    heights = [b.body.exit(b.net).place - b.body.rails[0].place + low for b, low in stands]
    crossing = _free_heights(heights, [w.y for w in wires], core.pitch)
    if crossing is None:
        return None
    inward = [(berth.net, y) for berth, y in zip(berths, crossing, strict=True)]
    stretches = reach_by_net((*((w.net, w.y) for w in wires), *inward))
    tracks = tracks_of(stretches, core.pitch)
    flank = Flank(core, side, _places(core, wide, berths, 1 + max(tracks.values(), default=-1)), tracks, stands)
    for net, (low, high) in stretches.items():
        pen.upright(pen.metal, flank.x(flank.track(net)), (low - pen.pad, high + pen.pad), pen.wire)
    for wire in wires:
        flank.to_track(wire, 0)
    for (berth, low), height, (net, y) in zip(stands, heights, inward, strict=True):
        flank.berth(berth, low)
        flank.inward(net, height, y)
    return flank


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
