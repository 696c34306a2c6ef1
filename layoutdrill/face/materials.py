"""What each conductor of a process is to a reader: metal, poly, diffusion, tap or well; read from the process alone."""

from enum import StrEnum

from layoutdrill.process import Process
from layoutdrill.process.expression import names_in
from layoutdrill.process.model import SUBSTRATE

_METALS = ("metal", "metal-2", "local-metal", "upper-metal")


class Material(StrEnum):
    """The sort of a conductor."""

    METAL = "metal"
    POLY = "poly"
    DIFFUSION = "diffusion"
    TAP = "tap"
    RING = "guard ring"
    WELL = "well"


def materials(process: Process) -> dict[str, Material]:
    """Return every conductor's material, in the process's order (top first)."""
    ties = [cut for cut in process.cuts if cut.layer is None]
    wells = {low for cut in ties for low in cut.lower if _is_well(process, low)}
    ends = {rule.ends for rule in process.transistors}
    by_layer: dict[str, Material] = {}
    for name in process.conductors:
        role = role_of(process, name)
        if role in _METALS:
            by_layer[name] = Material.METAL
        elif role == "poly":
            by_layer[name] = Material.POLY
        elif role == "well" or name in wells or name == SUBSTRATE:
            by_layer[name] = Material.WELL
        elif name in ends:
            by_layer[name] = Material.DIFFUSION
        elif "ring" in name or "guard" in name:
            by_layer[name] = Material.RING
        elif any(cut.upper == name and set(cut.lower) & {*wells, SUBSTRATE} for cut in ties):
            by_layer[name] = Material.TAP
        else:
            by_layer[name] = Material.DIFFUSION
    return by_layer


def well_ties(process: Process) -> dict[str, tuple[str, ...]]:
    """Return, for each well by its title, the conductors that tie it to a rail."""
    ties: dict[str, tuple[str, ...]] = {}
    for cut in process.cuts:
        for low in cut.lower if cut.layer is None else ():
            if _is_well(process, low):
                title = process.layers[low].title if low in process.layers else low
                ties[title] = (*ties.get(title, ()), cut.upper)
    return ties


def _is_well(process: Process, name: str) -> bool:
    if name == SUBSTRATE:
        return False
    layer = process.layers.get(name)
    bodies = {rule.body for rule in process.transistors}
    return name in bodies or (layer is not None and layer.role == "well")


def role_of(process: Process, name: str) -> str:
    """Return the role of the mask layer that a conductor is, or is cut from (the first that its region names)."""
    while name in process.regions:
        name = next(names_in(process.regions[name]), "")
    return process.layers[name].role if name in process.layers else ""


def metal_gate(process: Process) -> bool:
    """Tell whether the gates are of metal."""
    by_layer = materials(process)
    return any(by_layer.get(rule.gate) is Material.METAL for rule in process.transistors)
