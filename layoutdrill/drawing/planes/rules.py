"""The distances that all planes have, whatever their gates are made of."""

from dataclasses import dataclass

from layoutdrill.drawing.shared.technique import METAL, Technique


@dataclass(frozen=True, slots=True)
class Rules:
    """Half widths and distances between centres, in grid units."""

    technique: Technique
    stout: int

    @property
    def cut(self) -> int:
        return self.technique.contact // 2

    @property
    def body(self) -> int:
        """Half the side of diffusion round a contact."""
        return self.cut + self.technique.surround

    @property
    def pad(self) -> int:
        """Half the side of a metal pad over a contact."""
        return self.technique.wires[METAL].pad // 2

    @property
    def rail(self) -> int:
        return self.pad + self.stout

    @property
    def metal_gap(self) -> int:
        return self.technique.wires[METAL].spacing
