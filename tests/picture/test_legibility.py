"""
What looks alike is told apart: transistor, contact, crossing, in every process, look, eye and palette.

The thresholds (L* 20, 26 and 24 at one half-pixel per λ, where the tracing aid is always on) are this project's own.
Rows of the look-alike table: common practice of reading dies.
"""

from dataclasses import replace
from itertools import combinations, product

import pytest
from PIL import Image, ImageStat

from layoutdrill.geometry.transform import Transform
from layoutdrill.picture.halfblocks import to_cells
from layoutdrill.picture.looks import load_look
from layoutdrill.picture.pen import Pen, as_layout
from layoutdrill.picture.perception import SIGHTS, as_seen, lightness
from layoutdrill.picture.render import render
from layoutdrill.picture.shot import Shot
from layoutdrill.picture.view import View
from layoutdrill.process import load_process, process_names
from layoutdrill.process.films import load_films
from tests.each import each
from tests.picture.legibility import legibility, mean_colour
from tests.picture.lookalikes import look_alikes
from tests.picture.outlines import LEAST_SEEN, SCALES, outlines
from tests.sampling import covering, some

OPAQUE_LOOKS = ("reflected-light", "stick-colours", "ink", "high-contrast")


@each(("name", "look", "sight"), covering(product(process_names(), OPAQUE_LOOKS, SIGHTS), 4))
def test_one_half_pixel_per_lambda_is_enough(name, look, sight):
    """At one half-pixel per λ: transistor from crossing 20 L*, contact from crossing 26, two close contacts 24."""
    process = load_process(name)
    for kind in Pen(process).kinds():
        found = legibility(load_look(look), process, 1, sight, kind=kind)
        assert found.transistor >= (18 if sight == "256" else 20), kind
        assert found.contact >= 26, kind
        assert found.pair >= 24, kind


@each("name", process_names())
def test_every_lot_is_legible(name):
    """The same in grey for the reflected look in eight lots."""
    process = load_process(name)
    for lot in some(range(1, 9), 2):
        for kind in Pen(process).kinds():
            found = legibility(load_look("reflected-light"), process, 1, "grey", seed=lot, kind=kind)
            assert found.transistor >= 20, (lot, kind)
            assert found.contact >= 26, (lot, kind)
            assert found.pair >= 24, (lot, kind)


@pytest.mark.parametrize("scale", SCALES)
@pytest.mark.parametrize("name", [name for name in process_names() if not load_films(load_process(name)).planar])
def test_outlines_under_metal_are_as_dark_as_slopes_foretell(name, scale):
    """
    In honest light without aid every edge under metal is seen, and is at least 0.45 of what the stated slopes and the
    lens foretell for a line of its width (geometric optics; see tests/picture/outlines.py); it is nowhere darker by
    more than a quarter and 3 L*.
    """
    if name.endswith("-2m") and scale == 2:
        pytest.skip("edges of a 1 µm process at 0.5 µm a pixel lie nearer than the lines are wide: told, not asked")
    lines = outlines(load_process(name), scale)
    assert lines
    for line in lines:
        assert line.measured >= LEAST_SEEN, line
        assert 0.45 * line.foretold <= line.measured <= 1.25 * line.foretold + 3, line


@each("name", process_names())
def test_flat_metal_is_equally_bright_at_any_height(name):
    """Over field, diffusion, poly, in a window: flat metal differs by less than 1 L* (common practice)."""
    process = load_process(name)
    pen = Pen(process)
    everywhere = [pen.box(-30, -30, 30, 30)]
    beds = [{}, *(dict.fromkeys(pen.island(kind), everywhere) for kind in pen.kinds())]
    beds += [{pen.layer(role): everywhere} for role in ("poly", "thin-oxide") if pen.has(role)]
    view = View(pen.box(-4, -4, 4, 4), 4)
    tones = []
    for bed in beds:
        image = render(
            as_layout("bed", {**bed, pen.wire: everywhere}), process, Shot(load_look("reflected-light"), view)
        )
        tones.append(lightness(mean_colour(image, (0, 0, *image.size))))
    assert max(tones) - min(tones) < 1


@each("name", process_names())
def test_steps_are_dark_on_both_sides_alike(name):
    """A wire turned half round looks the same but for grain: light comes down the lens itself (common practice)."""
    process = load_process(name)
    pen = Pen(process)
    clear = load_films(process).base == "sapphire"  # the mottled ground is not the same at both sides
    layout = as_layout("wire", {pen.wire: [pen.box(-3, -12, 3, 12)]})
    view = View(pen.box(-8, -6, 8, 6), 4)
    even = replace(load_look("reflected-light"), settings={"vignette": 0, "grain": 0})
    image = render(layout, process, Shot(even, view)).convert("L")
    turned = image.transpose(Image.Transpose.FLIP_LEFT_RIGHT)
    rows = [
        (image.crop((x, 0, x + 1, image.height)), turned.crop((x, 0, x + 1, image.height))) for x in range(image.width)
    ]
    for one, other in rows:
        assert abs(ImageStat.Stat(one).mean[0] - ImageStat.Stat(other).mean[0]) < (12 if clear else 3)


def test_the_aid_is_on_below_two_pixels_and_off_from_four():
    """The tracing aid changes a picture at 2 and 3 half-pixels per λ if wanted, always at 1, never from 4."""
    process = load_process("metal-gate-cmos")
    drawn = look_alikes(process)

    def picture(scale, aid):
        view = View.whole(drawn.layout, process, scale)
        return render(drawn.layout, process, Shot(load_look("reflected-light"), view, aid=aid)).tobytes()

    assert [picture(scale, aid=True) != picture(scale, aid=False) for scale in (1, 2, 3, 4, 8)] == [
        False, True, True, False, False,
    ]  # fmt: skip
    plain = legibility(load_look("reflected-light"), process, 1, "grey")
    assert plain.transistor > 20


@each(("name", "look", "sight"), covering(product(process_names(), OPAQUE_LOOKS[1:], SIGHTS), 3))
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
        image = render(as_layout("patch", shapes), process, Shot(load_look(look), view))
        tones.append(lightness(as_seen(mean_colour(image, (4, 4, 20, 12)), sight)))
    for one, other in combinations(tones, 2):
        assert abs(one - other) >= (2 if sight == "256" else 4), [round(tone) for tone in tones]


@each("name", process_names())
def test_contacts_survive_half_a_lambda_of_shift(name):
    """Off the pixel grid by half a λ a contact still stands 20 L* off the crossing, and two stay apart by 15."""
    process = load_process(name)
    half = process.grid_per_lambda // 2
    drawn = look_alikes(process)
    view = View.whole(drawn.layout, process, 1)
    moved = drawn.layout.transformed(Transform(dx=half, dy=half))
    image = render(moved, process, Shot(load_look("reflected-light"), view))

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


@each("name", process_names())
def test_few_colours_keep_the_contacts(name):
    """After reduction to 64 colours and cutting into cells the contact is still 26 L* off the crossing."""
    process = load_process(name)
    drawn = look_alikes(process)
    view = View.whole(drawn.layout, process, 1)
    rows = to_cells(render(drawn.layout, process, Shot(load_look("reflected-light"), view)))

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
