"""Pictures of drawings: what must not change them, what must, and reference pictures kept with a tolerance."""

import os
from pathlib import Path

import pytest
from PIL import Image, ImageChops

from layoutdrill.errors import LayoutdrillError
from layoutdrill.geometry.rect import Rect
from layoutdrill.geometry.transform import Transform
from layoutdrill.layout.model import Layout, Placement
from layoutdrill.picture.looks import FROM_BELOW, load_look, look_names
from layoutdrill.picture.render import render
from layoutdrill.picture.shot import Shot
from layoutdrill.picture.view import View
from layoutdrill.process import load_process, process_names
from tests.each import each
from tests.picture.compare_pictures import assert_alike
from tests.picture.lookalikes import look_alikes
from tests.sampling import covering

REFERENCE = Path(__file__).parent / "reference"
CASES = [
    (process, look)
    for process in process_names()
    for look in look_names()
    if load_look(look).style not in FROM_BELOW or "sapphire" in process
]


def picture(name, look, zoom=4, layout=None, **how):
    process = load_process(name)
    layout = layout or look_alikes(process).layout
    return render(layout, process, Shot(load_look(look), View.whole(look_alikes(process).layout, process, zoom), **how))


@pytest.mark.parametrize(("name", "look"), covering(CASES, 2))
def test_reference_pictures(name, look, tmp_path):
    """The look-alikes look as they did when the reference was last looked at and accepted (LAYOUTDRILL_ACCEPT=1)."""
    found = picture(name, look, seed=3, wear=0.4)
    path = REFERENCE / f"{name}.{look}.png"
    if os.environ.get("LAYOUTDRILL_ACCEPT"):
        REFERENCE.mkdir(exist_ok=True)
        found.quantize(128, dither=Image.Dither.NONE).save(path, optimize=True)
    assert_alike(found, Image.open(path).convert("RGB"), tmp_path, mean=6, worst=110)


def test_a_difference_is_noticed_and_both_pictures_kept(tmp_path):
    """The comparison fails on a missing contact, and leaves both pictures behind."""
    whole = look_alikes(load_process("silicon-gate-cmos")).layout
    less = Layout(whole.name, {k: v for k, v in whole.shapes.items() if k != "contact"})
    with pytest.raises(AssertionError, match="both kept"):
        assert_alike(
            picture("silicon-gate-cmos", "reflected-light", layout=less),
            picture("silicon-gate-cmos", "reflected-light"),
            tmp_path,
        )
    assert {p.name for p in tmp_path.iterdir()} == {"found.png", "wanted.png"}


@each(("name", "look"), covering(CASES))
def test_splitting_and_nesting_change_nothing(name, look):
    """Rectangles cut in two and shapes moved into a placement are the same drawing, so the same pixels."""
    whole = look_alikes(load_process(name)).layout
    cut = {}
    for layer, rects in whole.shapes.items():
        pieces = []
        for r in rects:
            middle = (r.x0 + r.x1) // 2
            pieces += [Rect(middle, r.y0, r.x1, r.y1), Rect(r.x0, r.y0, middle, r.y1)]
        cut[layer] = tuple(pieces)
    nested = Layout("top", {}, (), (Placement(Layout("in", cut).transformed(Transform(dx=-9)), Transform(dx=9)),))
    assert picture(name, look, layout=nested).tobytes() == picture(name, look).tobytes()


@each(("name", "look"), covering(CASES))
def test_lifting_a_layer_is_drawing_without_it(name, look):
    """A hidden layer leaves the picture that the layout has without it."""
    whole = look_alikes(load_process(name)).layout
    for layer in whole.shapes:
        less = Layout(whole.name, {k: v for k, v in whole.shapes.items() if k != layer})
        lifted = picture(name, look, hidden=frozenset({layer}))
        assert lifted.tobytes() == picture(name, look, layout=less).tobytes()


@each("name", process_names())
def test_die_and_dirt_move_together(name):
    """Panning by whole λ shows the same die, dust and scratches, but for grain and light, which stay with the lens."""
    process = load_process(name)
    layout = look_alikes(process).layout
    look = load_look("reflected-light")
    unit = process.grid_per_lambda
    x, y = (part // unit * unit for part in layout.box.centre)
    region = Rect(x - 12 * unit, y - 6 * unit, x - 12 * unit + 200 * unit // 8, y - 6 * unit + 90 * unit // 8)
    here = render(layout, process, Shot(look, View(region, 8), seed=2, wear=0.9))
    there = render(layout, process, Shot(look, View(region.moved(4 * unit, 0), 8), seed=2, wear=0.9))
    moved = ImageChops.difference(here.crop((32, 0, 200, 90)), there.crop((0, 0, 168, 90))).convert("L")
    strange = sum(moved.histogram()[70:])
    assert strange < 0.01 * 168 * 90


def test_light_does_not_pass_through_silicon():
    """The transmitted look refuses an opaque wafer and names the look to use."""
    with pytest.raises(LayoutdrillError, match="reflected-light"):
        picture("silicon-gate-cmos", "transmitted-light")


def test_empty_layout_is_bare_ground():
    """Nothing drawn gives a picture of the field alone, in every look that the process has."""
    for name, look in CASES:
        process = load_process(name)
        image = render(
            Layout("none", {}),
            process,
            Shot(load_look(look), View(Rect(0, 0, 20 * process.grid_per_lambda, 20 * process.grid_per_lambda), 1)),
        )
        assert image.size == (20, 20)
        low, high = image.convert("L").getextrema()
        assert high - low < (110 if "sapphire" in name else 40)  # a mottled ground shows through sapphire


def test_narrow_shapes_do_not_vanish():
    """A wire of one λ is seen at one pixel per λ."""
    process = load_process("silicon-gate-cmos")
    layout = Layout("wire", {"metal": (Rect(0, 20, 80, 22),)})
    for look in ("reflected-light", "stick-colours", "ink", "high-contrast"):
        image = render(layout, process, Shot(load_look(look), View.whole(layout, process, 1))).convert("L")
        low, high = image.getextrema()
        assert high - low > 25, look
