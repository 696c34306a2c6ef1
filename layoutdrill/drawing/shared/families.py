"""Turn the drawing section of a process into the technique by which it is drawn: its masks and distances."""

from dataclasses import replace
from functools import cache

from layoutdrill.drawing.shared.technique import (
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
from layoutdrill.process.drawing_section import DrawingSection, Family
from layoutdrill.process.model import Process

_CMOS_COSTS = Costs(((10, 10), (9, 14)), contact=34, along_gate=12)
_POLY_COSTS = Costs(((10, 10), (9, 26)), contact=20, along_gate=12)
_ISLAND_COSTS = Costs(((10, 10), (22, 12)), contact=26, along_gate=0)
_DOPED_COSTS = Costs(((10, 10), (22, 17)), contact=20, along_gate=0)
_UPPER_UPRIGHT = Costs(((17, 10), (14, 36), (6, 30)), contact=20, along_gate=12)
_UPPER_LEVEL = Costs(((10, 17), (11, 36), (30, 6)), contact=20, along_gate=12)


@cache
def technique_for(process: Process) -> Technique:
    """Return how a process is drawn. Raises LayoutdrillError for one without a section that says so."""
    if process.drawing is None:
        raise LayoutdrillError(
            f"process {process.name} cannot be drawn in: it has no section “drawing:”",
            where=process.where,
            todo="add one that names its family, its layers by role and its rules",
        )
    glass = next((name for name, layer in process.layers.items() if layer.role == "glass-opening"), "")
    technique = _FAMILIES[process.drawing.family](process.drawing)
    return replace(technique, glass=glass, unit=process.grid_per_lambda)


def _wire(of: DrawingSection, part: str, cut: str = "contact") -> Wire:
    """Return a layer of wires; a landing reaches round a contact or a via as the rule says."""
    pad = of.length(cut, "size") + 2 * of.length(part, f"past {cut}")
    return Wire(of.layers.get(part, ""), of.length(part, "width"), pad, of.length(part, "spacing"))


def _of_poly(of: DrawingSection) -> Technique:
    """Return what all processes with poly gates have in common, with the heights and costs of one metal."""
    diffusion = of.layers["diffusion"]
    return Technique(
        form=GateForm.POLY,
        wires=(_wire(of, "metal"), _wire(of, "poly")),
        cut=of.layers["contact"],
        contact=of.length("contact", "size"),
        diffusion=(diffusion, diffusion),
        surround=of.length("diffusion", "past contact"),
        diffusion_spacing=of.length("diffusion", "spacing"),
        gate=of.length("poly", "width"),
        channel=of.length("poly", "width"),
        gate_past=of.length("poly", "past diffusion"),
        diffusion_past=of.length("diffusion", "past gate"),
        contact_gate=of.length("contact", "to gate"),
        other_gap=of.length("poly", "to diffusion"),
        widths=((8, 14), (0, 0)),
        costs=_CMOS_COSTS,
        least_width=of.length("diffusion", "width"),
    )


def _poly_gate(of: DrawingSection) -> Technique:
    common = _of_poly(of)
    if "upper-metal" in of.layers:
        common = replace(
            common,
            wires=(*common.wires, _wire(of, "upper-metal", "via")),
            via=of.layers["via"],
            costs=_UPPER_UPRIGHT,
            levelled=_UPPER_LEVEL,
            broad=12,
        )
    row = 0 if "p-well" in of.layers else 1
    well = "n-well" if row else "p-well"
    return replace(
        common,
        implants=Implants(
            well=of.layers[well],
            row=row,
            well_past=of.length(well, "past diffusion"),
            well_tap=of.length(well, "past tap"),
            tap_gap=of.length("diffusion", "to tap"),
            doping=(of.layers["n-doping"], of.layers["p-doping"]),
            past=of.length("n-doping", "past diffusion"),
        ),
    )


def _one_kind_poly(of: DrawingSection) -> Technique:
    return replace(
        _of_poly(of),
        widths=((8, 14), (8, 12)),
        costs=_POLY_COSTS,
        buried=Buried(
            layer=of.layers["buried-contact"],
            overlap=of.length("buried-contact", "overlap of diffusion"),
            past=of.length("buried-contact", "past overlap"),
            gate=of.length("buried-contact", "to gate"),
            implant=of.layers["implant"],
            implant_past=of.length("implant", "past gate"),
        ),
        loads=Loads.BURIED,
    )


def _tied(of: DrawingSection) -> Technique:
    return replace(_of_poly(of), widths=((8, 14), (8, 12)), costs=_POLY_COSTS, loads=Loads.TIED)


def _islands(of: DrawingSection) -> Technique:
    silicon = of.layers["diffusion"]
    spacing = of.length("diffusion", "spacing")
    channel, overlap = of.length("channel", "length"), of.length("metal", "past channel")
    return Technique(
        form=GateForm.METAL,
        wires=(_wire(of, "metal"), _wire(of, "diffusion")),
        cut=of.layers["contact"],
        contact=of.length("contact", "size"),
        diffusion=(silicon, silicon),
        surround=of.length("diffusion", "past contact"),
        diffusion_spacing=spacing,
        gate=channel + 2 * overlap,
        channel=channel,
        gate_past=overlap,
        diffusion_past=of.length("n-doping", "width") - overlap,
        contact_gate=of.length("metal", "past contact") + of.length("metal", "spacing"),
        other_gap=spacing,
        widths=((8, 14), (0, 0)),
        costs=_ISLAND_COSTS,
        doped=Doped(
            window=of.layers["window"],
            doping=(of.layers["n-doping"], of.layers["p-doping"]),
            island=True,
            past=of.length("n-doping", "past diffusion"),
            window_past=of.length("window", "past channel"),
            inset=0,
            metal_past=of.length("metal", "past window"),
        ),
        least_width=of.length("diffusion", "width"),
    )


def _bulk(of: DrawingSection, doping: tuple[str, str]) -> Technique:
    """Return what metal gates over diffusions have in common; a crossunder is doped as its row is."""
    channel, overlap = of.length("channel", "length"), of.length("window", "overlap of diffusion")
    past, inset = of.length("metal", "past window"), of.length("diffusion", "past window")
    width, spacing = of.length("diffusion", "width"), of.length("diffusion", "spacing")
    to_metal = of.length("metal", "past contact") + of.length("metal", "spacing")
    return Technique(
        form=GateForm.METAL,
        wires=(_wire(of, "metal"), replace(_wire(of, "diffusion"), layer="")),
        cut=of.layers["contact"],
        contact=of.length("contact", "size"),
        diffusion=doping,
        surround=of.length("diffusion", "past contact"),
        diffusion_spacing=spacing,
        gate=channel + 2 * (overlap + past),
        channel=channel,
        gate_past=max(0, past - inset),
        diffusion_past=width - overlap - past,
        contact_gate=max(to_metal, of.length("contact", "to window") - past),
        other_gap=spacing,
        widths=((12, 18), (16, 28)),
        costs=_DOPED_COSTS,
        doped=Doped(
            window=of.layers["window"],
            doping=doping,
            island=False,
            past=0,
            window_past=overlap,
            inset=inset,
            metal_past=past,
        ),
        least_width=of.length("window", "width"),
    )


def _ringed(of: DrawingSection) -> Technique:
    rings = Rings(
        well=of.layers["p-well"],
        width=of.length("contact", "size") + 2 * of.length("diffusion", "past contact"),
        gap=of.length("diffusion", "to other diffusion"),
        well_past=of.length("p-well", "past ring"),
        apart=of.length("p-well", "to ring"),
        inside=of.length("p-well", "past diffusion"),
        outside=of.length("p-well", "to diffusion"),
    )
    return replace(_bulk(of, (of.layers["n-doping"], of.layers["p-doping"])), rings=rings)


def _one_kind_metal(of: DrawingSection) -> Technique:
    return replace(_bulk(of, (of.layers["diffusion"],) * 2), loads=Loads.PLATE)


_FAMILIES = {
    Family.SILICON_GATE: _poly_gate,
    Family.SILICON_GATE_LOADS: _one_kind_poly,
    Family.SILICON_GATE_ENHANCEMENT: _tied,
    Family.ISLANDS: _islands,
    Family.GUARD_RINGS: _ringed,
    Family.METAL_GATE_LOADS: _one_kind_metal,
}
