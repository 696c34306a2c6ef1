"""Parts with poly gates and with metal gates: a pen for each, and the one that suits a process."""

from collections.abc import Iterable

from layoutdrill.drawing.shared.canvas import Span
from layoutdrill.drawing.shared.pen import Pen
from layoutdrill.drawing.shared.sizes import Size
from layoutdrill.drawing.shared.technique import METAL, GateForm, Loads, Technique
from layoutdrill.units import GridUnits
from layoutdrill.value import value


@value
class PolyPen(Pen):
    """A pen for poly gates."""

    @property
    def gate(self) -> int:
        return self.t.gate // 2

    @property
    def beside(self) -> int:
        """Return the distance of a gate line from a contact to diffusion, or from a strip of it."""
        t = self.t
        contact = self.cut + t.contact_gate + self.gate
        return max(contact, self.body + t.other_gap + self.gate, t.diffusion_past + self.gate - self.body)

    @property
    def row(self) -> int:
        """Return the least distance between level wires with contacts."""
        return 2 * self.pad + self.metal_gap

    @property
    def to_rail(self) -> int:
        """Return the distance of a rail from the level wire beside it."""
        return self.pad + self.metal_gap + self.rail

    @property
    def apart(self) -> int:
        """Return the distance between diffusions of the two kinds."""
        return 2 * self.implants.well_past

    def load_drain(self, gate: int, size: Size) -> int:
        """Return where a depletion load whose gate begins at a place has the middle of its drain's contact."""
        return gate + size.length + self.t.contact_gate + self.cut

    def depletion_load(self, near: GridUnits, gate: int, drain: int, size: Size, *, neck: int) -> None:
        """
        Draw a load along x, at y = 0, whose gate runs back into its own source by a buried contact.

        Its poly begins at `near`, over the source's diffusion, `neck` to both sides; its channel begins at `gate`. The
        drain has its contact, but no metal.
        """
        t, buried, half = self.t, self.buried, size.width // 2
        self.level(t.diffusion[1], (near, drain), 0, half)
        self.square(t.diffusion[1], drain, 0, self.body)
        self.square(t.cut, drain, 0, self.cut)
        self.level(self.poly, (near, gate), 0, neck)
        self.level(self.poly, (gate, gate + size.length), 0, half + t.gate_past)
        self.level(buried.layer, (near - buried.past, gate), 0, max(half, self.gate) + buried.past)
        past = buried.implant_past
        self.level(buried.implant, (gate - past, gate + size.length + past), 0, half + past)


@value
class Heights:
    """
    A row of complementary transistors, by heights over the rail at which it begins: the strips of the kind whose rail
    that is and of the other one, the middle of the wire of outputs between them, and the far rail.
    """

    near: Span
    far: Span
    wire: int
    rail: GridUnits


def heights_of(pen: PolyPen, near: GridUnits, far: int, apart: GridUnits) -> Heights:
    """Return the heights of a row with transistors of these widths; its wells stand `apart` further than they must."""
    t = pen.t
    clear = max(pen.body + pen.implants.tap_gap, t.rail // 2 + pen.rail_extra // 2 + pen.metal_gap)
    top = clear + near
    low = top + max(pen.apart, t.wires[METAL].width + 2 * pen.metal_gap) + apart
    wire = (top + low) // 2
    return Heights((clear, top), (low, low + far), wire - wire % 2, low + far + clear)


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
        d, reach, middles = self.doped, length // 2, sorted(channels)
        window = half + self.over - d.metal_past - d.inset
        for x in middles:
            self.level(d.window, (x - reach - d.window_past, x + reach + d.window_past), y, window)
            self.level(self.metal, (x - reach - self.cover, x + reach + self.cover), y, half + self.plate_past)
        if d.island:
            self.level(self.t.diffusion[0], ends, y, half)
        stops = [ends[0] - d.past, *(edge for x in middles for edge in (x - reach, x + reach)), ends[1] + d.past]
        for a, b in zip(stops[::2], stops[1::2], strict=True):
            self.level(d.doping[0], (a, b), y, half + d.past)


GatePen = PolyPen | MetalPen


def pen_for(t: Technique, rail_extra: GridUnits = 0) -> GatePen:
    """Return a pen with nothing drawn yet."""
    return (PolyPen if t.form is GateForm.POLY else MetalPen)(t, rail_extra=rail_extra)
