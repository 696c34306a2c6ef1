"""How planes with metal gates are built: distances from a process's technique, and paint for one diffusion or gate."""

from dataclasses import dataclass

from layoutdrill.drawing.planes.pen import Pen, Span
from layoutdrill.drawing.planes.rules import Rules
from layoutdrill.drawing.shared.technique import METAL, Doped, Loads


@dataclass(frozen=True, slots=True)
class MetalRules(Rules):
    """The same with metal gates; lines are as wide as their contacts' bodies, `width` is the transistors' own."""

    width: int

    @property
    def doped(self) -> Doped:
        assert self.technique.doped is not None
        return self.technique.doped

    @property
    def over(self) -> int:
        """Return how far a gate's metal reaches past its channel's sides."""
        return self.doped.metal_past + (self.doped.window_past if self.doped.island else 0)

    @property
    def cover(self) -> int:
        """Return how far a gate's metal reaches past its channel's ends."""
        return self.doped.metal_past + self.doped.window_past

    @property
    def gate(self) -> int:
        """Return half the width of a gate line."""
        return max(self.width // 2 + self.over, self.pad)

    @property
    def patch(self) -> int:
        """Return how far a diffusion reaches past the middle of a gate line at whose window it ends."""
        return max(self.width // 2 + self.doped.inset, self.body)

    @property
    def apart(self) -> int:
        """Return the distance of diffusions of one kind."""
        return self.technique.diffusion_spacing

    @property
    def gap(self) -> int:
        """Return the distance of diffusions on either side of a channel of the usual length."""
        return self.technique.channel + 2 * self.doped.past

    @property
    def contact_gate(self) -> int:
        """Return the distance of a contact's middle from a channel whose gate is another net."""
        return self.cover + self.technique.contact_gate + self.cut

    @property
    def one_kind(self) -> bool:
        return self.technique.loads is Loads.PLATE

    @property
    def across(self) -> int:
        """Return the distance of the diffusions of the two kinds, with both rings between them."""
        rings = self.technique.rings
        if rings is None:
            return self.apart
        return 2 * (rings.gap + rings.width) + rings.well_past + rings.apart

    def diffuse(self, pen: Pen, kind: int, u: Span, v: Span) -> None:
        """Draw a doped area; `kind` 0 is that of the plane."""
        (u0, u1), (v0, v1) = sorted(u), sorted(v)
        mask, past = self.doped.doping[kind], self.doped.past
        if self.doped.island:
            pen.box(self.technique.diffusion[kind], (u0, u1), (v0, v1))
        pen.box(mask, (u0 - past, u1 + past), (v0 - past, v1 + past))

    def channel(self, pen: Pen, ends: Span, middle: int, width: int, *, level: bool = False) -> None:
        """Draw a channel, without its gate, that runs along v between its two ends, or along u when it is `level`."""
        low, high = sorted(ends)
        half, past = width // 2, self.doped.window_past
        if self.doped.island:
            bar(pen, self.technique.diffusion[0], (low - self.doped.past, high + self.doped.past), middle, half, level)
            half += past
        bar(pen, self.doped.window, (low - past, high + past), middle, half, level)

    def contact(self, pen: Pen, u: int, v: int) -> None:
        pen.square("contact", u, v, self.cut)
        pen.square(self.technique.wires[METAL].layer, u, v, self.pad)


def bar(pen: Pen, mask: str, ends: Span, middle: int, half: int, level: bool) -> None:
    """Draw a bar along u, or else along v."""
    if level:
        pen.along(mask, ends, middle, half)
    else:
        pen.upright(mask, middle, ends, half)
