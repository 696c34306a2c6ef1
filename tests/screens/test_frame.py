"""Frames of half-blocks, tested as arrays of cells: what is written must show the very pixels it was made from."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from PIL import Image

from layoutdrill.geometry.rect import Rect
from layoutdrill.screens.frame import (
    BEYOND,
    BRIGHT,
    DARK,
    EDGE,
    FRAME,
    OVERVIEW_AT,
    Note,
    OnOverview,
    corner_for,
    draw_crosshair,
    inset,
    merged,
    palette,
    runs,
    window,
)
from layoutdrill.screens.looking_about import LookingAbout
from layoutdrill.screens.painting import Shown, in_the_middle, lies_under, overview_step, there
from layoutdrill.screens.subject import Indexed
from layoutdrill.screens.viewport import Viewport

COLOURS = [(i, i, i) for i in range(256)]


def shown(cells):
    """The pixels that runs of half-blocks show, as two rows of colours."""
    upper, lower = [], []
    for text, ink, ground in cells:
        for letter in text:
            upper.append(ink if letter in "▀█" else ground)
            lower.append(ink if letter in "▄█" else ground)
    return upper, lower


@given(st.lists(st.tuples(st.integers(0, 3), st.integers(0, 3)), min_size=1, max_size=60))
def test_runs_show_the_pixels_they_were_made_from(pairs):
    """Joining cells never changes a pixel, whatever the order of colours."""
    upper, lower = bytes(a for a, _ in pairs), bytes(b for _, b in pairs)
    cells = merged(upper, lower, COLOURS)
    assert shown(cells) == ([COLOURS[a] for a in upper], [COLOURS[b] for b in lower])


@given(st.lists(st.tuples(st.integers(0, 1), st.integers(0, 1)), min_size=1, max_size=60))
def test_two_colours_are_one_run(pairs):
    """A row of only two colours costs one style, which keeps frames small."""
    cells = merged(bytes(a for a, _ in pairs), bytes(b for _, b in pairs), COLOURS)
    assert len(cells) == 1


def test_letters_stand_on_the_picture_and_leave_the_rest_alone():
    """A note takes its own cells, no more."""
    out = Image.new("P", (10, 2), 5)
    cells = runs(out, 0, COLOURS, [Note(3, 0, "AB")])
    assert "".join(text for text, _, _ in cells)[3:5] == "AB"
    assert sum(len(text) for text, _, _ in cells) == 10


def test_a_note_that_runs_over_the_edge_is_cut():
    """Every row keeps its width, or the terminal would wrap it."""
    out = Image.new("P", (10, 2), 5)
    for column in (-1, 9, 12):
        cells = runs(out, 0, COLOURS, [Note(column, 0, "XYZ")])
        assert sum(len(text) for text, _, _ in cells) == 10


def test_the_crosshair_leaves_its_middle_open_and_shows_on_any_colour():
    """Arms are white within black; what lies round the half-pixel pointed at keeps its own colour."""
    out = Image.new("P", (21, 20), 7)
    draw_crosshair(out, 10, 9)
    assert {out.getpixel((x, y)) for x in (9, 10, 11) for y in (8, 9, 10)} == {7}
    assert [out.getpixel((13, y)) for y in (8, 9, 10)] == [DARK, BRIGHT, DARK]
    assert [out.getpixel((x, 13)) for x in (9, 10, 11)] == [DARK, BRIGHT, DARK]


def test_beyond_the_drawing_lies_the_ground_of_the_screen():
    """What no piece covers is told apart from every colour of the drawing."""
    piece = Indexed(Image.new("P", (4, 4), 0), ((9, 9, 9),))
    out = window(piece, 2, 2, 10, 4)
    colours = palette(piece, None, (1, 2, 3))
    assert colours[out.getpixel((0, 0))] == (1, 2, 3)
    assert out.getpixel((0, 0)) == BEYOND
    assert colours[out.getpixel((3, 3))] == (9, 9, 9)


def test_the_overview_marks_what_is_in_sight():
    """Its outline follows the window; with nothing to keep clear it lies at the upper right."""
    overview = Indexed(Image.new("P", (10, 10), 0), ((50, 50, 50),))
    out = Image.new("P", (40, 20), 3)
    left, top = corner_for(out, overview)
    assert (left, top) == (40 - 10 - 1, 1)
    inset(out, overview, (2, 2, 6, 6), (left, top))
    assert out.getpixel((left + 2, 1 + 2)) == out.getpixel((left + 5, 1 + 5))
    assert out.getpixel((left + 3, 1 + 3)) == 128


def test_the_overview_makes_way_for_a_marked_place():
    """It takes another corner rather than lie on a letter, a ring or the crosshair; with one in each it stays away."""
    overview = Indexed(Image.new("P", (10, 10), 0), ((50, 50, 50),))
    out = Image.new("P", (60, 40), 3)
    assert corner_for(out, overview, [(45, 1, 55, 11)]) == (49, 29)
    corners = [(52, 1, 54, 3), (50, 36, 52, 38), (4, 1, 6, 8)]
    assert corner_for(out, overview, corners) == (1, 29)
    assert corner_for(out, overview, [*corners, (3, 30, 5, 32)]) is None
    assert corner_for(out, overview, [(0, 0, 60, 40)]) is None


def test_a_field_is_framed_on_the_overview():
    """Bright and dark in turn along its four sides, and nothing within."""
    overview = Indexed(Image.new("P", (30, 16), 0), ((50, 50, 50),))
    out = Image.new("P", (40, 20), 3)
    inset(out, overview, (20, 8, 30, 16), (5, 2), OnOverview(framed=[(2, 3, 10, 9)]))
    border = {out.getpixel((5 + x, 2 + y)) for x in range(2, 11) for y in (3, 9)}
    assert border == {BRIGHT, DARK}
    assert {out.getpixel((5 + x, 2 + y)) for x in range(3, 10) for y in range(4, 9)} == {OVERVIEW_AT}


def test_a_click_on_a_large_overview_goes_to_what_it_shows():
    """The place that is clicked comes into sight, as near to the middle as the drawing reaches."""
    view = Viewport(Rect(0, 0, 800, 400), 2, 40, 12, 1).clamped()
    overview = Indexed(Image.new("P", (38, 19), 0), ((50, 50, 50),))
    left, top = in_the_middle(view, overview)
    assert (left, top) == (1, 2)
    for column, half in ((left + 19, top + 9), (left, top), (left + 37, top + 18)):
        x = (2 * (column - left) + 1) * 800 // (2 * 38)
        y = 400 - (2 * (half - top) + 1) * 400 // (2 * 19)
        moved = there(view, overview, column, half)
        at_column, at_half = moved.spot(x, y)
        assert 0 <= at_column < 40
        assert 0 <= at_half < 24
    assert abs(there(view, overview, left + 19, top + 9).spot(400, 200)[0] - 20) <= 6


def test_a_step_on_a_large_overview_is_one_of_its_half_pixels():
    """From end to end in as many steps as the overview has columns, on a wide drawing as on a tall one."""
    for box in (Rect(0, 0, 2600, 1400), Rect(0, 0, 1400, 5200)):
        view = Viewport(box, 2, 60, 20, 1)
        across, up = overview_step(view)
        assert across == up
        assert max(box.width / (60 - 2), box.height / (40 - 2)) <= up < 1 + max(box.width / 58, box.height / 38)


class Looked(LookingAbout):
    """A picture without a terminal: what is in sight, and nothing drawn."""

    def __init__(self):
        super().__init__()
        self.view = Viewport(Rect(0, 0, 2600, 1400), 2, 60, 20, 1).clamped()
        self.overview, self.crosshair, self._looked_about = Shown.LARGE, (1300, 700), False

    def look_again(self):
        pass


def test_arrows_move_the_crosshair_over_a_large_overview():
    """Ten steps lead a sixth of the die on, and what a closer look shows goes along; F8 looks closer, and back."""
    looked = Looked()
    for _ in range(10):
        looked.move(1, 0)
    across, _ = overview_step(looked.view)
    assert looked.crosshair == (1300 + 10 * across, 700)
    assert looked.view.visible().contains(*looked.crosshair)
    looked.see_whole()
    assert looked.overview == Shown.SMALL


def test_a_large_overview_lies_where_it_is_told():
    """Its frame stands in the middle, not in a corner."""
    out = Image.new("P", (40, 24), BEYOND)
    overview = Indexed(Image.new("P", (38, 19), 0), ((50, 50, 50),))
    inset(out, overview, (2, 2, 6, 6), at=(1, 2))
    assert out.getpixel((20, 3)) == OVERVIEW_AT
    assert out.getpixel((20, 22)) == BEYOND


@pytest.mark.parametrize("seen", [(3, 3, 4, 4), (0, 0, 1, 9), (29, 15, 30, 16), (-5, 4, 2, 5)])
def test_the_frame_of_what_is_in_sight_stays_a_frame(seen):
    """However little is in sight: four sides round something that is open in the middle, wholly on the overview."""
    overview = Indexed(Image.new("P", (30, 16), 0), ((50, 50, 50),))
    out = Image.new("P", (40, 20), 3)
    inset(out, overview, seen, (5, 2))
    line = [(x - 5, y - 2) for x in range(5, 35) for y in range(2, 18) if out.getpixel((x, y)) == EDGE]
    xs, ys = sorted({x for x, _ in line}), sorted({y for _, y in line})
    assert xs[-1] - xs[0] >= FRAME - 1
    assert ys[-1] - ys[0] >= FRAME - 1
    assert (xs[0] + 1, ys[0] + 1) not in line
    assert {(xs[0], ys[0]), (xs[-1], ys[-1]), (xs[0], ys[-1]), (xs[-1], ys[0])} <= set(line)


def test_no_label_is_written_over_the_overview():
    """A text that would stand on it belongs to another place; one beside it stays."""
    covered = (50, 1, 60, 11)
    assert lies_under(Note(49, 0, "n1"), covered)
    assert lies_under(Note(55, 5, "n1"), covered)
    assert not lies_under(Note(47, 2, "n1"), covered)
    assert not lies_under(Note(55, 6, "n1"), covered)
