"""
Stages of removal: the same place with its glass off, its metal off, down to poly, bare, and stained for doping.

What is left follows from the films. Etching takes oxide from the top, as much everywhere as lies on poly or diffusion.
Bare silicon keeps the steps that growing oxide left in it: of an oxide's thickness 44 % was silicon (a textbook
figure: S. M. Sze, VLSI Technology, on thermal oxidation, from memory). A junction stain darkens p-doped silicon
(common practice). All of it is work for specialist laboratories: oxide etches and stains contain hydrofluoric acid.
"""

from collections.abc import Mapping
from dataclasses import replace
from enum import StrEnum
from functools import lru_cache

from layoutdrill.errors import LayoutdrillError
from layoutdrill.process import Process
from layoutdrill.process.expression import Name
from layoutdrill.process.films import Film, Films, Place, holds
from layoutdrill.process.model import SUBSTRATE
from layoutdrill.process.terms import Kind


class Stage(StrEnum):
    """How far a die has been taken apart."""

    WHOLE = "whole"
    GLASS_OFF = "glass off"
    METAL_OFF = "metal off"
    POLY = "down to poly"
    BARE = "bare"
    STAINED = "stained"


TITLES: Mapping[Stage, str] = {
    Stage.WHOLE: "as it is, under its glass",
    Stage.GLASS_OFF: "glass off: sharper, and no cracks",
    Stage.METAL_OFF: "metal off: contact holes stand open",
    Stage.POLY: "down to poly: oxide etched away over poly and diffusion",
    Stage.BARE: "bare silicon: only its own steps are left",
    Stage.STAINED: "stained: p-doped silicon is dark",
}
GLASS = 800.0
"""nm of glass over all but the pads (common practice: 0.5 to 1 µm); under it film colours are pale."""
CONSUMED = 0.44
"""The part of a grown oxide's thickness that was silicon."""
_METALS = ("metal", "local-metal", "metal-2", "upper-metal", "via")


def stages_of(process: Process, films: Films) -> tuple[Stage, ...]:
    """Return the stages that mean something in a process: metal-gate ones have no poly, a clear base is never bare."""
    has_poly = any(layer.role == "poly" for layer in process.layers.values())
    bare = () if films.base == "sapphire" else (Stage.BARE, Stage.STAINED)
    return (Stage.WHOLE, Stage.GLASS_OFF, Stage.METAL_OFF, *((Stage.POLY,) if has_poly else ()), *bare)


def require(process: Process, films: Films, stage: Stage) -> None:
    """Raise LayoutdrillError, with what there is, for a stage that a process does not have."""
    known = stages_of(process, films)
    if stage not in known:
        raise LayoutdrillError(f'there is no stage “{stage}” of "{process.name}"', todo=f"choose of {', '.join(known)}")


def taken_off(process: Process, stage: Stage) -> frozenset[str]:
    """
    Return the mask layers of which nothing is left at a stage. Poly and windows count even when gone: they decided
    where the silicon was doped.
    """
    gone: tuple[str, ...] = ()
    if stage is not Stage.WHOLE:
        gone += ("glass-opening",)
    if stage not in (Stage.WHOLE, Stage.GLASS_OFF):
        gone += _METALS
    if stage is Stage.POLY:
        gone += ("contact",)
    if stage in (Stage.BARE, Stage.STAINED):
        gone += ("contact",)
    return frozenset(name for name, layer in process.layers.items() if layer.role in gone)


def films_at(films: Films, stage: Stage) -> Films:
    """Return what is left of the films at a stage."""
    if stage is Stage.WHOLE:
        glazed = [replace(place, films=(*place.films, Film("oxide", GLASS))) for place in films.places]
        return replace(films, places=tuple(glazed))
    if stage is Stage.POLY:
        deep = max((place.films[-1].nm for place in films.places if _on_poly(place)), default=300.0)
        return replace(films, places=tuple(_etched(place, 1.6 * deep) for place in films.places))
    if stage in (Stage.BARE, Stage.STAINED):
        lowest = max(_eaten(place) for place in films.places)
        return replace(films, places=tuple(_bare(place, lowest) for place in films.places))
    return films


def without_gates(process: Process, drawn: Mapping[str, bool]) -> dict[str, bool]:
    """Return the masks drawn at a point, without those of which bare silicon keeps no step."""
    return {name: on and process.layers[name].role not in _STEPLESS for name, on in drawn.items()}


_STEPLESS = ("contact", "poly", "thin-oxide", "buried-contact")


def _on_poly(place: Place) -> bool:
    return len(place.films) > 1 and place.films[-1].material == "oxide" and place.films[-2].material == "poly"


def _etched(place: Place, deep: float) -> Place:
    """Take oxide off the top of a place; poly stops the etch."""
    if not place.films or place.films[-1].material != "oxide":
        return place
    top = place.films[-1]
    gone = top.nm if _on_poly(place) else min(top.nm, deep)
    left = (*place.films[:-1], *((Film("oxide", top.nm - gone),) if top.nm > gone else ()))
    return replace(place, films=left, height=max(0.0, place.height - gone), fades="")


def _eaten(place: Place) -> float:
    """Return how far (nm) the silicon of a place lies below the wafer's first surface."""
    whole = sum(film.nm for film in place.films)
    if whole > place.height + 1:
        return whole - place.height
    return CONSUMED * sum(film.nm for film in place.films if film.material == "oxide")


def _bare(place: Place, lowest: float) -> Place:
    return replace(place, films=(), height=lowest - _eaten(place), shade=0.85, fades="")


@lru_cache(maxsize=16)
def substrate_kind(process: Process) -> Kind:
    """Return what the wafer is doped with: the kind that its transistors in the substrate are not."""
    for rule in process.transistors:
        if rule.body == SUBSTRATE:
            return Kind.P if rule.kind is Kind.N else Kind.N
    return Kind.P


def doping(process: Process, drawn: Mapping[str, bool]) -> tuple[Kind, bool]:
    """Return the doping at a point, and whether it is a heavy one (source, drain or tap), by the masks drawn there."""
    wafer = substrate_kind(process)
    other = Kind.N if wafer is Kind.P else Kind.P
    for rule in process.transistors:
        if holds(process, Name(rule.ends), drawn):
            return Kind(rule.kind), True
    for cut in process.cuts:
        if cut.layer is None and cut.upper in process.regions and holds(process, Name(cut.upper), drawn):
            return (wafer if SUBSTRATE in cut.lower else other), True
    in_well = any(drawn.get(name) for name, layer in process.layers.items() if layer.role == "well")
    return (other if in_well else wafer), False


STAIN = {(Kind.P, True): 0.45, (Kind.P, False): 0.8, (Kind.N, True): 1.0, (Kind.N, False): 0.97}
"""What a stain leaves of the light, by doping and whether it is heavy."""
