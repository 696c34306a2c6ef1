"""Looking about: what is in sight, at which scale, and where the pointer is. Arithmetic only, so no outside source."""

from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from layoutdrill.geometry.rect import Rect
from layoutdrill.screens.sighting import Focus, jumped, out_of_view, panes_of, starting, whole_first
from layoutdrill.screens.viewport import NEARLY, REDUCED, SCALES, Viewport, opening, snapped

BOX = snapped(Rect(0, 0, 101, 61), 2)

boxes = st.builds(
    lambda x, y, w, h: Rect(x, y, x + w, y + h),
    st.integers(-500, 500),
    st.integers(-500, 500),
    st.integers(1, 900),
    st.integers(1, 900),
)
windows = st.tuples(st.integers(4, 200), st.integers(2, 60))


def test_a_snapped_box_is_whole_lambda_and_leaves_a_margin():
    """The box grows to whole λ, so every scale gives whole half-pixels."""
    assert snapped(Rect(1, -1, 101, 61), 2) == Rect(-2, -4, 104, 64)


@given(boxes, windows, st.sampled_from((1, 2, 75)))
def test_the_opening_view_never_goes_below_one_half_pixel_per_lambda(box, window, per):
    """Below 1 contacts vanish, so larger drawings open on a region instead."""
    view = opening(snapped(box, per), per, *window)
    assert view.scale >= 1
    assert view.whole or view.scale == 1 or (view.scale == 2 and view.share >= NEARLY)


def test_a_single_gate_opens_at_two_with_a_part_out_of_sight():
    """46 × 57 λ on 74 × 38 cells would fit whole at 1; at 2, 0.77 of 48 × 35 λ is in sight, of 46 × 57 λ only 0.54."""
    nearly = opening(Rect(0, 0, 96, 70), 2, 74, 38)
    assert (nearly.scale, nearly.whole) == (2, False)
    assert nearly.widest().scale == 1
    assert nearly.widest().whole
    assert opening(Rect(0, 0, 92, 114), 2, 74, 38).scale == 1


@given(boxes, windows, st.sampled_from(SCALES), st.integers(-300, 300), st.integers(-300, 300))
def test_panning_never_loses_the_drawing(box, window, scale, dx, dy):
    """However far one pans, some of the drawing stays in sight, and rows keep their pairs of half-rows."""
    view = opening(snapped(box, 2), 2, *window).scaled(scale).panned(dx, dy)
    seen = view.visible()
    assert seen.area > 0
    assert view.box.covers(seen)
    assert view.top % 2 == 0


@given(boxes, windows, st.sampled_from(SCALES), st.data())
def test_a_half_pixel_points_at_itself(box, window, scale, data):
    """The grid point under a half-pixel lies in that half-pixel, wherever a half-pixel is no smaller than the grid."""
    view = opening(snapped(box, 75), 75, *window).scaled(scale)
    column = data.draw(st.integers(0, view.columns - 1))
    half = data.draw(st.integers(0, view.rows * 2 - 1))
    x, y = view.point(column, half)
    across, down = view.spot(x, y)
    assert abs(across - column) <= (scale > 1)
    assert abs(down - half) <= (scale > 1)


def test_zooming_keeps_the_pointed_place_under_the_pointer():
    """Looking closer about a place leaves that place in its cell, where the edges allow."""
    view = Viewport(BOX, 2, 40, 10, 2).centred(50, 30)
    place = view.point(30, 12)
    closer = view.zoomed(2, place)
    assert closer.scale == 4
    column, half = closer.spot(*place)
    assert column == 30
    assert abs(half - 12) <= 1


def test_zoom_stops_at_both_ends():
    """Past the ends of the scales nothing changes."""
    view = Viewport(BOX, 2, 40, 10, SCALES[0]).clamped()
    assert view.zoomed(-1).scale == SCALES[0]
    assert view.scaled(SCALES[-1]).zoomed(1).scale == SCALES[-1]


@given(boxes, windows, st.sampled_from(SCALES), st.integers(-900, 900), st.integers(-900, 900))
def test_the_piece_drawn_covers_what_is_in_sight(box, window, scale, dx, dy):
    """A piece is whole λ and covers the window, so no place in sight is left undrawn."""
    view = opening(snapped(box, 2), 2, *window).scaled(scale).panned(dx, dy)
    piece = view.tile()
    assert piece.covers(view.visible())
    assert (piece.x0 - view.box.x0) % 2 == 0
    assert (view.box.y1 - piece.y1) % 2 == 0


def test_small_drawings_are_drawn_once_however_one_pans():
    """The piece of a small drawing is the whole of it."""
    view = opening(BOX, 2, 120, 40)
    assert view.tile() == BOX
    assert view.panned(3, 2).tile() == BOX


@pytest.mark.parametrize(("columns", "rows"), [(80, 24), (120, 40), (200, 60)])
def test_a_window_made_larger_keeps_its_middle(columns, rows):
    """Resizing at any moment keeps what is looked at."""
    view = Viewport(BOX, 2, 40, 10, 8).centred(50, 30)
    middle = view.point(view.columns // 2, view.rows)
    larger = view.resized(columns, rows)
    column, half = larger.spot(*middle)
    assert 0 <= column < columns
    assert 0 <= half < rows * 2


@given(boxes, windows, st.data())
def test_the_first_view_shows_what_is_asked(box, window, data):
    """What must be seen is in sight wherever it fits at one half-pixel a λ; else its middle is."""
    frame = snapped(box, 2)
    x = data.draw(st.integers(frame.x0, frame.x1 - 1))
    y = data.draw(st.integers(frame.y0, frame.y1 - 1))
    wide, high = data.draw(st.integers(1, 60)), data.draw(st.integers(1, 60))
    asked = Rect(x, y, x + wide, y + high).common(frame)
    view = starting(frame, 2, *window, Focus((asked,)))
    fits = asked.width // 2 + 3 <= view.columns and asked.height // 2 + 3 <= view.rows * 2
    assert view.shows(asked) or not fits
    column, half = view.spot(*asked.centre)
    assert -1 <= column <= view.columns
    assert -1 <= half <= view.rows * 2


def test_a_whole_die_is_seen_as_a_whole_first():
    """Where all of a large drawing is asked about its overview comes first; where one place of it is, that place."""
    box, place = Rect(0, 0, 2000, 2000), Rect(900, 900, 916, 916)
    view = starting(box, 2, 46, 22, Focus((box,)))
    assert view.share < 0.25
    assert whole_first(view, Focus((box,)), box)
    assert whole_first(view, Focus(), box)
    assert not whole_first(view, Focus((place,), any_of=(place,)), box)
    assert not whole_first(view, Focus(any_of=(place,)), box)
    small = Rect(0, 0, 90, 80)
    assert not whole_first(starting(small, 2, 46, 22, Focus((small,))), Focus((small,)), small)


@given(boxes, windows, st.data())
def test_one_of_several_things_is_brought_into_sight(box, window, data):
    """Where none of the things asked for would be in sight, the view moves until one is; else it stays."""
    frame = snapped(box, 2)
    x = data.draw(st.integers(frame.x0, frame.x1 - 2))
    y = data.draw(st.integers(frame.y0, frame.y1 - 2))
    small = Rect(x, y, x + 2, y + 2)
    window = max(window[0], 6), max(window[1], 3)
    assert starting(frame, 2, *window, Focus(any_of=(small,))).shows(small)
    first = opening(frame, 2, *window)
    if first.shows(small):
        assert starting(frame, 2, *window, Focus(any_of=(small, frame))) == first


def test_what_lies_beyond_is_named_by_its_side():
    """Sides with more of the drawing, and on which side a place out of sight is."""
    view = Viewport(BOX, 2, 10, 5, 2).clamped()
    assert "left" not in view.beyond()
    assert {"right", "below"} <= set(view.beyond())
    assert view.side_of(BOX.x1 - 1, BOX.y0) == "below right"
    assert view.side_of(*view.point(5, 5)) == ""


def test_the_jump_brings_up_each_of_several_pictures_whole():
    """Five pictures in a row, the first two partly in sight: every one is at some step seen from side to side, in two
    panes, as each is higher than the window."""
    pictures = tuple(Rect(at * 100, 0, at * 100 + 80, 160) for at in range(5))
    view, last = Viewport(Rect(0, 0, 480, 160), 2, 60, 30, 1).clamped(), None
    brought = []
    for _ in range(2 * len(pictures)):
        view, last = jumped(view, Focus(places=pictures), last)
        seen = view.visible()
        brought += [at for at, picture in enumerate(pictures) if seen.x0 <= picture.x0 and picture.x1 <= seen.x1]
    assert set(brought) == set(range(5))


def test_a_picture_larger_than_the_window_is_brought_up_pane_by_pane():
    """Of 60 × 70 λ in a window of 40 × 44 half-pixels two by two panes: each part of it is in one of them."""
    focus = Focus(places=(Rect(0, 0, 120, 140), Rect(300, 0, 310, 10)))
    view = Viewport(snapped(Rect(0, 0, 400, 140), 2), 2, 40, 22, 1).centred(400, 140)
    panes = panes_of(view, focus)
    assert len(panes) == 5
    assert panes[-1] == focus.places[1]
    assert all(any(pane.contains(x, y) for pane in panes[:4]) for x in range(0, 120, 7) for y in range(0, 140, 7))
    last, reached = None, set()
    for _ in panes:
        view, last = jumped(view, focus, last)
        reached |= {pane for pane in panes if pane not in out_of_view(view, focus)}
    assert reached == set(panes)


def test_a_whole_die_is_one_place():
    """It would take hundreds of panes, so one key goes over none of it; a cell is gone over, pane by pane."""
    die = Rect(0, 0, 4000, 4000)
    view = Viewport(snapped(die, 2), 2, 40, 22, 1)
    assert panes_of(view, Focus(places=(die,))) == (die,)
    assert out_of_view(view, Focus(places=(die,))) == ()
    cell = Rect(0, 0, 140, 130)
    near = Viewport(snapped(cell, 2), 2, 40, 22, 1)
    assert len(out_of_view(near, Focus(places=(cell,)))) > 1


def kept_contrast(scale, phases=200):
    """
    The least contrast that is left of squares of 2 λ, 2 λ apart, each pixel being the mean of what lies in it, over all
    phases: of any square its darkest pixel against the brightest of the gap beside it. Arithmetic of sampling.
    """

    def dark(to):
        return to // 4 * 2 + min(to % 4, 2)

    wide, least = 1 / scale, 1.0
    for phase in (at * wide / phases for at in range(phases)):
        edges = [phase + at * wide for at in range(int(60 * scale))]
        shares = [(low, high, (dark(high) - dark(low)) / wide) for low, high in pairwise(edges)]
        for square in range(8, 40, 4):
            darkest = max(share for low, high, share in shares if high > square and low < square + 2)
            gap = min(share for low, high, share in shares if high > square + 2 and low < square + 4)
            least = min(least, darkest - gap)
    return least


def test_what_is_reduced_still_shows_every_contact():
    """Reduced, contacts keep two thirds of their contrast at worst; at ½ they may keep nothing."""
    assert kept_contrast(1) == pytest.approx(1.0, abs=0.02)
    assert all(kept_contrast(scale) > 2 / 3 for scale in REDUCED)
    assert kept_contrast(0.5) == pytest.approx(0.0, abs=0.02)


@pytest.mark.parametrize(("wide", "high"), [(31, 57), (57, 31), (59, 40), (38, 63)])
def test_one_of_several_pictures_is_seen_whole_in_the_smallest_window(wide, high):
    """Up to 63 × 63 λ it has room beside the words of 80 × 24; pictures of one size lie dot on dot."""
    pictures = tuple(Rect(at * 140 + at % 2, 0, at * 140 + at % 2 + 2 * wide, 2 * high) for at in range(3))
    focus = Focus(
        (Rect(0, 0, 420, 2 * high), pictures[0]), places=pictures, pictures=pictures, whole=Rect(0, 0, 420, 130)
    )
    view, last = starting(snapped(focus.whole, 2), 2, 46, 22, focus), None
    seen = []
    for _ in pictures:
        assert view.whole
        assert view.shows(view.alone)
        assert view.scale in (*REDUCED, 1)
        seen.append((view.alone, view.left, view.top, view.scale))
        view, last = jumped(view, focus, last)
    assert [each[0] for each in seen] == list(pictures)
    assert len({each[1:] for each in seen}) == 1
    closer = view.zoomed(2).panned(5, 4)
    after, _ = jumped(closer, focus, last)
    assert (after.left, after.top, after.scale) == (closer.left, closer.top, closer.scale)
    assert after.alone == pictures[1]


def test_a_picture_too_large_to_be_seen_whole_is_gone_through_pane_by_pane():
    """Of 60 × 90 λ two panes each, at 1 half-pixel a λ; the key goes over all of them."""
    pictures = (Rect(0, 0, 120, 180), Rect(140, 0, 260, 180))
    focus = Focus((Rect(0, 0, 260, 180), pictures[0]), places=pictures, pictures=pictures, whole=Rect(0, 0, 260, 180))
    view, last = starting(snapped(focus.whole, 2), 2, 46, 22, focus), None
    panes = panes_of(view, focus)
    assert len(panes) > 4
    reached = set()
    for _ in panes:
        reached |= {pane for pane in panes if pane not in out_of_view(view, focus)}
        assert view.scale == 1
        view, last = jumped(view, focus, last)
    assert reached == set(panes)
