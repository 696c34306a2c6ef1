"""The parts of every array, drawn by a process's rules: wires, contacts, vias, taps, doped silicon, gate lines."""

from collections.abc import Iterable, Sequence

from layoutdrill.drawing.shared.canvas import Canvas, Span, frame_round
from layoutdrill.drawing.shared.technique import METAL, OTHER, UPPER_METAL, Buried, Doped, Implants, Wire
from layoutdrill.geometry.rect import Rect, box_round
from layoutdrill.units import GridUnits
from layoutdrill.value import value

RIM = 3
"""λ: the metal of a pad that the glass laps over."""


@value
class Pen(Canvas):
    """
    A canvas with parts to draw on it: what they draw keeps the process's rules.

    Lengths are half widths, or distances between middles, in grid units; rails are `rail_extra` wider than the least.
    A device's kind is 0 for n, or for the one kind that there is, and 1 for p. Wires of silicon islands have the
    `doping` of a kind, wherever they lie; without one, that of the devices beside them.
    """

    rail_extra: GridUnits = 0
    doping: int | None = None

    @property
    def metal(self) -> str:
        return self.t.metal

    @property
    def poly(self) -> str:
        return self.t.wires[OTHER].layer

    @property
    def under(self) -> Wire:
        """Return the wiring layer below the metal."""
        return self.t.wires[OTHER]

    @property
    def gates(self) -> str:
        """The mask of gate lines."""
        return self.t.wires[self.t.gate_layer].layer

    @property
    def upper(self) -> Wire:
        return self.t.wires[UPPER_METAL]

    @property
    def cut(self) -> int:
        return self.t.contact // 2

    @property
    def body(self) -> int:
        """Half the side of the silicon round a contact."""
        return self.cut + self.t.surround

    @property
    def pad(self) -> int:
        """Half the side of the metal, and of the poly, round a contact."""
        return max(self.t.wires[METAL].pad, self.t.wires[OTHER].pad) // 2

    @property
    def wire(self) -> int:
        return self.t.wires[METAL].width // 2

    @property
    def rail(self) -> int:
        return self.pad + self.rail_extra // 2

    @property
    def metal_gap(self) -> int:
        return self.t.wires[METAL].spacing

    @property
    def doped(self) -> Doped:
        assert self.t.doped is not None
        return self.t.doped

    @property
    def implants(self) -> Implants:
        assert self.t.implants is not None
        return self.t.implants

    @property
    def buried(self) -> Buried:
        assert self.t.buried is not None
        return self.t.buried

    def square(self, mask: str, x: GridUnits, y: GridUnits, half: GridUnits) -> None:
        self.box(mask, (x - half, x + half), (y - half, y + half))

    def level(self, mask: str, x: Span, y: GridUnits, half: GridUnits) -> None:
        """Draw a bar along x, `half` to either side of y."""
        self.box(mask, x, (y - half, y + half))

    def upright(self, mask: str, x: GridUnits, y: Span, half: GridUnits) -> None:
        """Draw a bar along y, `half` to either side of x."""
        self.box(mask, (x - half, x + half), y)

    def size(self, name: str, length: GridUnits, width: GridUnits) -> None:
        """Note the size that a transistor was drawn with."""
        self.sizes[name] = 1, length, width

    def diffuse(self, kind: int, x: Span, y: Span) -> None:
        """Draw doped silicon of a kind: an island with its doping, or the diffusion, which may be the doping itself."""
        (x0, x1), (y0, y1) = sorted(x), sorted(y)
        if self.t.doped is None:
            self.box(self.t.diffusion[kind], x, y)
            return
        past = self.doped.past
        if self.doped.island:
            self.box(self.t.diffusion[kind], x, y)
        self.box(self.doped.doping[kind], (x0 - past, x1 + past), (y0 - past, y1 + past))

    def run_under(self, kind: int, x: Span, y: Span) -> None:
        """Draw a piece of the wiring layer below the metal: poly, or else doped silicon of a kind."""
        if self.t.doped is None:
            self.box(self.poly, x, y)
        else:
            self.diffuse(kind if self.doping is None or not self.doped.island else self.doping, x, y)

    def level_under(self, kind: int, x: Span, y: GridUnits) -> None:
        """Draw a wire along x in the layer below the metal."""
        half = self.under.width // 2
        self.run_under(kind, x, (y - half, y + half))

    def upright_under(self, kind: int, x: GridUnits, y: Span) -> None:
        """Draw a wire along y in the layer below the metal."""
        half = self.under.width // 2
        self.run_under(kind, (x - half, x + half), y)

    def contact(self, x: GridUnits, y: GridUnits, kind: int | None = None) -> None:
        """Join metal and what lies below it; silicon of a `kind` is drawn for it."""
        if kind is not None:
            self.diffuse(kind, (x - self.body, x + self.body), (y - self.body, y + self.body))
        self.square(self.t.cut, x, y, self.cut)
        self.square(self.metal, x, y, self.pad)

    def joint(self, x: GridUnits, y: GridUnits, kind: int = 0) -> None:
        """Join metal and the wiring layer below it."""
        half = self.under.pad // 2
        self.run_under(kind, (x - half, x + half), (y - half, y + half))
        self.contact(x, y)

    def via(self, x: GridUnits, y: GridUnits) -> None:
        """Join both metals."""
        self.square(self.metal, x, y, self.pad)
        self.square(self.t.via, x, y, self.cut)
        self.square(self.upper.layer, x, y, self.upper.pad // 2)

    def bond_pad(self, x: Span, y: Span) -> None:
        """Draw a pad of metal with an opening in the glass, which laps over its rim."""
        (x0, x1), (y0, y1), rim = sorted(x), sorted(y), RIM * self.t.unit
        self.box(self.metal, x, y)
        if self.t.glass:
            self.box(self.t.glass, (x0 + rim, x1 - rim), (y0 + rim, y1 - rim))

    def taps(self, xs: Sequence[int], y: GridUnits, kind: int) -> None:
        """Tie the silicon below devices of a kind to a rail: taps under it at the places given, one implant round."""
        past = self.body + self.implants.past
        for x in xs:
            self.square(self.t.diffusion[kind], x, y, self.body)
            self.square(self.t.cut, x, y, self.cut)
        if xs:
            self.level(self.implants.doping[1 - kind], (min(xs) - past, max(xs) + past), y, past)

    def bed(self, kind: int, area: Rect, taps: Iterable[tuple[int, int]]) -> None:
        """Draw the implant round devices of a kind in an area; where they lie in a well, this round their taps too."""
        self.add(self.implants.doping[kind], (area.grown(self.implants.past),))
        if kind == self.implants.row:
            half = self.body + self.implants.well_tap
            held = [Rect(x - half, y - half, x + half, y + half) for x, y in taps]
            self.add(self.implants.well, (box_round([area.grown(self.implants.well_past), *held]),))

    def ring(self, area: Rect, kind: int) -> Rect:
        """
        Draw a guard ring round an area of diffusions of a kind; round those of kind 0 the well too.

        Returns the ring's outer border; where the process has no rings, the area.
        """
        rings = self.t.rings
        if rings is None:
            return area
        outer = area.grown(rings.gap + rings.width)
        self.add(self.doped.doping[1 - kind], frame_round(area.grown(rings.gap), rings.width))
        if kind == 0:
            self.add(rings.well, (outer.grown(rings.well_past),))
        return outer
