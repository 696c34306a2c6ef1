"""A diffusion as it lies on a sketch, and where its contacts may be."""

from collections.abc import Mapping, Sequence

from layoutdrill.drawing.row_pairs.placing.devices import Device, Form
from layoutdrill.drawing.row_pairs.placing.floor import Gate, Region, Strip, straighten
from layoutdrill.drawing.row_pairs.placing.forms import pocket
from layoutdrill.drawing.row_pairs.shaping.sketch import Span
from layoutdrill.drawing.shared.technique import Technique
from layoutdrill.value import value

Contacts = Mapping[Region, Sequence[tuple[int, bool]]]
"""For each region the lines of its contacts from the left, and which of them are buried."""
Limits = Mapping[Region, tuple[int, int]]


@value
class Lane:
    """
    A strip between the lines `left` and `right`, whose lower edge is `line`; `gates` are the lines of its gates. Its
    contacts lie about the height `up` above its lower edge; `bands` tell from where to where low regions reach.
    """

    strip: Strip
    technique: Technique
    left: int
    right: int
    line: int
    height: int
    gates: Mapping[Gate, int]
    contacts: Contacts
    up: int
    bands: Limits

    @property
    def whole(self) -> Span:
        return (self.line, 0), (self.line, self.height)

    def inward(self, low: int, high: int) -> Span:
        """Return a span that is told by how far it begins and ends inside the strip's outer edge, that by its rail."""
        if self.strip.row == 0:
            return (self.line, low), (self.line, high)
        return (self.line, self.height - high), (self.line, self.height - low)

    def band(self, width: int) -> Span:
        """Return a span of a width about the height of the contacts, inside the strip."""
        low = rise_of(width, self.height, self.up)
        return (self.line, low), (self.line, low + width)

    def width(self, gate: Gate) -> int:
        """Return how wide a channel is."""
        return gate.device.size.width or self.height - 2 * self.technique.inset


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


def keep_steps(strip: Strip, lines: Mapping[Region, set[int]]) -> None:
    """Make gates straight that would part contacts on one line; `lines` are those of the contacts."""
    regions = strip.regions
    for at, gate in enumerate(strip.gates):
        if gate.step and lines[regions[at]] & lines[regions[at + 1]]:
            straighten(gate)


def pockets_in(strip: Strip, t: Technique, height: int, loose: int) -> dict[Region, tuple[int, int]]:
    """Return how far contacts stay inside the lower and the upper edge, where bent gates narrow a region."""
    edge, near = t.contact // 2 + t.surround, t.contact_gate + t.contact // 2
    limits = {}
    for first, _, region in strip.bent:
        inside = pocket(t, loose)
        limits[region] = inside, inside if first.device.form is Form.RING else edge
    for at, gate in enumerate(strip.gates):
        if gate.step:
            low, high = middle(height, t)
            outer, inner = strip.regions[at : at + 2][:: 1 if gate.step > 0 else -1]
            limits |= {outer: (edge, height - low + near), inner: (high + near, edge)}
    return limits if strip.row == 0 else {region: (high, low) for region, (low, high) in limits.items()}


def bands_in(strip: Strip, t: Technique, height: int, up: int) -> dict[Region, tuple[int, int]]:
    """
    Return from where to where the sources and drains between narrow channels reach, above the strip's lower edge.

    In a row that a bent gate has made high, diffusion stays low where nothing is bent; `up` is where contacts lie.
    Diffusions of bulk silicon keep their height, and only their windows are low.
    """
    bands = {}
    gates = strip.gates
    for place, region in enumerate(() if t.bulk else strip.regions):
        beside = [gate.device for gate in gates[max(0, place - 1) : place + 1]]
        if all(device.form is Form.STRAIGHT and device.size.width for device in beside):
            width = max(t.body, *(device.size.width for device in beside))
            low = rise_of(width, height, up)
            bands[region] = low, low + width
    return bands


def rise_of(width: int, height: int, up: int) -> int:
    """Return how far above a strip's lower edge something narrower lies, about the height `up` of its contacts."""
    return min(max(up - width // 2, 0), height - width)


def start_of(strip: Strip, t: Technique, height: int, loose: int) -> int:
    """Return how far above a strip's lower edge its contacts begin: in its middle, or where gates go round them."""
    bends = strip.bent
    low = pocket(t, loose) if bends and all(first.device.form is not Form.RING for first, _, _ in bends) else 0
    up = max(height // 2, low)
    return up if strip.row == 0 else height - up
