"""Views: size and place of a region on an image. Arithmetic only, so no outside source."""

import pytest

from layoutdrill.geometry.rect import Rect
from layoutdrill.layout.model import Layout
from layoutdrill.picture.view import View
from layoutdrill.process import load_process

CMOS = load_process("silicon-gate-cmos")
LAMBDA = CMOS.grid_per_lambda


def test_a_whole_view_holds_the_drawing_and_its_margin():
    """A 50 × 30 λ drawing with 2 λ of ground all round is 54 × 34 λ."""
    layout = Layout("box", {"metal": (Rect(3, 5, 3 + 50 * LAMBDA, 5 + 30 * LAMBDA),)})
    view = View.whole(layout, CMOS, 3)
    assert view.size(CMOS) == (3 * 54, 3 * 34)
    assert view.region.covers(layout.box)


def test_an_empty_drawing_has_a_view():
    """Of the ground alone, at least a pixel."""
    assert min(View.whole(Layout("none", {}), CMOS, 1, margin=0).size(CMOS)) == 1


@pytest.mark.parametrize("zoom", [1, 2, 3, 8, 0.5])
def test_every_lambda_has_the_same_pixels(zoom):
    """From the upper left corner, columns to the right and rows down."""
    view = View(Rect(0, 0, 40 * LAMBDA, 20 * LAMBDA), zoom)
    assert view.to_pixel(CMOS, 0, 20 * LAMBDA) == (0, 0)
    assert view.to_pixel(CMOS, 6 * LAMBDA, 16 * LAMBDA) == (6 * zoom, 4 * zoom)
    assert view.size(CMOS) == (40 * zoom, 20 * zoom)
