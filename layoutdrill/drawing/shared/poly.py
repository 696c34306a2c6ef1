"""Parts with poly gates: strips of diffusion under gate lines, depletion loads, rows of complementary transistors."""

from layoutdrill.drawing.shared.canvas import Span
from layoutdrill.drawing.shared.pen import Pen
from layoutdrill.drawing.shared.sizes import Size
from layoutdrill.drawing.shared.technique import METAL
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
