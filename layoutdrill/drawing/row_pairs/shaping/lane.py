"""A diffusion as it lies on a sketch, and where its contacts may be."""

from collections.abc import Mapping, Sequence

from layoutdrill.drawing.row_pairs.placing.devices import Device, Form
from layoutdrill.drawing.row_pairs.placing.floor import Gate, Region, Strip
from layoutdrill.drawing.row_pairs.placing.forms import pocket
from layoutdrill.drawing.row_pairs.shaping.lines import Span, span
from layoutdrill.drawing.shared.technique import Technique
from layoutdrill.value import value

Contacts = Mapping[Region, Sequence[tuple[int, bool]]]
"""For each region the lines of its contacts from the left, and which of them are buried."""


@value
class Lane:
    """
    A strip between the lines `left` and `right`, whose lower edge is `line`; `gates` are the lines of its gates. Its
    contacts lie about the height `up` above its lower edge. `loose` is what wires keep more apart; `drawn_in` says that
    a bent gate has made its row high, and that diffusion stays low where nothing is bent.
    """

    strip: Strip
    technique: Technique
    left: int
    right: int
    line: int
    height: int
    loose: int
    gates: Mapping[Gate, int]
    contacts: Contacts
    drawn_in: bool

    @property
    def whole(self) -> Span:
        return span(self.line, 0, self.height)

    @property
    def up(self) -> int:
        return start_of(self.strip, self.technique, self.height, self.loose)

    def inward(self, low: int, high: int) -> Span:
        """Return a span that is told by how far it begins and ends inside the strip's outer edge, that by its rail."""
        return span(self.line, *((low, high) if self.strip.row == 0 else (self.height - high, self.height - low)))

    def rise(self, width: int) -> int:
        """Return how far above the lower edge something narrower lies, about the height of the contacts."""
        return min(max(self.up - width // 2, 0), self.height - width)

    def band(self, width: int) -> Span:
        """Return a span of a width about the height of the contacts, inside the strip."""
        return span(self.line, self.rise(width), self.rise(width) + width)

    def width(self, gate: Gate) -> int:
        """Return how wide a channel is."""
        return gate.device.size.width or self.height - 2 * self.technique.inset

    def sides(self, gate: Gate, past: int = 0) -> tuple[int, int]:
        """Return from where to where a gate's wire reaches about its line, its step aside and what is `past` it too."""
        half = half_of(gate, self.technique) + past
        return min(0, gate.step) - half, max(0, gate.step) + half

    def region(self, region: Region) -> tuple[int, int]:
        """
        Return from where to where a source or drain reaches above the lower edge.

        Between narrow channels it may be low; diffusions of bulk silicon keep their height, and only their windows
        are low.
        """
        gates, place = self.strip.gates, self.strip.regions.index(region)
        beside = [gate.device for gate in gates[max(0, place - 1) : place + 1]]
        if not self.drawn_in or not all(device.form is Form.STRAIGHT and device.size.width for device in beside):
            return 0, self.height
        width = max(self.technique.body, *(device.size.width for device in beside))
        return self.rise(width), self.rise(width) + width

    def pocket(self, region: Region) -> tuple[int, int]:
        """Return how far contacts stay inside the lower and the upper edge of the strip."""
        t, strip = self.technique, self.strip
        edge, near = t.contact // 2 + t.surround, t.contact_gate + t.contact // 2
        low, high = self.region(region)
        limits = low + edge, self.height - high + edge
        for first, _, inner in strip.bent:
            if inner is region:
                inside = pocket(t, self.loose)
                limits = self._upwards(inside, inside if first.device.form is Form.RING else edge)
        for gate in (gate for gate in strip.gates if gate.step):
            start, stop = middle(self.height, t)
            outer, inner = strip.beside(gate)[:: 1 if gate.step > 0 else -1]
            if region is outer:
                limits = self._upwards(edge, self.height - start + near)
            elif region is inner:
                limits = self._upwards(stop + near, edge)
        return limits

    def _upwards(self, outer: int, inner: int) -> tuple[int, int]:
        """Return distances from the edge by the rail and from the other one as those from the lower and the upper."""
        return (outer, inner) if self.strip.row == 0 else (inner, outer)


def half_of(gate: Gate, t: Technique) -> int:
    """Return half the width of a gate's wire."""
    return (t.gate - t.channel + extent(gate.device, t)) // 2


def extent(device: Device, t: Technique) -> int:
    """Return how far a channel reaches from end to end: its length, or less when it is folded."""
    return device.fold.plate if device.fold is not None else device.size.length or t.channel


def middle(height: int, t: Technique) -> tuple[int, int]:
    """Return from where to where, inside a strip's outer edge, the level part of a gate that steps aside lies."""
    low = (height - t.gate) // 2
    return low, low + t.gate


def start_of(strip: Strip, t: Technique, height: int, loose: int) -> int:
    """Return how far above a strip's lower edge its contacts begin: in its middle, or where gates go round them."""
    bends = strip.bent
    low = pocket(t, loose) if bends and all(first.device.form is not Form.RING for first, _, _ in bends) else 0
    up = max(height // 2, low)
    return up if strip.row == 0 else height - up
