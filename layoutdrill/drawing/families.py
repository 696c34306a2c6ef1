"""Turn a process's design rules into the technique by which it is drawn; which family it is of, its rules tell."""

from dataclasses import replace
from functools import cache

from layoutdrill.drawing.technique import (
    Buried,
    Costs,
    Doped,
    GateForm,
    Implants,
    Loads,
    Rings,
    Technique,
    Wire,
)
from layoutdrill.errors import LayoutdrillError
from layoutdrill.process.model import Process

_CMOS_COSTS = Costs(metal_upright=10, metal_level=10, other_upright=9, other_level=14, contact=34, along_gate=12)
_POLY_COSTS = Costs(metal_upright=10, metal_level=10, other_upright=9, other_level=26, contact=20, along_gate=12)
_ISLAND_COSTS = Costs(metal_upright=10, metal_level=10, other_upright=22, other_level=12, contact=26, along_gate=0)
_DOPED_COSTS = Costs(metal_upright=10, metal_level=10, other_upright=22, other_level=17, contact=20, along_gate=0)
_UPPER_UPRIGHT = Costs(
    metal_upright=17, metal_level=10, other_upright=14, other_level=36, contact=20, along_gate=12,
    upper_upright=6, upper_level=30,
)  # fmt: skip
_UPPER_LEVEL = Costs(
    metal_upright=10, metal_level=17, other_upright=11, other_level=36, contact=20, along_gate=12,
    upper_upright=30, upper_level=6,
)  # fmt: skip


def technique_for(process: Process) -> Technique:
    """Return how a process is drawn. Raises LayoutdrillError for one whose rules do not tell."""
    return _technique(process.name, tuple((rule.name, rule.value) for rule in process.rules.values()))


@cache
def _technique(process_name: str, rules: tuple[tuple[str, int], ...]) -> Technique:
    of = dict(rules)
    for telling, family in (
        ("implant.past-gate", _one_kind_poly),
        ("poly.width", _poly_gate),
        ("silicon.width", _islands),
        ("well.ring", _ringed),
        ("diffusion.width", _one_kind_metal),
    ):
        if telling in of:
            try:
                return family(of)
            except KeyError as missing:
                told = f"process {process_name} has no rule {missing}, which a drawing needs"
                raise LayoutdrillError(told, todo=f"add the rule {missing}") from None
    raise LayoutdrillError(f'no way to draw in process "{process_name}"', todo="give it rules for poly or diffusion")


def _metal(of: dict[str, int]) -> Wire:
    return Wire("metal", of["metal.width"], of["contact.size"] + 2 * of["contact.metal"], of["metal.spacing"])


def _poly(of: dict[str, int]) -> Wire:
    return Wire("poly", of["poly.width"], of["contact.size"] + 2 * of["contact.poly"], of["poly.spacing"])


def _of_poly(of: dict[str, int]) -> Technique:
    """Return what all processes with poly gates have in common, with the heights and costs of one metal."""
    return Technique(
        form=GateForm.POLY,
        wires=(_metal(of), _poly(of)),
        contact=of["contact.size"],
        diffusion=("active", "active"),
        surround=of["contact.active"],
        diffusion_spacing=of["active.spacing"],
        gate=of["poly.width"],
        channel=of["poly.width"],
        gate_past=of["poly.past-active"],
        diffusion_past=of["active.past-poly"],
        contact_gate=of["contact.gate"],
        other_gap=of["poly.active"],
        widths=((10, 18), (14, 26)),
        costs=_CMOS_COSTS,
        pitch=16,
        least_width=of["active.width"],
    )


def _poly_gate(of: dict[str, int]) -> Technique:
    wires: tuple[Wire, ...] = (_metal(of), _poly(of))
    upper = "metal2.width" in of
    if upper:
        wires += (Wire("metal2", of["metal2.width"], of["via.size"] + 2 * of["via.metal2"], of["metal2.spacing"]),)
    return replace(
        _of_poly(of),
        wires=wires,
        costs=_UPPER_UPRIGHT if upper else _CMOS_COSTS,
        levelled=_UPPER_LEVEL if upper else None,
        implants=Implants(
            well="nwell",
            well_past=of["active.well"],
            well_tap=of["active.tap-well"],
            tap_gap=of["active.n-tap"],
            doping=("nselect", "pselect"),
            past=of["select.past-active-n"],
        ),
        via="via" if upper else "",
        broad=12 if upper else 0,
    )


def _one_kind_poly(of: dict[str, int]) -> Technique:
    return replace(
        _of_poly(of),
        widths=((8, 14), (8, 12)),
        costs=_POLY_COSTS,
        buried=Buried(
            layer="buried",
            overlap=of["buried.overlap"],
            past=of["buried.past"],
            gate=of["buried.gate"],
            implant="implant",
            implant_past=of["implant.past-gate"],
        ),
        loads=Loads.BURIED,
    )


def _islands(of: dict[str, int]) -> Technique:
    contact = of["contact.size"]
    channel, overlap = of["channel.length"], of["gate.overlap"]
    return Technique(
        form=GateForm.METAL,
        wires=(
            _metal(of),
            Wire("silicon", of["silicon.width"], contact + 2 * of["contact.silicon"], of["silicon.spacing"]),
        ),
        contact=contact,
        diffusion=("silicon", "silicon"),
        surround=of["contact.silicon"],
        diffusion_spacing=of["silicon.spacing"],
        gate=channel + 2 * overlap,
        channel=channel,
        gate_past=overlap,
        diffusion_past=of["diffusion.width-n"] - overlap,
        contact_gate=of["contact.metal"] + of["metal.spacing"],
        other_gap=of["silicon.spacing"],
        widths=((10, 20), (12, 24)),
        costs=_ISLAND_COSTS,
        pitch=16,
        doped=Doped(
            window="window",
            doping=("nplus", "pplus"),
            island=True,
            past=of["doping.past-silicon-n"],
            window_past=of["gate.window"],
            inset=0,
            metal_past=of["window.metal"],
        ),
        least_width=of["silicon.width"],
    )


def _bulk(of: dict[str, int], doping: tuple[str, str], rings: Rings | None, loads: Loads | None) -> Technique:
    contact = of["contact.size"]
    channel, overlap, past = of["channel.length"], of["gate.overlap"], of["window.metal"]
    inset = of["diffusion.past-window"] if "diffusion.past-window" in of else of["diffusion.past-window-n"]
    width = of["diffusion.width"] if "diffusion.width" in of else of["diffusion.width-n"]
    spacing = of["diffusion.spacing"] if "diffusion.spacing" in of else of["diffusion.spacing-n"]
    return Technique(
        form=GateForm.METAL,
        wires=(_metal(of), Wire("", width, contact + 2 * of["contact.diffusion"], spacing)),
        contact=contact,
        diffusion=doping,
        surround=of["contact.diffusion"],
        diffusion_spacing=spacing,
        gate=channel + 2 * (overlap + past),
        channel=channel,
        gate_past=max(0, past - inset),
        diffusion_past=width - overlap - past,
        contact_gate=max(of["contact.metal"] + of["metal.spacing"], of["contact.window"] - past),
        other_gap=spacing,
        widths=((14, 24), (16, 28)),
        costs=_DOPED_COSTS,
        pitch=16,
        doped=Doped(
            window="window", doping=doping, island=False, past=0, window_past=overlap, inset=inset, metal_past=past
        ),
        rings=rings,
        loads=loads,
        least_width=of["window.width"],
    )


def _ringed(of: dict[str, int]) -> Technique:
    rings = Rings(
        well="pwell",
        width=of["contact.size"] + 2 * of["contact.diffusion"],
        gap=of["diffusion.apart"],
        well_past=of["well.ring"],
        apart=of["ring.well"],
        inside=of["well.n"],
        outside=of["well.p"],
    )
    return _bulk(of, ("nplus", "pplus"), rings, None)


def _one_kind_metal(of: dict[str, int]) -> Technique:
    return _bulk(of, ("pplus", "pplus"), None, Loads.PLATE)
