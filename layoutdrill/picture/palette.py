"""
The tables that turn mask bits into colour and height: one palette for a process, a look and a lot.

A lot is a run of wafers: its film thicknesses differ a little from the next one's. A lot whose colours would merge is
not used: thicknesses are drawn again until every pair of places that must stand apart does.
"""

from collections import OrderedDict
from dataclasses import replace
from random import Random

from layoutdrill.picture import optics
from layoutdrill.picture.colour import RGB
from layoutdrill.picture.looks import Look, Style
from layoutdrill.picture.perception import as_seen, difference, lightness
from layoutdrill.process import Process
from layoutdrill.process.films import Film, Films, Place, holds, load_films
from layoutdrill.value import value

LOTS = 64
TRIES = 40
LAMP_KELVIN = 3200.0
"""A halogen lamp; the camera's white balance takes its colour out, but for the look's `warmth`."""

GREY_APART = 5.0
"""Least difference in L* between two places that must be told apart."""
COLOUR_APART = 11.0
"""Least ΔE*ab of the same, as seen by each of EYES."""
EYES = ("colour", "protan", "deutan")


@value
class MetalPaint:
    """A metal's colour, and the metal surface's height units above what lies below it."""

    colour: RGB
    rise: int
    insulator: int
    dip: int


@value
class Palette:
    """
    Tables of 256 entries, indexed by the bits of the mask layers in `layers` (first layer: bit 0).

    Heights are in units of `unit` nm; `metal_shade` is 255 where metal keeps all its brightness.
    """

    layers: tuple[str, ...]
    red: tuple[int, ...]
    green: tuple[int, ...]
    blue: tuple[int, ...]
    height: tuple[int, ...]
    metal_shade: tuple[int, ...]
    unit: float
    lowest: int
    highest: int
    metals: tuple[MetalPaint, ...]
    colours: tuple[tuple[str, RGB], ...]


_KEPT: "OrderedDict[tuple[object, ...], Palette]" = OrderedDict()


def palette(process: Process, look: Look, seed: int) -> Palette:
    """Return the palette of the seed's lot; the last few are kept."""
    lot = seed % LOTS
    key = (process.where.file, look.name, look.style, tuple(sorted(look.settings.items())), lot)
    found = _KEPT.get(key)
    if found is None:
        found = _built(process, load_films(process), look, lot)
        _KEPT[key] = found
        if len(_KEPT) > 64:
            _KEPT.popitem(last=False)
    return found


def lot_films(films: Films, lot: int) -> Films:
    """Return the films as this lot has them, whatever the look; lot 0 is the process as written."""
    if lot == 0 or films.vary == 0:
        return films
    rng = Random(f"lot {lot} of {','.join(p.name for p in films.places)}")  # noqa: S311 - repeatable on purpose
    for _ in range(TRIES):
        varied = _varied(films, rng)
        if margin(varied) >= 1:
            return varied
    return films


def _varied(films: Films, rng: Random) -> Films:
    """Scale each film of each place; films alike in material and thickness were laid in one step and stay alike."""
    factors: dict[tuple[str, float], float] = {}
    places = []
    for place in films.places:
        laid = []
        for film in place.films:
            key = (film.material, film.nm)
            if key not in factors:
                factors[key] = 1 + films.vary * max(-2.0, min(2.0, rng.gauss(0, 1)))
            laid.append(Film(film.material, round(film.nm * factors[key])))
        places.append(replace(place, films=tuple(laid)))
    return replace(films, places=tuple(places))


def margin(films: Films) -> float:
    """Return how well the worst pair of places stands apart, as a multiple of what is needed."""
    colours = {place.name: place_colour(films, None, place) for place in films.places}
    worst = 9.0
    for pairs, in_grey in ((films.apart, True), (films.hues, False)):
        for first, second in pairs:
            one, other = colours[first], colours[second]
            worst = min(worst, *(difference(as_seen(one, s), as_seen(other, s)) / COLOUR_APART for s in EYES))
            if in_grey:
                worst = min(worst, abs(lightness(one) - lightness(other)) / GREY_APART)
    return worst


def place_colour(films: Films, look: Look | None, place: Place) -> RGB:
    """Return the colour of a place that no metal covers; without a look, in plain reflected light."""
    stack = tuple((film.material, float(film.nm)) for film in place.films)
    settings = look.settings if look is not None else {}
    exposure = settings.get("exposure", 1.1)
    flare = settings.get("flare", 0.012)
    degree = 1 - settings.get("warmth", 0.0)
    if look is not None and look.style is Style.TRANSMITTED:
        light = optics.transmitted(stack, films.base, LAMP_KELVIN)
        exposure /= optics.transmitted((), films.base, LAMP_KELVIN)[1]
    else:
        light = optics.reflected(stack, films.base, LAMP_KELVIN)
    return optics.srgb(optics.adapted(light, LAMP_KELVIN, degree), exposure * place.shade, flare)


def metal_colour(films: Films, look: Look, index: int) -> RGB:
    metal = films.metals[index]
    if look.style is Style.TRANSMITTED:
        return (18, 18, 18)
    light = optics.reflected((), metal.material, LAMP_KELVIN)
    degree = 1 - look.settings.get("warmth", 0.0)
    exposure = look.settings.get("exposure", 1.1)
    return optics.srgb(optics.adapted(light, LAMP_KELVIN, degree), exposure * metal.shade, 0.0)


def _built(process: Process, films: Films, look: Look, lot: int) -> Palette:
    films = lot_films(films, lot)
    layers = films.layers(process)
    heights = [place.height for place in films.places]
    top = max(heights) + sum(m.nm + m.insulator for m in films.metals)
    unit = max(4.0, top / 250)
    of_place = [(place, place_colour(films, look, place)) for place in films.places]
    found: list[tuple[Place, RGB]] = []
    for code in range(256):
        drawn = {layer: bool(code >> i & 1) for i, layer in enumerate(layers)}
        fitting = (pair for pair in of_place[:-1] if pair[0].where and holds(process, pair[0].where, drawn))
        found.append(next(fitting, of_place[-1]))
    level = [round(place.height / unit) for place, _ in found]
    used = level[: 1 << len(layers)]
    return Palette(
        layers=layers,
        red=tuple(colour[0] for _, colour in found),
        green=tuple(colour[1] for _, colour in found),
        blue=tuple(colour[2] for _, colour in found),
        height=tuple(level),
        metal_shade=tuple(round(255 * place.metal_shade) for place, _ in found),
        unit=unit,
        lowest=min(used),
        highest=max(used),
        metals=tuple(
            MetalPaint(metal_colour(films, look, i), round(m.nm / unit), round(m.insulator / unit), round(m.dip / unit))
            for i, m in enumerate(films.metals)
        ),
        colours=tuple((place.name, colour) for place, colour in of_place),
    )
