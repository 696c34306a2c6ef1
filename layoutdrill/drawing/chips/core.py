"""
Stack the parts of a core, and lead every wire out to its left or right.

What leaves a part below or above runs in the layer below the metal to a lane of its own, a level wire in metal between
this part and the next, and along it to the side. So no two wires can meet, in whatever order they leave.
"""

from collections.abc import Mapping, Sequence
from dataclasses import field, replace

from layoutdrill.drawing.blocks.channel import Exit, track_pitch
from layoutdrill.drawing.chips.body import Body
from layoutdrill.drawing.shared import Pen
from layoutdrill.geometry.transform import Transform
from layoutdrill.value import value

LEVEL = ("left", "right")


@value
class Taken:
    """A wire that a flank must take up: its net, its height, and whether it comes in metal."""

    net: str
    y: int
    metal: bool = True


@value
class Core:
    """
    The core as it grows: where its two sides lie, the wires and the rails that reach them, and how high it is.

    `across` are nets that both sides need; `side` says where every other net goes.
    """

    pen: Pen
    width: int
    side: Mapping[str, str]
    across: frozenset[str]
    wires: dict[str, list[Taken]] = field(default_factory=lambda: {side: [] for side in LEVEL})
    rails: dict[str, list[tuple[int, int]]] = field(default_factory=lambda: {side: [] for side in LEVEL})
    crossed: set[str] = field(default_factory=set)

    def edge(self, side: str) -> int:
        """Return where wires dive that leave on a side."""
        out = self.clear + self.half_pad
        return -out if side == "left" else self.width + out

    @property
    def half_pad(self) -> int:
        return max(self.pen.pad, self.pen.under.pad // 2)

    @property
    def pitch(self) -> int:
        return track_pitch(self.pen.t)

    @property
    def clear(self) -> int:
        """Return how far wires below the metal keep from parts, whose wells reach to their borders."""
        t = self.pen.t
        past = 2 * t.doped.past if t.doped is not None else 0
        least = max(wire.spacing for wire in t.wires[:2]) + past
        if t.implants is not None:
            least = max(least, t.implants.well_past)
        return max(least, t.rings.outside if t.rings is not None else 0)

    def stack(self, bodies: Sequence[tuple[Body, int]], free: Sequence[str]) -> int:
        """
        Place bodies above one another from y = 0, each with its left border at the x given, and return the height;
        `free` are nets that need a lane with nothing on it, to cross the core.
        """
        y = 0
        for net in free:
            y += self.pitch
            self._lane(net, None, y)
        y += self.pitch if free else 0
        for body, x in bodies:
            below = self._of(body, "bottom")
            y += self._room(below)
            at = Transform(x - body.box.x0, y - body.box.y0)
            self.pen.placed(at).lay(body.shapes, body.sizes)
            self._lanes(below, at, y, -1)
            y += body.box.height
            above = self._of(body, "top")
            self._lanes(above, at, y, 1)
            y += self._room(above) + self.clear
            self._sideways(body, at)
        return y

    def _of(self, body: Body, side: str) -> list[Exit]:
        return sorted((e for e in body.exits if e.side == side), key=lambda e: e.place)

    def _room(self, exits: Sequence[Exit]) -> int:
        rows = len(exits) + any(e.below is None for e in exits)
        return self.clear + (rows - 1) * self.pitch + 2 * self.half_pad + self.clear if rows else self.clear

    def _lanes(self, exits: Sequence[Exit], at: Transform, edge: int, sense: int) -> None:
        """Lead wires that leave below (−1) or above (+1) an edge to their lanes."""
        first = edge + sense * (self.clear + self.half_pad)
        dives = any(e.below is None for e in exits)
        for number, e in enumerate(exits):
            x, begin, pen = e.place + at.dx, edge, self.pen
            lane = first + sense * self.pitch * (number + dives)
            if e.below is None:
                pen.upright(pen.metal, x, (edge, first), pen.wire)
                pen.joint(x, first, 1)
                begin = first
            else:  # it goes on with the doping that it has
                pen = replace(pen, doping=e.below)
            pen.upright_under(1, x, (begin, lane))
            pen.joint(x, lane, 1)
            self._lane(e.net, x, lane)

    def _lane(self, net: str, x: int | None, y: int) -> None:
        """Run a lane from a place on it to the sides where its net is needed."""
        both = net in self.across and net not in self.crossed
        sides = LEVEL if both or x is None else (self.side[net],)
        if both:
            self.crossed.add(net)
        ends = [self.edge(side) for side in sides] + ([] if x is None else [x])
        self.pen.level(self.pen.metal, (min(ends), max(ends)), y, self.pen.wire)
        for side in sides:
            self.wires[side].append(Taken(net, y))

    def _sideways(self, body: Body, at: Transform) -> None:
        pen = self.pen
        for side in LEVEL:
            border = at.dx + (body.box.x0 if side == "left" else body.box.x1)
            edge = self.edge(side)
            for e in body.exits:
                y = e.place + at.dy
                if e.side != side:
                    continue
                if e.below is None:
                    pen.level(pen.metal, (border, edge), y, pen.wire)
                else:
                    pen.level_under(1, (border, edge), y)
                self.wires[side].append(Taken(e.net, y, metal=e.below is None))
        for rail in body.rails:
            border = at.dx + (body.box.x0 if rail.side == "left" else body.box.x1)
            y = rail.place + at.dy
            pen.level(pen.metal, (border, self.edge(rail.side)), y, rail.half)
            self.rails[rail.side].append((y, rail.half))
