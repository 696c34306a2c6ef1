"""
The tables that turn mask bits into colour and height: one palette for a process, a look and a lot.

A lot is a run of wafers: its film thicknesses differ a little from the next one's. A lot whose colours would merge is
not used: thicknesses are drawn again until every pair of places that must stand apart does.
"""

from collections import OrderedDict
from dataclasses import replace

from layoutdrill.dice import Dice
from layoutdrill.picture import optics
from layoutdrill.picture.colour import RGB
from layoutdrill.picture.looks import Look
from layoutdrill.picture.perception import as_seen, difference, lightness
from layoutdrill.picture.stages import GLASS, STAIN, Stage, doping, films_at, without_gates
from layoutdrill.process import Process
from layoutdrill.process.films import Film, Films, Place, holds, load_films
from layoutdrill.value import value

LOTS = 64
TRIES = 40
LAMP_KELVIN = 3200.0
"""A halogen lamp; the camera's white balance takes its colour out, but for the look's `warmth`."""

GREY_APART = 5.0
"""Least difference in L* between two places that must be told apart."""
KINDS_GREY = 8.0
"""Least difference in L* between the two dopings: lightness alone tells them."""
COLOUR_APART = 8.0
"""Least ΔE*ab of the same, as seen by each of EYES."""
TURNED = 0.4
"""The share of lots in which the other doping has the thicker oxide."""
FAINTEST = 0.04
"""The least part of its difference that a place keeps which fades: wells that only taps and rails give away."""
CHROMA = 0.6
"""
What is left of a film's pure colour: within a spot thickness varies, and the lens adds white glare (common practice:
films look paler on a die than in a chart of oxide on a polished wafer).
"""
GROUND = 0.17
"""Reflectance of what lies behind a clear base: a ground back or a grey die attach (common practice)."""
DULLEST = 0.35
"""The part of GROUND that its darkest blotch sends back."""
OVER_GROUND = 0.6
"""What the ground's unfocused light leaves of that colour."""
TINGES = ((1.0, 1.0, 1.0), (1.08, 1.0, 0.88), (1.03, 1.0, 0.94), (0.97, 1.0, 0.98))
"""Of a ground back and of three kinds of die attach: grey, brown, drab, greenish grey (X, Y, Z as shares)."""
EYES = ("colour", "protan", "deutan")


@value
class MetalPaint:
    """
    A metal's colour, and the metal surface's height units above what lies below it; `curve` is how the tracing aid
    darkens it with depth.
    """

    colour: RGB
    rise: int
    insulator: int
    dip: int
    curve: float


Table = tuple[int, ...]
Tables = tuple[Table, Table, Table]


@value
class Palette:
    """
    Tables of 256 entries, indexed by the bits of the mask layers in `layers` (first layer: bit 0).

    Heights are in units of `unit` nm; `metal_shade` is 255 where metal keeps all its brightness in the tracing aid.
    On a clear base `ground` has, by channel, the colours over the darkest blotch of what lies behind it and what the
    lightest adds to them, and `below` the colours in light from below.
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
    ground: tuple[Tables, Tables] | None = None
    below: Tables | None = None


_KEPT: "OrderedDict[tuple[object, ...], Palette]" = OrderedDict()


def palette(process: Process, look: Look, seed: int, stage: Stage = Stage.GLASS_OFF) -> Palette:
    """Return the palette of the seed's lot at a stage of removal; the last few are kept."""
    lot = seed % LOTS
    key = (process.where.file, look.name, look.style, tuple(sorted(look.settings.items())), lot, stage)
    kept = _KEPT.get(key)
    if kept is None:
        kept = _built(process, load_films(process), look, lot, stage)
        _KEPT[key] = kept
        if len(_KEPT) > 64:
            _KEPT.popitem(last=False)
    return kept


def lot_films(films: Films, lot: int) -> Films:
    """Return the films as this lot has them, whatever the look; lot 0 is the process as written."""
    if lot == 0 or films.vary == 0:
        return _faded(films, 0.5)
    dice = Dice.from_text(f"lot {lot} of {','.join(p.name for p in films.places)}")
    for _ in range(TRIES):
        varied = _varied(films, dice)
        if margin(varied) >= 1:
            return varied
    return _faded(films, 0.5)


def _varied(films: Films, dice: Dice) -> Films:
    """
    Scale each film of each place; films alike in material and thickness were laid in one step and stay alike, and so
    do those of a place and of the one that it fades into.
    """
    factors: dict[tuple[str, float], float] = {}
    by_name = {place.name: place for place in films.places}
    turned = {name: pair for pair in films.either if dice.fraction() < TURNED for name in pair}
    places = []
    for place in films.places:
        pair = turned.get(place.name)
        source = place if pair is None else by_name[pair[1] if place.name == pair[0] else pair[0]]
        like = by_name[place.fades] if place.fades else source
        laid = []
        for film, step in zip(source.films, like.films, strict=True):
            key = (step.material, step.nm)
            if key not in factors:
                factors[key] = 1 + films.vary * max(-2.0, min(2.0, dice.normal()))
            laid.append(Film(film.material, round(film.nm * factors[key])))
        places.append(replace(place, films=tuple(laid), shade=source.shade))
    return _faded(replace(films, places=tuple(places)), FAINTEST + (1 - FAINTEST) * dice.fraction() ** 2)


def _faded(films: Films, share: float) -> Films:
    """Leave of what a place differs from the one it fades into a share, in films and in height."""
    by_name = {place.name: place for place in films.places}

    def faded(place: Place) -> Place:
        into = by_name.get(place.fades)
        if into is None:
            return place
        pairs = zip(place.films, into.films, strict=True)
        laid = tuple(Film(a.material, round(b.nm + share * (a.nm - b.nm))) for a, b in pairs)
        return replace(place, films=laid, height=into.height + share * (place.height - into.height))

    return replace(films, places=tuple(faded(place) for place in films.places))


def margin(films: Films) -> float:
    """Return how well the worst pair of places stands apart, as a multiple of what is needed."""
    colours = {place.name: place_colour(films, None, place) for place in films.places}
    worst = 9.0
    for first, second in films.either:
        worst = min(worst, abs(lightness(colours[first]) - lightness(colours[second])) / KINDS_GREY)
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
    light = optics.reflected(stack, films.base, LAMP_KELVIN)
    chroma = settings.get("chroma", CHROMA)
    return optics.srgb(optics.adapted(light, LAMP_KELVIN, degree), exposure * place.shade, flare, chroma)


def metal_colour(films: Films, look: Look, index: int, glass: float = 0.0) -> RGB:
    """Return the colour of a metal, under so many nm of glass."""
    metal = films.metals[index]
    light = optics.reflected(((("oxide", glass),) if glass else ()), metal.material, LAMP_KELVIN)
    degree = 1 - look.settings.get("warmth", 0.0)
    exposure = look.settings.get("exposure", 1.1)
    return optics.srgb(optics.adapted(light, LAMP_KELVIN, degree), exposure * metal.shade, 0.0)


def _built(process: Process, films: Films, look: Look, lot: int, stage: Stage) -> Palette:
    films = films_at(lot_films(films, lot), stage)
    bare = stage in (Stage.BARE, Stage.STAINED)
    layers = films.layers(process)
    heights = [place.height for place in films.places]
    top = max(heights) + sum(m.nm + m.insulator for m in films.metals)
    unit = max(4.0, top / 250)
    clear = films.base == "sapphire"
    of_place = [(place, place_colour(films, look, place)) for place in films.places]
    grounds = {place.name: over_ground(films, look, place, lot) for place in films.places} if clear else {}
    below = {place.name: colour_below(films, look, place) for place in films.places} if clear else {}
    colours: list[tuple[Place, RGB]] = []
    for code in range(min(256, 1 << len(layers))):
        drawn = {layer: bool(code >> i & 1) for i, layer in enumerate(layers)}
        left = without_gates(process, drawn) if bare else drawn
        fitting = (pair for pair in of_place[:-1] if pair[0].where and holds(process, pair[0].where, left))
        place, colour = next(fitting, of_place[-1])
        if stage is Stage.STAINED:
            share = STAIN[doping(process, drawn)]
            colour = (round(colour[0] * share), round(colour[1] * share), round(colour[2] * share))
        colours.append((place, colour))
    used = [round(place.height / unit) for place, _ in colours]
    colours *= 256 // len(colours)  # a byte’s higher bits are no layers
    return Palette(
        layers=layers,
        red=tuple(colour[0] for _, colour in colours),
        green=tuple(colour[1] for _, colour in colours),
        blue=tuple(colour[2] for _, colour in colours),
        height=tuple(used) * (256 // len(used)),
        metal_shade=tuple(round(255 * place.metal_shade) for place, _ in colours),
        unit=unit,
        lowest=min(used),
        highest=max(used),
        metals=tuple(
            MetalPaint(
                metal_colour(films, look, i, GLASS if stage is Stage.WHOLE else 0.0),
                round(m.nm / unit),
                round(m.insulator / unit),
                round(m.dip / unit),
                m.curve,
            )
            for i, m in enumerate(films.metals)
        ),
        colours=tuple((place.name, colour) for place, colour in of_place),
        ground=(
            (
                _tables([grounds[place.name][0] for place, _ in colours]),
                _tables([_beyond(*grounds[place.name]) for place, _ in colours]),
            )
            if clear
            else None
        ),
        below=_tables([below[place.name] for place, _ in colours]) if clear else None,
    )


def _beyond(dark: RGB, light: RGB) -> RGB:
    r, g, b = (max(0, after - before) for before, after in zip(dark, light, strict=True))
    return r, g, b


def _tables(colours: list[RGB]) -> Tables:
    r, g, b = (tuple(colour[i] for colour in colours) for i in range(3))
    return r, g, b


def over_ground(films: Films, look: Look, place: Place, lot: int) -> tuple[RGB, RGB]:
    """
    Return the colour of a place on a clear base over the darkest blotch of the ground behind it, and over the lightest.

    The ground's light goes through the films twice and adds to what they reflect.
    """
    stack = tuple((film.material, float(film.nm)) for film in place.films)
    settings = look.settings
    exposure, flare = settings.get("exposure", 1.1), settings.get("flare", 0.012)
    degree = 1 - settings.get("warmth", 0.0)
    own = optics.reflected(stack, films.base, LAMP_KELVIN)
    back = optics.transmitted_twice(stack, films.base, LAMP_KELVIN)
    tinge = TINGES[lot % len(TINGES)]

    def seen(ground: float) -> RGB:
        x, y, z = (r * place.shade + ground * t * b for r, t, b in zip(own, tinge, back, strict=True))
        light = optics.adapted((x, y, z), LAMP_KELVIN, degree)
        return optics.srgb(light, exposure, flare, settings.get("chroma", CHROMA) * OVER_GROUND)

    return seen(GROUND * DULLEST), seen(GROUND)


def colour_below(films: Films, look: Look, place: Place) -> RGB:
    """Return the colour of a place in light from below, bare base being nearly white."""
    stack = tuple((film.material, float(film.nm)) for film in place.films)
    exposure = 0.98 / optics.transmitted((), films.base, LAMP_KELVIN)[1]
    degree = 1 - look.settings.get("warmth", 0.0)
    return optics.srgb(
        optics.adapted(optics.transmitted(stack, films.base, LAMP_KELVIN), LAMP_KELVIN, degree), exposure
    )
