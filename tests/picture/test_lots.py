"""Lots of wafers: palettes move with the seed, structure and order stay, and colours never merge."""

import pytest

from layoutdrill.picture.looks import load_look
from layoutdrill.picture.palette import lot_films, margin, palette, place_colour
from layoutdrill.picture.perception import difference, lightness
from layoutdrill.picture.render import render
from layoutdrill.picture.shot import Shot
from layoutdrill.picture.view import View
from layoutdrill.process import load_process, process_names
from layoutdrill.process.films import load_films
from tests.each import each
from tests.picture.lookalikes import look_alikes
from tests.sampling import spread

LOOK = load_look("reflected-light")


@each("name", process_names())
def test_places_that_meet_stay_apart_in_every_lot(name):
    """
    In each of 64 lots, here 16 of them, the worst pair of meeting places differs by 5 L* and by ΔE 8 to all eyes, or
    nearly, and the two dopings by 8 L*: lightness alone tells them.
    """
    films = load_films(load_process(name))
    assert films.apart
    margins = [margin(lot_films(films, lot)) for lot in spread(range(64), 16)]
    assert min(margins) >= 0.8
    assert sum(m >= 1 for m in margins) >= len(margins) * 15 // 16


@each("name", process_names())
def test_lots_differ_and_repeat(name):
    """Two lots differ in colour somewhere by ΔE 6 or more; the same seed gives the same palette again."""
    process = load_process(name)
    first = dict(palette(process, LOOK, 1).colours)
    assert dict(palette(process, LOOK, 1).colours) == first
    moved = [difference(first[place], colour) for place, colour in palette(process, LOOK, 2).colours]
    assert max(moved) >= 6


@each("name", process_names())
def test_structure_stays_from_lot_to_lot(name):
    """Heights, and so every step that is seen, are the same in all lots, but for what fades."""
    films = load_films(load_process(name))
    for lot in range(1, 6):
        for written, made in zip(films.places, lot_films(films, lot).places, strict=True):
            assert written.fades or made.height == written.height, (lot, written.name)


@pytest.mark.parametrize("name", [name for name in process_names() if "cmos" in name])
def test_wells_go_from_a_tint_down_to_nearly_nothing(name):
    """
    Over 64 lots a well differs from the field by under ΔE 2 in some and by over 4 in others (common practice: a well is
    a faint tint, and often only its taps give it away).
    """
    films = load_films(load_process(name))
    apart = []
    for lot in range(64):
        colours = {
            place.name: place_colour(films_of, None, place)
            for films_of in [lot_films(films, lot)]
            for place in films_of.places
        }
        apart.append(difference(colours["well field"], colours["field"]))
    assert min(apart) < 2
    assert max(apart) > 4


@pytest.mark.parametrize("name", [name for name in process_names() if load_films(load_process(name)).either])
def test_neither_doping_is_always_the_lighter(name):
    """
    Heavily phosphorus-doped silicon oxidises faster (a textbook fact), so n+ mostly has the thicker oxide; in no
    process is n the lighter in every lot.
    """
    films = load_films(load_process(name))
    lighter = set()
    for lot in range(24):
        made = lot_films(films, lot)
        places = {place.name: place for place in made.places}
        for n, p in films.either:
            one, other = (lightness(place_colour(made, None, places[key])) for key in (n, p))
            lighter.add(one > other)
    assert lighter == {True, False}


@each("name", process_names())
def test_the_same_seed_gives_the_same_bytes(name):
    """Pixels are a function of the arguments; another seed or wear changes them."""
    process = load_process(name)
    drawn = look_alikes(process)
    view = View.whole(drawn.layout, process, 4)

    def pixels(**how):
        return render(drawn.layout, process, Shot(LOOK, view, **how)).tobytes()

    assert pixels(seed=5, wear=0.6) == pixels(seed=5, wear=0.6)
    assert pixels(seed=5, wear=0.6) != pixels(seed=6, wear=0.6)
    assert pixels(seed=5, wear=0.6) != pixels(seed=5, wear=0.0)
