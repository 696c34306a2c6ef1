"""Wear: from textbook to attic by degrees, bound to the die, and never where a question points."""

import math

import pytest
import shapely
from PIL import ImageChops, ImageStat

from layoutdrill.errors import LayoutdrillError
from layoutdrill.geometry.rect import Rect
from layoutdrill.layout.model import Layout
from layoutdrill.picture.degrees import DEGREES, wear_named
from layoutdrill.picture.dirt import COARSE_FROM, CRACKED, SIDE, crumbs_on, dirt_in, dirt_of, dust_near
from layoutdrill.picture.looks import load_look
from layoutdrill.picture.pen import Pen
from layoutdrill.picture.render import render
from layoutdrill.picture.shot import Shot
from layoutdrill.picture.stages import Stage
from layoutdrill.picture.view import View
from layoutdrill.process import load_process
from tests.drawings import drawing_of
from tests.picture.lookalikes import look_alikes
from tests.sampling import WHOLE

LOOK = load_look("reflected-light")


def test_degrees_go_from_textbook_to_attic():
    """Names stand for numbers that rise from 0 to 1; a number does too; anything else is told with what there is."""
    assert list(DEGREES.values()) == sorted(DEGREES.values())
    assert (DEGREES["textbook"], DEGREES["attic"]) == (0.0, 1.0)
    assert wear_named("0.3") == 0.3
    for text in ("atic", "1.5", "-1"):
        with pytest.raises(LayoutdrillError, match="attic"):
            wear_named(text)


def test_every_degree_is_further_from_the_textbook():
    """Over some dies the mean difference from the textbook picture rises with each degree."""
    process = load_process("metal-gate-cmos")
    drawn = look_alikes(process)
    view = View.whole(drawn.layout, process, 6)
    means = []
    dies = {seed: render(drawn.layout, process, Shot(LOOK, view, seed=seed)) for seed in range(6 if WHOLE else 3)}
    for wear in DEGREES.values():
        apart = 0.0
        for seed, clean in dies.items():
            worn = render(drawn.layout, process, Shot(LOOK, view, seed=seed, wear=wear))
            apart += ImageStat.Stat(ImageChops.difference(clean, worn).convert("L")).mean[0]
        means.append(apart)
    assert means == sorted(means)
    assert means[0] == 0


def test_dirt_hangs_on_the_die_and_its_place():
    """The same die has the same dirt in a square; another die or square has other dirt; a clean die has none."""
    assert dirt_of(3, 0.8, 1, 2) == dirt_of(3, 0.8, 1, 2)
    assert len({repr(dirt_of(number, 0.8, 1, 2)) for number in range(8)}) > 4
    assert all(dirt_of(number, 0.0, 0, 0) == dirt_of(9, 0.0, 5, 5) for number in range(5))


def test_dust_has_any_size_and_no_square_outline():
    """
    Of thousands of crumbs most are fine, and some as large as a contact of 2 λ; those fill less of the box round them
    than a square with round corners does, by shapely. A scratch is never level or upright as wires are (common
    practice: dust is told from a contact by its crooked shape and its missing floor).
    """
    specks = [speck for n in range(4000 if WHOLE else 1200) for speck in dirt_of(n, 1.0, 0, 0).specks]
    coarse = [speck for speck in specks if speck.radius >= COARSE_FROM]
    assert 0.05 < len(coarse) / len(specks) < 0.11
    wide = sorted(max(s.extent[2] - s.extent[0], s.extent[3] - s.extent[1]) for s in coarse)
    assert wide[0] < 2 < wide[len(wide) // 2] < 3.2
    round_corners = 1 - (4 - math.pi) * 0.35**2 / 4
    for speck in coarse[: 300 if WHOLE else 80]:
        lumps = shapely.union_all([shapely.Point(x, y).buffer(r) for x, y, r in speck.lumps])
        assert lumps.area / lumps.envelope.area < round_corners - 0.1
    scratches = [t for n in range(400) for t in dirt_of(n, 1.0, 0, 0).traces if t.bright == 150]
    assert scratches
    for trace in scratches:
        (x0, y0), (x1, y1) = trace.points[0], trace.points[-1]
        angle = abs(math.degrees(math.atan2(y1 - y0, x1 - x0))) % 90
        assert 8 < angle < 82


@pytest.mark.parametrize("process", ["silicon-gate-cmos", "metal-gate-pmos"])
def test_coarse_dust_hides_no_contact_and_no_gate(process):
    """A picture on which a crumb hid what a question rests on could not be read: such crumbs lie elsewhere."""
    layout, found = drawing_of("nand2", process, 1).layout, load_process(process)
    unit, shapes, box = found.grid_per_lambda, layout.flattened().shapes, layout.box
    hidden = [shapely.box(*r) for name, rects in shapes.items() if found.layers[name].role in ("contact", "thin-oxide")
              for r in rects]  # fmt: skip
    lying = kept = 0
    for number in range(60):
        for dirt in dirt_in(found, box, number, 1.0):
            for speck in dirt.specks:
                lying += speck.radius >= COARSE_FROM
            for speck in crumbs_on(layout, found, dirt):
                if speck.radius >= COARSE_FROM:
                    kept += 1
                    crumb = shapely.box(*(unit * v for v in speck.extent))
                    assert not any(crumb.intersects(cut) for cut in hidden)
    assert 0 < kept < lying


def test_a_question_can_keep_off_the_dust():
    """At every speck `dust_near` says so; five λ away from all of them it does not."""
    process = load_process("silicon-gate-cmos")
    unit = process.grid_per_lambda
    specks = [s for i in (-1, 0, 1) for j in (-1, 0, 1) for s in dirt_of(5, 0.5, i, j).specks]
    assert specks
    for speck in specks:
        assert dust_near(process, 5, 0.5, speck.x * unit, speck.y * unit)
    clear = [
        (x, y) for x in range(2, SIDE) for y in range(2, SIDE) if all(math.hypot(s.x - x, s.y - y) > 5 for s in specks)
    ]
    assert clear
    assert not any(dust_near(process, 5, 0.5, x * unit, y * unit) for x, y in clear)
    assert not dust_near(process, 5, 0.0, specks[0].x * unit, specks[0].y * unit)


def test_only_glass_cracks():
    """Cracks come from a degree on, and with the glass off they are gone."""
    cracked = [n for n in range(300) if any(t.in_glass for t in dirt_of(n, 1.0, 0, 0).traces)]
    assert cracked
    assert not any(t.in_glass for n in range(300) for t in dirt_of(n, CRACKED, 0, 0).traces)
    process = load_process("silicon-gate-cmos")
    pen = Pen(process)
    layout = Layout("plain", {"metal": (pen.box(-20, -20, 44, 44),)})
    view = View(pen.box(-20, -20, 44, 44), 6)
    under = render(layout, process, Shot(LOOK, view, seed=cracked[0], wear=1.0))
    without = render(layout, process, Shot(LOOK, view, seed=cracked[0], wear=1.0, stage=Stage.GLASS_OFF))
    assert ImageChops.difference(under, without).getbbox() is not None


def test_a_pad_has_the_scar_of_its_bond():
    """In an opening of the glass a worn pad's middle is darker than its rim."""
    process = load_process("silicon-gate-cmos")
    opening = next(n for n, layer in process.layers.items() if layer.role == "glass-opening")
    layout = Layout("pad", {"metal": (Rect(0, 0, 200, 200),), opening: (Rect(10, 10, 190, 190),)})
    image = render(layout, process, Shot(LOOK, View(Rect(0, 0, 200, 200), 2), seed=2, wear=0.3)).convert("L")
    middle = ImageStat.Stat(image.crop((80, 90, 120, 110))).mean[0]
    rim = ImageStat.Stat(image.crop((20, 20, 60, 40))).mean[0]
    assert middle < rim - 10
