"""The distances on which planes with poly gates are built, all from a process's technique."""

from dataclasses import dataclass

from layoutdrill.drawing.planes.rules import Rules
from layoutdrill.drawing.shared.technique import METAL, OTHER


@dataclass(frozen=True, slots=True)
class PolyRules(Rules):
    """Half widths and distances between centres, in grid units."""

    @property
    def pad(self) -> int:
        """Half the side of a metal pad, and of a poly pad, over a contact."""
        return max(self.technique.wires[METAL].pad, self.technique.wires[OTHER].pad) // 2

    @property
    def wire(self) -> int:
        return self.technique.wires[METAL].width // 2

    @property
    def gate(self) -> int:
        return self.technique.gate // 2

    @property
    def beside(self) -> int:
        """Return the distance of a gate line from a drain contact, or from a strip of ground."""
        t = self.technique
        contact = self.cut + t.contact_gate + self.gate
        return max(contact, self.body + t.other_gap + self.gate, t.diffusion_past + self.gate - self.body)

    @property
    def row(self) -> int:
        """Return the least distance between lines with contacts."""
        return 2 * self.pad + self.metal_gap

    @property
    def to_rail(self) -> int:
        """Return the distance of a rail from the line beside it."""
        return self.pad + self.metal_gap + self.rail

    @property
    def apart(self) -> int:
        """Return the distance between diffusions of the two kinds."""
        implants = self.technique.implants
        assert implants is not None
        return 2 * implants.well_past
