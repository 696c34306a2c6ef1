"""How a process is drawn: the few numbers, in grid units, that the engine works with."""

from enum import Enum

from layoutdrill.netlist.model import Transistor
from layoutdrill.process.terms import Kind, Mode
from layoutdrill.units import GridUnits
from layoutdrill.value import value

METAL, OTHER, UPPER_METAL = 0, 1, 2
"""The wiring layers: metal, the one below it (poly, or silicon as crossunder), and a second metal where it exists."""


class GateForm(Enum):
    """What a transistor's gate is made of, and so how a device row is painted."""

    POLY = "poly"
    METAL = "metal"


class Loads(Enum):
    """How a gate's load is drawn where there is one kind of transistor only."""

    BURIED = "poly that runs back into its own source"
    PLATE = "metal of the rail, drawn out over the channel"
    TIED = "a gate among others, tied to its supply by a contact"


@value
class Wire:
    """A wiring layer: mask layer, wire width, the side of a contact's landing pad, spacing."""

    layer: str
    width: GridUnits
    pad: int
    spacing: GridUnits


@value
class Costs:
    """Routing costs: of a step upright and level in each layer of wires, of a contact, a via, metal along a gate."""

    steps: tuple[tuple[int, int], ...]
    contact: int
    along_gate: int
    via: int = 20


@value
class Implants:
    """
    Wells and implants round poly gates: mask layers of the well and of the implants for the n and the p row, and
    how far each reaches past what it holds; `row` is the device row in the well; `tap_gap` from a tap to a transistor.
    """

    well: str
    row: int
    well_past: int
    well_tap: int
    tap_gap: int
    doping: tuple[str, str]
    past: GridUnits


@value
class Doped:
    """
    Source and drain of a metal gate: mask layers of the doping of the bottom and the top row. With `island` the
    doping lies over islands of silicon and reaches `past` them; without, it is the diffusion itself, and the gate
    window stays `inset` inside its edges.
    """

    window: str
    doping: tuple[str, str]
    island: bool
    past: GridUnits
    window_past: int
    inset: int
    metal_past: int


@value
class Rings:
    """
    Guard rings: their width and distance from what they hold, the well round the lower one, and what parts them;
    how far diffusions stay `inside` the well's edge and `outside` it. With `open` only the legs between the rows are
    drawn, from border to border: tiles stand side by side in one ring.
    """

    well: str
    width: GridUnits
    gap: GridUnits
    well_past: int
    apart: GridUnits
    inside: int
    outside: int
    open: bool = False


@value
class Buried:
    """Contacts of poly to diffusion without metal, and the implant of depletion transistors."""

    layer: str
    overlap: int
    past: GridUnits
    gate: int
    implant: str
    implant_past: int


@value
class Technique:
    """
    Everything in grid units. `cut` is the mask of contacts, `contact` their side, `via` the mask of vias. `gate` is the
    width of the gate's wire, `channel` the usual channel length, `gate_past` how far the gate reaches past the
    diffusion, `diffusion_past` how far diffusion reaches past the gate wire's edge,
    `contact_gate` the gap between a diffusion contact and a gate wire, `other_gap` between the other wiring layer and
    a diffusion. `diffusion` is the mask of the bottom and of the top row, `glass` that of openings in the glass, "" for
    none; `unit` is one λ.
    """

    form: GateForm
    wires: tuple[Wire, ...]
    cut: str
    contact: int
    diffusion: tuple[str, str]
    surround: int
    diffusion_spacing: int
    gate: int
    channel: int
    gate_past: int
    diffusion_past: int
    contact_gate: int
    other_gap: int
    widths: tuple[tuple[int, int], tuple[int, int]]
    costs: Costs
    implants: Implants | None = None
    doped: Doped | None = None
    rings: Rings | None = None
    buried: Buried | None = None
    loads: Loads | None = None
    via: str = ""
    broad: int = 0
    levelled: Costs | None = None
    least_width: int = 0
    pitch: GridUnits = 16
    glass: str = ""
    unit: GridUnits = 1

    @property
    def gate_layer(self) -> int:
        return OTHER if self.form is GateForm.POLY else METAL

    @property
    def metal(self) -> str:
        """The mask of the first metal."""
        return self.wires[METAL].layer

    @property
    def rail(self) -> int:
        return self.wires[METAL].pad

    @property
    def body(self) -> int:
        """Return the side of a diffusion round a contact."""
        return self.contact + 2 * self.surround

    @property
    def bulk(self) -> bool:
        """Tell whether gates are metal over diffusions in bulk silicon, which are the doping itself."""
        return self.doped is not None and not self.doped.island

    @property
    def inset(self) -> int:
        """Return how far the channel's sides lie inside the diffusion's edges."""
        return self.doped.inset if self.doped else 0

    def row_of(self, t: Transistor, supplies: tuple[str, str]) -> int:
        """
        Return the device row of a transistor, 0 at the bottom by the low supply.

        Of two kinds n is below; of one kind the drivers stand by their own rail and loads by the other.
        """
        if self.loads is Loads.BURIED:
            return 1 if t.mode is Mode.DEPLETION else 0
        if self.loads is Loads.PLATE:
            return 0 if self.stands(t, supplies) else 1
        if self.loads is Loads.TIED:
            return int(t.gate == supplies[1] and supplies[1] in t.ends)
        return 0 if t.kind is Kind.N else 1

    def stands(self, t: Transistor, supplies: tuple[str, str]) -> bool:
        """Tell whether a transistor is a load that is drawn upright between its rail and its output."""
        low, high = supplies
        if t.source == t.drain:
            return False
        if self.loads is Loads.BURIED:
            return t.mode is Mode.DEPLETION and t.gate in t.ends and high in t.ends and t.gate != high
        return self.loads is Loads.PLATE and t.gate == low and low in t.ends
