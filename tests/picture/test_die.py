"""Dies of a layout: masks out of line by small vectors of their own, and the wiring always that of the layout."""

import math

import pytest

from layoutdrill.errors import LayoutdrillError
from layoutdrill.extract import extract
from layoutdrill.face import DrawnFace, Light
from layoutdrill.geometry.rect import Rect
from layoutdrill.layout.model import Label, Layout
from layoutdrill.netlist.compare import compare
from layoutdrill.picture.corners import corners
from layoutdrill.picture.die import (
    PERFECT,
    checked,
    die_of,
    displaced,
    drawn_die,
    farthest,
    least_figure,
    without_forms,
)
from layoutdrill.picture.looks import load_look
from layoutdrill.picture.render import render
from layoutdrill.picture.shot import Shot
from layoutdrill.picture.view import View
from layoutdrill.process import load_process
from tests.drawings import drawing_of
from tests.sampling import covering, some

DRAWN = (
    ("metal-gate-cmos", "nand2"), ("metal-gate-sapphire", "nor2"), ("metal-gate-pmos", "nor2"),
    ("silicon-gate-cmos", "nand3"), ("silicon-gate-cmos-2m", "aoi21"), ("silicon-gate-nmos", "nor2"),
)  # fmt: skip
LOOK = load_look("reflected-light")


def drawn(process_name, cell, seed=3):
    return drawing_of(cell, process_name, seed, 0.5).layout, load_process(process_name)


@pytest.mark.parametrize(
    ("process_name", "cell", "wear"), covering([(*drawing, wear) for drawing in DRAWN for wear in (0.0, 0.5, 1.0)])
)
def test_every_die_is_wired_as_its_layout(process_name, cell, wear):
    """
    The displaced shapes, read by the extractor, give the layout's own netlist, on six dies; also on those whose
    displacement was taken as too small to be worth a reading.
    """
    layout, process = drawn(process_name, cell)
    wired = without_forms(process)
    want = extract(layout, wired).netlist
    for number in some(range(6), 3):
        die = die_of(layout, process, number, wear)
        assert die is not PERFECT
        assert compare(want, extract(displaced(layout, die), wired).netlist).equal, number


@pytest.mark.parametrize(("process_name", "cell"), DRAWN)
def test_masks_are_out_of_line_and_differ_from_die_to_die(process_name, cell):
    """Two dies of one layout have other vectors; the lowest mask is what the others are out of line with."""
    layout, process = drawn(process_name, cell)
    one, other = (die_of(layout, process, number, 0.5) for number in (1, 2))
    assert one.shifts != other.shifts
    assert one == die_of(layout, process, 1, 0.5)
    lowest = next(iter(process.layers))
    assert one.shifts[lowest] == (0.0, 0.0)
    farthest_out = max(math.hypot(*v) for v in one.shifts.values()) / process.grid_per_lambda
    assert 0.02 < farthest_out < 0.6


def test_a_displacement_that_changes_the_wiring_is_refused():
    """A contact that slips off its metal onto the next wire, or off its diffusion, is found and told."""
    layout, process = drawn("silicon-gate-cmos", "nand2")
    die = drawn_die(layout, process, 1, 1.0, 1.0)
    far = type(die)(
        {**die.shifts, "contact": (6.0, 0.0)}, die.turns, die.middle, die.bias, die.rounding, die.uneven, 1, die.cuts
    )
    with pytest.raises(LayoutdrillError, match="wired otherwise"):
        checked(layout, process, far)
    checked(layout, process, PERFECT)


def test_a_small_displacement_cannot_reach_any_rule():
    """On a good die masks move by less than the least distance that any rule keeps, in every process with rules."""
    for name, cell in DRAWN:
        layout, process = drawn(name, cell)
        reach = max(farthest(drawn_die(layout, process, number, 0.0, 1.0)) for number in range(20))
        assert least_figure(process) > 0
        if reach < least_figure(process):
            for number in range(3):
                checked(layout, process, drawn_die(layout, process, number, 0.0, 1.0))


@pytest.mark.parametrize(("process_name", "cell"), DRAWN)
def test_marks_rings_and_clicks_follow_the_die(process_name, cell):
    """Where one sees a place and what is meant by a place there are each other's inverse, to a grid unit."""
    layout, process = drawn(process_name, cell)
    face = DrawnFace.of(layout, process)
    light = Light(LOOK, 4, 1.0)
    for name in face.extraction.netlist.transistors[:4]:
        x, y = face.extraction.channel(name.name)[0].centre
        seen = face.seen_at(light, x, y)
        back = face.meant_at(light, *seen)
        assert math.dist(back, (x, y)) <= 1.5
        assert math.dist(seen, (x, y)) <= 0.7 * process.grid_per_lambda


def test_the_picture_is_made_from_the_displaced_shapes():
    """A contact that lies half a λ to the right on a die is seen half a λ to the right."""
    process = load_process("silicon-gate-cmos")
    layout = Layout("wire", {"metal": (Rect(0, 0, 40, 12),)}, (Label("a", "metal", 2, 2),))
    view = View(Rect(-8, -8, 60, 20), 8)
    shifted = type(PERFECT)({"metal": (4.0, 0.0)}, {}, (0.0, 0.0), {}, 0.0, 0.0, 0, frozenset())

    def left(die):
        image = render(layout, process, Shot(LOOK, view, die=die)).convert("L")
        row = [image.getpixel((x, image.height // 2)) for x in range(image.width)]
        return next(x for x, tone in enumerate(row) if tone > 210)

    assert left(shifted) - left(PERFECT) == pytest.approx(16, abs=1)


def test_corners_of_a_union_are_found():
    """An L of two rectangles has five outer corners and one inner one, wherever they were cut."""
    upright, flat = Rect(0, 0, 4, 12), Rect(0, 0, 12, 4)
    for rects in ((upright, flat), (Rect(0, 4, 4, 12), flat), (Rect(0, 0, 4, 6), Rect(0, 6, 4, 12), flat)):
        found = corners(rects)
        assert len([c for c in found if c.drawn]) == 5
        assert [(c.x, c.y) for c in found if not c.drawn] == [(4, 4)]


def test_rounded_corners_leave_lines_where_they_were():
    """On a die without displacement only the tips of corners differ from the layout's own picture."""
    process = load_process("metal-gate-cmos")
    layout = Layout("plate", {"metal": (Rect(0, 0, 24, 24),)})
    view = View(Rect(-8, -8, 32, 32), 4)
    round_only = type(PERFECT)({}, {}, (0.0, 0.0), {}, 0.5, 0.0, 0, frozenset())
    plain, rounded = (render(layout, process, Shot(LOOK, view, die=die)).convert("L") for die in (PERFECT, round_only))
    changed = [
        (x, y)
        for x in range(plain.width)
        for y in range(plain.height)
        if abs(plain.getpixel((x, y)) - rounded.getpixel((x, y))) > 12
    ]
    assert changed
    assert all(
        min(math.dist((x, y), corner) for corner in ((16, 16), (64, 16), (16, 64), (64, 64))) < 5 for x, y in changed
    )
