"""What marks cover: rectangles of the face, by layer and net, wide enough to be pointed at."""

from collections.abc import Iterator
from math import ceil, hypot

from layoutdrill.geometry.rect import Rect
from layoutdrill.photo.frame import Frame
from layoutdrill.photo.model import At, Contact, Layer, MarkedTransistor, Marks, Wire
from layoutdrill.process import Process
from layoutdrill.process.terms import Kind
from layoutdrill.value import value

USUAL = {Layer.METAL: 3.0, Layer.METAL_2: 4.0, Layer.POLY: 2.0, Layer.DIFFUSION: 3.0, Layer.TAP: 4.0}
"""λ that a line of each layer is wide where nobody measured: the least of published λ rules (Mead & Conway 1980)."""
CONTACT, PAD, POINT = 2.0, 4.0, 2.0
"""λ of a contact, of what surrounds it on both layers (Mead & Conway 1980), and of a point on a net."""
CHANNEL = (2.0, 3.0)
"""λ of a channel's length and width where nobody measured."""
_MOST_STEPS = 2000
"""Squares that a slanting line is cut into at most."""


@value
class Shape:
    """A rectangle of the face on a layer of a net. `kind` is that of the transistors it belongs to, of diffusion."""

    layer: Layer
    net: str
    rect: Rect
    kind: Kind | None = None


@value
class Cut:
    """A contact or via: what it joins, and where."""

    net: str
    upper: Layer
    lower: Layer
    rect: Rect


@value
class Channel:
    """The channel of a transistor."""

    transistor: str
    rect: Rect


def gate_layer(process: Process) -> Layer:
    """Return what gates are made of in a process."""
    rule = process.transistors[0]
    layer = process.layers.get(rule.gate)
    return Layer.POLY if layer is None or layer.role == "poly" else Layer.METAL


class Shapes:
    """The shapes of a mark file, in its own order."""

    def __init__(self, marks: Marks, process: Process, frame: Frame) -> None:
        self.marks, self.frame, self.side = marks, frame, float(marks.per_lambda)
        self.gate = gate_layer(process)
        self.wires: list[Shape] = []
        self.cuts: list[Cut] = []
        self.channels: list[Channel] = []
        kinds = {net: t.kind for t in reversed(marks.transistors) for net in t.ends}
        for wire in marks.wires:
            kind = kinds.get(wire.net) if wire.layer is Layer.DIFFUSION else None
            self.wires += [Shape(wire.layer, wire.net, rect, kind) for rect in self._line(wire)]
        for point in marks.points:
            kind = kinds.get(point.net) if point.layer is Layer.DIFFUSION else None
            self.wires.append(Shape(point.layer, point.net, self._square(point.at, POINT * self.side), kind))
        for contact in marks.contacts:
            self._contact(contact, kinds.get(contact.net))
        for t in marks.transistors:
            self._transistor(t)

    def _square(self, at: At, side: float) -> Rect:
        x, y = at
        return self.frame.rect(x - side / 2, y - side / 2, x + side / 2, y + side / 2)

    def _contact(self, contact: Contact, kind: Kind | None) -> None:
        side = contact.size or CONTACT * self.side
        pad = self._square(contact.at, max(side + 2 * self.side, PAD * self.side if not contact.size else 0))
        for layer in (contact.upper, contact.lower):
            self.wires.append(Shape(layer, contact.net, pad, kind if layer is Layer.DIFFUSION else None))
        self.cuts.append(Cut(contact.net, contact.upper, contact.lower, self._square(contact.at, side)))

    def _line(self, wire: Wire) -> Iterator[Rect]:
        """Cut a line into rectangles: one for each straight stretch along an axis, squares where it slants."""
        wide = wire.width or USUAL[wire.layer] * self.side
        half = wide / 2
        for (xa, ya), (xb, yb) in zip(wire.at, wire.at[1:], strict=False):
            slant = min(abs(xb - xa), abs(yb - ya))
            if slant <= half / 2:
                left, right, top, bottom = min(xa, xb), max(xa, xb), min(ya, yb), max(ya, yb)
                yield self.frame.rect(left - half, top - half, right + half, bottom + half)
                continue
            steps = min(_MOST_STEPS, max(2, ceil(hypot(xb - xa, yb - ya) / half)))
            for step in range(steps + 1):
                x, y = xa + (xb - xa) * step / steps, ya + (yb - ya) * step / steps
                yield self.frame.rect(x - half, y - half, x + half, y + half)

    def _transistor(self, t: MarkedTransistor) -> None:
        (x, y), first, second = t.at
        long, wide = t.channel if t.channel != (0.0, 0.0) else (CHANNEL[0] * self.side, CHANNEL[1] * self.side)
        across = abs(first[0] - second[0]) >= abs(first[1] - second[1])
        half_x, half_y = (long / 2, wide / 2) if across else (wide / 2, long / 2)
        box = x - half_x, y - half_y, x + half_x, y + half_y
        self.channels.append(Channel(t.name, self.frame.rect(*box)))
        over = self.side * 2
        gate = (
            (box[0], box[1] - over, box[2], box[3] + over) if across else (box[0] - over, box[1], box[2] + over, box[3])
        )
        self.wires.append(Shape(self.gate, t.gate, self.frame.rect(*gate)))
        for net, end in zip(t.ends, (first, second), strict=True):
            for rect in self._end(box, end, across=across):
                self.wires.append(Shape(Layer.DIFFUSION, net, rect, t.kind))

    def _end(self, box: tuple[float, float, float, float], end: At, *, across: bool) -> Iterator[Rect]:
        """Yield the diffusion from a channel's edge to an end, and beyond it by 1 λ."""
        left, top, right, bottom = box
        (ex, ey), side = end, self.side
        middle_x, middle_y = (left + right) / 2, (top + bottom) / 2
        if across:
            x0, x1 = (right, max(ex + side, right + side)) if ex >= middle_x else (min(ex - side, left - side), left)
            yield self.frame.rect(x0, top, x1, bottom)
            if not top <= ey <= bottom:
                yield self.frame.rect(
                    max(x0, ex - side), min(top, ey - side), min(x1, ex + side), max(bottom, ey + side)
                )
        else:
            y0, y1 = (bottom, max(ey + side, bottom + side)) if ey >= middle_y else (min(ey - side, top - side), top)
            yield self.frame.rect(left, y0, right, y1)
            if not left <= ex <= right:
                yield self.frame.rect(
                    min(left, ex - side), max(y0, ey - side), max(right, ex + side), min(y1, ey + side)
                )
