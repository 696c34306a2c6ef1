"""Parts with metal gates: bars of doped silicon, and windows of thin oxide below the metal that make channels."""

from collections.abc import Iterable

from layoutdrill.drawing.shared.canvas import Span
from layoutdrill.drawing.shared.pen import Pen
from layoutdrill.drawing.shared.technique import Loads
from layoutdrill.units import GridUnits
from layoutdrill.value import value


@value
class MetalPen(Pen):
    """A pen for metal gates, which must reach past the windows below them."""

    @property
    def over(self) -> int:
        """Return how far a gate's metal reaches past its channel's sides."""
        return self.doped.metal_past + (self.doped.window_past if self.doped.island else 0)

    @property
    def cover(self) -> int:
        """Return how far a gate's metal reaches past its channel's ends."""
        return self.doped.metal_past + self.doped.window_past

    @property
    def plate_past(self) -> int:
        """Return how far the metal over a channel along a bar reaches past the bar's sides; it may stay within."""
        return self.over - self.doped.inset

    @property
    def apart(self) -> int:
        """Return the distance of diffusions of one kind."""
        return self.t.diffusion_spacing

    @property
    def contact_gate(self) -> int:
        """Return the distance of a contact's middle from a channel whose gate is another net."""
        return self.cover + self.t.contact_gate + self.cut

    @property
    def one_kind(self) -> bool:
        return self.t.loads is Loads.PLATE

    @property
    def across(self) -> int:
        """Return the distance of the diffusions of the two kinds, with both rings between them."""
        rings = self.t.rings
        if rings is None:
            return self.apart
        return 2 * (rings.gap + rings.width) + rings.well_past + rings.apart

    def gap(self, length: GridUnits) -> int:
        """Return the distance of two bars that standing channels of a length join."""
        return length + 2 * self.doped.past

    def reach(self, width: GridUnits) -> int:
        """Return how far a bar reaches past the middle of a channel of a width at which it ends, or of a contact."""
        return max(width // 2 + self.doped.inset, self.body)

    def channel(self, ends: Span, middle: GridUnits, width: GridUnits, *, level: bool = False) -> None:
        """Draw a channel, without its gate, upright between its two ends, or along x when it is `level`."""
        (low, high), half, d = sorted(ends), width // 2, self.doped
        bars = [(d.window, d.window_past, half + (d.window_past if d.island else 0))]
        if d.island:
            bars.append((self.t.diffusion[0], d.past, half))
        for mask, past, side in bars:
            along, across = (low - past, high + past), (middle - side, middle + side)
            self.box(mask, *((along, across) if level else (across, along)))

    def plate(self, ends: Span, middle: GridUnits, width: GridUnits) -> None:
        """Draw the metal over a channel that is upright between its two ends."""
        low, high = sorted(ends)
        self.upright(self.metal, middle, (low - self.cover, high + self.cover), width // 2 + self.over)

    def bar(self, kind: int, x: Span, y: GridUnits, half: GridUnits) -> None:
        """Draw a level bar of doped silicon."""
        self.diffuse(kind, x, (y - half, y + half))

    def series(self, ends: Span, y: GridUnits, half: GridUnits, channels: Iterable[int], length: GridUnits) -> None:
        """Draw a level bar with channels of a length about the places given, and the metal over them."""
        d, at = self.doped, ends[0]
        pieces = []
        for x in sorted(channels):
            low, high = x - length // 2, x + length // 2
            pieces.append((at, low))
            at = high
            self.level(
                d.window, (low - d.window_past, high + d.window_past), y, half + self.over - d.metal_past - d.inset
            )
            self.level(self.metal, (low - self.cover, high + self.cover), y, half + self.plate_past)
        pieces.append((at, ends[1]))
        if d.island:
            self.level(self.t.diffusion[0], ends, y, half)
        for a, b in pieces:
            left, right = (d.past if a == ends[0] else 0), (d.past if b == ends[1] else 0)
            self.level(d.doping[0], (a - left, b + right), y, half + d.past)
