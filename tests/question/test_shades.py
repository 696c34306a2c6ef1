"""Where only the shade tells n from p, the question says which is the lighter, and the picture shows it so."""

from itertools import product
from statistics import mean

import pytest

from layoutdrill.dice import Dice
from layoutdrill.face.shades import shades_told
from layoutdrill.picture.evidence import Fact, Sight, shown
from layoutdrill.picture.looks import FROM_BELOW, PHOTOGRAPHIC, load_look, look_names
from layoutdrill.picture.render import render
from layoutdrill.picture.shot import Shot
from layoutdrill.picture.view import View
from layoutdrill.question import ask_in_look, kinds
from tests.question.conftest import CELL_KINDS
from tests.question.fairness import Oracle
from tests.sampling import WHOLE, covering

SHADED = [name for name in look_names() if name not in ("transmitted-light", "dark-field")]

PHOTOGRAPHS = [name for name in look_names() if load_look(name).style in PHOTOGRAPHIC]


def measured(specimen, look, doped):
    """Return the mean brightness of the drawing where a doping lies bare, by every third pixel."""
    process = specimen.process
    view = View.whole(specimen.face.layout, process, 3, margin=2)
    image = render(specimen.face.layout, process, Shot(look, view, seed=specimen.seed)).convert("L")
    oracle, unit, found = Oracle(specimen), process.grid_per_lambda, []
    reach = 0.6 * unit
    step = 2 if WHOLE else 3
    for column in range(0, image.width, step):
        for row in range(0, image.height, step):
            x = view.region.x0 + (column + 0.5) * unit / 3
            y = view.region.y1 - (row + 0.5) * unit / 3
            near = [(x + dx, y + dy) for dx in (-reach, 0, reach) for dy in (-reach, 0, reach)]
            bare = all(oracle.on(doped, *at) and oracle.on("silicon", *at) for at in near)
            if bare and not any(oracle.on(over, *at) for at in near for over in ("metal", "window", "contact")):
                found.append(image.getpixel((column, row)))
    assert len(found) > 5
    return mean(found)


@pytest.mark.parametrize(("name", "seed"), covering(product(SHADED, (1, 2, 5))))
def test_the_picture_shows_the_shade_that_is_told(drawn, name, seed):
    """On sapphire: what is called lighter is so on the very picture of the question."""
    specimen, look = drawn("nand3", "metal-gate-sapphire", seed), load_look(name)
    (told,) = shades_told(specimen.process, look, specimen.seed)
    lighter = "n" if measured(specimen, look, "nplus") > measured(specimen, look, "pplus") else "p"
    assert told.startswith(f"In this picture {lighter}-doped diffusion is the lighter")


@pytest.mark.parametrize("name", SHADED)
def test_what_rests_on_kinds_tells_the_shade(drawn, name):
    """Polarity, rails and names on sapphire say which shade is which; what does not rest on kinds says nothing."""
    specimen = drawn("nand2", "metal-gate-sapphire", 1)
    for kind in (kinds()[name] for name in CELL_KINDS):
        question = ask_in_look(kind, specimen, Dice(1), load_look(name))
        if question is None:
            assert kind.name in ("sequence", "address")  # a gate remembers nothing, and has one output
            continue
        told = [fact for fact in question.facts if "-doped" in fact]
        if kind.name in ("polarity", "rails", "name"):
            assert len(told) == 1
        if kind.name in ("same net", "spot"):
            assert not told


@pytest.mark.parametrize(
    ("process", "name"), covering(product(("silicon-gate-cmos", "metal-gate-cmos", "silicon-gate-nmos"), SHADED))
)
def test_nothing_is_told_where_more_than_shade_shows(drawn, process, name):
    """A well's edge tells the kinds where this lot shows it; where there is one kind there is nothing to tell."""
    specimen, look = drawn("nand2", process, 1), load_look(name)
    told = shades_told(specimen.process, look, specimen.seed)
    if load_look(name).style in FROM_BELOW:
        assert told == ()
        return
    well = Fact.WELL in shown(Sight(look, specimen.process, specimen.seed))
    assert bool(told) == (process != "silicon-gate-nmos" and not well)
    if name not in PHOTOGRAPHS:
        assert well or process == "silicon-gate-nmos"
