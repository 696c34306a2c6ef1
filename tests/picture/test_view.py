"""Views: opening, pan and zoom keep layout and pixels aligned."""

import pytest

from layoutdrill.errors import LayoutdrillError
from layoutdrill.geometry.rect import Rect
from layoutdrill.layout.model import Layout
from layoutdrill.picture.view import ZOOMS, View
from layoutdrill.process import load_process

CMOS = load_process("silicon-gate-cmos")


def drawing(width, height):
    return Layout("box", {"metal": (Rect(3, 5, 3 + 2 * width, 5 + 2 * height),)})


def test_opening_view_shows_all_of_a_small_drawing():
    """A 50 × 30 λ drawing fits 120 × 80 pixels at 2 pixels per λ, and all of it is in view."""
    layout = drawing(50, 30)
    view = View.opening(layout, CMOS, 120, 80)
    assert view.pixels_per_lambda == 2
    assert view.size(CMOS) == (120, 80)
    assert view.region.covers(layout.box)


def test_opening_view_never_goes_below_one_pixel_per_lambda():
    """A drawing larger than the window opens on its middle at one half-pixel per λ: below that contacts vanish."""
    layout = drawing(1000, 700)
    view = View.opening(layout, CMOS, 120, 80)
    assert view.pixels_per_lambda == 1
    assert abs(view.region.centre[0] - layout.box.centre[0]) <= CMOS.grid_per_lambda
    assert view.size(CMOS) == (120, 80)


def test_empty_drawings_and_no_room():
    """An empty layout has a view; a window without room is refused in words."""
    assert View.opening(Layout("none", {}), CMOS, 10, 10).size(CMOS) == (10, 10)
    with pytest.raises(LayoutdrillError, match="no room"):
        View.opening(drawing(1, 1), CMOS, 0, 10)


@pytest.mark.parametrize("zoom", ZOOMS)
def test_every_view_is_aligned_to_lambda(zoom):
    """Centred on any point, the upper left corner lies on a whole λ, so every λ has the same pixels."""
    view = View(Rect(0, 0, 10, 10), zoom, 97, 61).centred(CMOS, 37, 23)
    assert view.region.x0 % CMOS.grid_per_lambda == 0
    assert view.region.y1 % CMOS.grid_per_lambda == 0
    column, row = view.to_pixel(CMOS, view.region.x0 + 2 * CMOS.grid_per_lambda, view.region.y1)
    assert (column, row) == (2 * zoom, 0)


def test_pan_and_zoom_come_back():
    """Panning there and back, and zooming in and out about a point, returns to the same view."""
    view = View.opening(drawing(50, 30), CMOS, 120, 80)
    assert view.panned(CMOS, 3, -2).panned(CMOS, -3, 2) == view
    inside = view.zoomed(CMOS, 2, view.region.centre)
    assert inside.pixels_per_lambda > view.pixels_per_lambda
    back = inside.zoomed(CMOS, -2, view.region.centre)
    assert back.pixels_per_lambda == view.pixels_per_lambda
    assert abs(back.region.x0 - view.region.x0) <= 2 * CMOS.grid_per_lambda


def test_pixels_and_grid_are_inverse():
    """A grid point found from its own pixel is the same point."""
    view = View.opening(drawing(50, 30), CMOS, 120, 80)
    for point in ((3, 5), (40, 31), (77, 60)):
        assert view.to_grid(CMOS, *view.to_pixel(CMOS, *point)) == point


def test_tolerance_is_a_pixel_at_least():
    """Pointing on a small picture is forgiven by a λ, on a large one by half a λ."""
    assert View(Rect(0, 0, 9, 9), 1).tolerance(CMOS) == CMOS.grid_per_lambda
    assert View(Rect(0, 0, 9, 9), 8).tolerance(CMOS) == CMOS.grid_per_lambda // 2
