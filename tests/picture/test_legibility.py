"""
What looks alike is told apart: transistor, contact, crossing, in every process, look, eye and palette.

The thresholds (L* 24, 26 and 24 at one half-pixel per λ) are this project's own. Rows of the look-alike table: common
practice of reading dies.
"""

from itertools import combinations

import pytest

from layoutdrill.geometry.transform import Transform
from layoutdrill.picture.halfblocks import to_cells
from layoutdrill.picture.legibility import legibility, mean_colour
from layoutdrill.picture.lookalikes import look_alikes
from layoutdrill.picture.looks import load_look
from layoutdrill.picture.pen import Pen, as_layout
from layoutdrill.picture.perception import SIGHTS, as_seen, lightness
from layoutdrill.picture.render import render
from layoutdrill.picture.view import View
from layoutdrill.process import load_process, process_names

OPAQUE_LOOKS = ("reflected-light", "stick-colours", "ink", "high-contrast")


@pytest.mark.parametrize("sight", SIGHTS)
@pytest.mark.parametrize("look", OPAQUE_LOOKS)
@pytest.mark.parametrize("name", process_names())
def test_one_half_pixel_per_lambda_is_enough(name, look, sight):
    """At one half-pixel per λ: transistor from crossing 24 L*, contact from crossing 26, two close contacts 24."""
    process = load_process(name)
    for kind in Pen(process).kinds():
        found = legibility(load_look(look), process, 1, sight, kind=kind)
        assert found.transistor >= 24, kind
        assert found.contact >= 26, kind
        assert found.pair >= 24, kind


@pytest.mark.parametrize("name", process_names())
def test_every_lot_is_legible(name):
    """The same in grey for the reflected look in eight lots."""
    process = load_process(name)
    for lot in range(8):
        for kind in Pen(process).kinds():
            found = legibility(load_look("reflected-light"), process, 1, "grey", seed=lot, kind=kind)
            assert found.transistor >= 20, (lot, kind)
            assert found.contact >= 26, (lot, kind)
            assert found.pair >= 24, (lot, kind)


@pytest.mark.parametrize("zoom", [1, 2, 4])
@pytest.mark.parametrize("name", process_names())
def test_wear_does_not_hide_what_is_asked(name, zoom):
    """On a battered die (wear 0.8, four dies) the look-alikes still differ by 15 L* or more in grey."""
    for seed in range(4):
        found = legibility(load_look("reflected-light"), load_process(name), zoom, "grey", seed=seed, wear=0.8)
        assert min(found.transistor, found.contact, found.pair) >= 15, seed


@pytest.mark.parametrize("sight", SIGHTS)
@pytest.mark.parametrize("look", ["stick-colours", "ink", "high-contrast"])
@pytest.mark.parametrize("name", process_names())
def test_layers_differ_in_brightness_first(name, look, sight):
    """Ground, the two diffusions, poly and each metal differ by 4 L* to every eye (2 on 256 colours)."""
    process = load_process(name)
    pen = Pen(process)
    roles = ("poly",) if look == "ink" else ("poly", "metal", "metal-2")
    patches = [{}, *(pen.island(kind) for kind in pen.kinds())]
    patches += [{pen.layer(role): [pen.box(0, 0, 12, 8)]} for role in roles if pen.has(role)]
    view = View(pen.box(0, 0, 12, 8), 2)
    tones = []
    for shapes in patches:
        image = render(as_layout("patch", shapes), process, load_look(look), view)
        tones.append(lightness(as_seen(mean_colour(image, (4, 4, 20, 12)), sight)))
    for one, other in combinations(tones, 2):
        assert abs(one - other) >= (2 if sight == "256" else 4), [round(tone) for tone in tones]


@pytest.mark.parametrize("zoom", [2, 4, 8])
@pytest.mark.parametrize("name", process_names())
def test_larger_pictures_stay_legible(name, zoom):
    """From 2 pixels per λ on, edges help; the tones alone still differ by 18 L*, in grey."""
    found = legibility(load_look("reflected-light"), load_process(name), zoom, "grey")
    assert min(found.transistor, found.contact, found.pair) >= 18


@pytest.mark.parametrize("name", process_names())
def test_contacts_survive_half_a_lambda_of_shift(name):
    """Off the pixel grid by half a λ a contact still stands 20 L* off the crossing, and two stay apart by 15."""
    process = load_process(name)
    half = process.grid_per_lambda // 2
    drawn = look_alikes(process)
    view = View.whole(drawn.layout, process, 1)
    moved = drawn.layout.transformed(Transform(dx=half, dy=half))
    image = render(moved, process, load_look("reflected-light"), view)

    def darkest(rect):
        left, top = view.to_pixel(process, rect.x0 + half, rect.y1 + half)
        right, low = view.to_pixel(process, rect.x1 + half, rect.y0 + half)
        tones = [
            lightness(image.getpixel((x, y)))
            for x in range(int(left), int(right) + 1)
            for y in range(int(top), int(low) + 1)
        ]
        return min(tones), max(tones)

    assert darkest(drawn.crossing)[1] - darkest(drawn.contact)[0] >= 20
    assert darkest(drawn.between)[1] - darkest(drawn.pair[0])[0] >= 15


@pytest.mark.parametrize("name", process_names())
def test_few_colours_keep_the_contacts(name):
    """After reduction to 64 colours and cutting into cells the contact is still 26 L* off the crossing."""
    process = load_process(name)
    drawn = look_alikes(process)
    view = View.whole(drawn.layout, process, 1)
    rows = to_cells(render(drawn.layout, process, load_look("reflected-light"), view))

    def cell(x, y):
        column, row = (int(v) for v in view.to_pixel(process, x, y))
        at = 0
        for run in rows[row // 2]:
            if column < at + len(run.text):
                mark = run.text[column - at]
                upper = row % 2 == 0
                lit = mark == "█" or (mark == "▀" and upper) or (mark == "▄" and not upper)
                return lightness(run.fg if lit else run.bg)
            at += len(run.text)
        raise AssertionError

    assert abs(cell(*drawn.contact.centre) - cell(*drawn.crossing.centre)) >= 26
