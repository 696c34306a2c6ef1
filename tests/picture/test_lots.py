"""Lots of wafers: palettes move with the seed, structure and order stay, and colours never merge."""

import pytest

from layoutdrill.picture.lookalikes import look_alikes
from layoutdrill.picture.looks import load_look
from layoutdrill.picture.palette import lot_films, margin, palette
from layoutdrill.picture.perception import difference
from layoutdrill.picture.render import render
from layoutdrill.picture.view import View
from layoutdrill.process import load_process, process_names
from layoutdrill.process.films import load_films

LOOK = load_look("reflected-light")


@pytest.mark.parametrize("name", process_names())
def test_places_that_meet_stay_apart_in_every_lot(name):
    """In each of 64 lots the worst pair of meeting places differs by 5 L* and by ΔE 11 to all eyes, or nearly."""
    films = load_films(load_process(name))
    assert films.apart
    margins = [margin(lot_films(films, lot)) for lot in range(64)]
    assert min(margins) >= 0.85
    assert sum(m >= 1 for m in margins) >= 60


@pytest.mark.parametrize("name", process_names())
def test_lots_differ_and_repeat(name):
    """Two lots differ in colour somewhere by ΔE 6 or more; the same seed gives the same palette again."""
    process = load_process(name)
    first = dict(palette(process, LOOK, 1).colours)
    assert dict(palette(process, LOOK, 1).colours) == first
    moved = [difference(first[place], colour) for place, colour in palette(process, LOOK, 2).colours]
    assert max(moved) >= 6


@pytest.mark.parametrize("name", process_names())
def test_structure_stays_from_lot_to_lot(name):
    """Heights, and so every step that is seen, are the same in all lots."""
    process = load_process(name)
    assert len({palette(process, LOOK, lot).height for lot in range(6)}) == 1


@pytest.mark.parametrize("name", process_names())
def test_the_same_seed_gives_the_same_bytes(name):
    """Pixels are a function of the arguments; another seed or wear changes them."""
    process = load_process(name)
    drawn = look_alikes(process)
    view = View.whole(drawn.layout, process, 4)

    def pixels(**how):
        return render(drawn.layout, process, LOOK, view, **how).tobytes()

    assert pixels(seed=5, wear=0.6) == pixels(seed=5, wear=0.6)
    assert pixels(seed=5, wear=0.6) != pixels(seed=6, wear=0.6)
    assert pixels(seed=5, wear=0.6) != pixels(seed=5, wear=0.0)
