"""Parts of a picture in words: what fills it, and where the rest lies."""

import pytest

from layoutdrill.face.unit import part_of
from layoutdrill.geometry.rect import Rect

BOX = Rect(0, 0, 100, 200)


@pytest.mark.parametrize(
    ("rect", "told"),
    [
        (Rect(0, 0, 100, 90), "the lower 45 % of the picture"),
        (Rect(-5, 120, 104, 230), "the upper 40 % of the picture"),
        (Rect(0, 0, 60, 200), "the left 60 % of the picture"),
        (Rect(70, 100, 100, 200), "the upper 50 %, right 30 % of the picture"),
        (Rect(0, 60, 100, 120), "the part from 30 to 60 % of the way from the bottom of the picture"),
        (Rect(-9, -9, 109, 209), "all of the picture"),
    ],
)
def test_where_a_well_lies_is_told_in_words(rect, told):
    """A reader of a picture knows up from down, but not where its λ are counted from."""
    assert part_of(BOX, rect) == told
