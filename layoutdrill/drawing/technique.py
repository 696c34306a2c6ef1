"""How a process is drawn: its design rules and recognition turned into the few numbers that the engine works with."""

from dataclasses import dataclass
from enum import Enum
from functools import cache

from layoutdrill.errors import LayoutdrillError
from layoutdrill.process.model import Process
from layoutdrill.process.terms import Kind

METAL, OTHER = 0, 1
"""The two wiring layers: metal, and the one below it (poly, or silicon as crossunder)."""


class GateForm(Enum):
    """What a transistor's gate is made of, and so how a device row is painted."""

    POLY = "poly"
    METAL = "metal"


@dataclass(frozen=True, slots=True)
class Wire:
    """A wiring layer: mask layer, wire width, the side of a contact's landing pad, spacing. Grid units."""

    layer: str
    width: int
    pad: int
    spacing: int


@dataclass(frozen=True, slots=True)
class Technique:
    """
    Everything in grid units. `gate` is the width of the gate's wire, `gate_past` how far it reaches past the
    diffusion, `diffusion_past` how far diffusion reaches past the gate wire's edge, `contact_gate` the gap
    between a diffusion contact and a gate wire, `other_gap` between the other wiring layer and a diffusion.
    """

    form: GateForm
    wires: tuple[Wire, Wire]
    contact: int
    diffusion: str
    surround: int
    diffusion_spacing: int
    gate: int
    channel: int
    gate_past: int
    diffusion_past: int
    contact_gate: int
    other_gap: int
    well: str | None
    well_past: int
    well_tap: int
    tap_gap: int
    doping: tuple[str, str]
    doping_past: int
    window: str | None
    window_past: int
    widths: tuple[tuple[int, int], tuple[int, int]]
    costs: "Costs"
    pitch: int

    @property
    def gate_layer(self) -> int:
        return OTHER if self.form is GateForm.POLY else METAL

    @property
    def rail(self) -> int:
        return self.wires[METAL].pad


@dataclass(frozen=True, slots=True)
class Costs:
    """Routing costs per step: metal, the other layer upright and level, a contact, metal along a gate."""

    metal: int
    other_upright: int
    other_level: int
    contact: int
    along_gate: int


@cache
def technique_of(process_name: str, rules: tuple[tuple[str, int], ...]) -> Technique:
    """Return the technique for a process, from its rules as (name, grid units) pairs."""
    of = dict(rules)
    if "poly.width" in of:
        return _poly_gate(of)
    if "silicon.width" in of:
        return _metal_gate(of)
    raise LayoutdrillError(f'no way to draw in process "{process_name}"', todo="give it rules for poly or silicon")


def technique_for(process: Process) -> Technique:
    return technique_of(process.name, tuple((rule.name, rule.value) for rule in process.rules.values()))


def _poly_gate(of: dict[str, int]) -> Technique:
    contact = of["contact.size"]
    metal = Wire("metal", of["metal.width"], contact + 2 * of["contact.metal"], of["metal.spacing"])
    poly = Wire("poly", of["poly.width"], contact + 2 * of["contact.poly"], of["poly.spacing"])
    return Technique(
        form=GateForm.POLY,
        wires=(metal, poly),
        contact=contact,
        diffusion="active",
        surround=of["contact.active"],
        diffusion_spacing=of["active.spacing"],
        gate=of["poly.width"],
        channel=of["poly.width"],
        gate_past=of["poly.past-active"],
        diffusion_past=of["active.past-poly"],
        contact_gate=of["contact.gate"],
        other_gap=of["poly.active"],
        well="nwell",
        well_past=of["active.well"],
        well_tap=of["active.tap-well"],
        tap_gap=of["active.n-tap"],
        doping=("nselect", "pselect"),
        doping_past=of["select.past-active-n"],
        window=None,
        window_past=0,
        widths=((10, 18), (14, 26)),
        costs=Costs(metal=10, other_upright=9, other_level=26, contact=20, along_gate=12),
        pitch=16,
    )


def _metal_gate(of: dict[str, int]) -> Technique:
    contact = of["contact.size"]
    pad = contact + 2 * of["contact.metal"]
    metal = Wire("metal", of["metal.width"], pad, of["metal.spacing"])
    silicon = Wire("silicon", of["silicon.width"], contact + 2 * of["contact.silicon"], of["silicon.spacing"])
    channel, overlap = of["channel.length"], of["gate.overlap"]
    gate = channel + 2 * overlap
    return Technique(
        form=GateForm.METAL,
        wires=(metal, silicon),
        contact=contact,
        diffusion="silicon",
        surround=of["contact.silicon"],
        diffusion_spacing=of["silicon.spacing"],
        gate=gate,
        channel=channel,
        gate_past=overlap,
        diffusion_past=of["diffusion.width-n"] - overlap,
        contact_gate=of["contact.metal"] + of["metal.spacing"],
        other_gap=of["silicon.spacing"],
        well=None,
        well_past=0,
        well_tap=0,
        tap_gap=0,
        doping=("nplus", "pplus"),
        doping_past=of["doping.past-silicon-n"],
        window="window",
        window_past=of["gate.window"],
        widths=((10, 20), (12, 24)),
        costs=Costs(metal=10, other_upright=22, other_level=17, contact=20, along_gate=0),
        pitch=16,
    )


HOME = {Kind.N: 0, Kind.P: 1}
"""Device rows: n at the bottom by the low supply, p at the top by the high one."""
