"""The eight orientations."""

from layoutdrill.geometry.rect import Rect, bounding_box
from layoutdrill.geometry.transform import Transform
from tests.each import each

EIGHT = [Transform(7, -3, turns, mirrored) for turns in range(4) for mirrored in (False, True)]


@each("outer", EIGHT)
@each("inner", EIGHT)
def test_after_is_one_after_the_other(outer, inner):
    """Composing two transforms moves a point as one after the other does."""
    both = outer.after(inner)
    for point in ((0, 0), (5, 2), (-3, 11)):
        assert both.point(*point) == outer.point(*inner.point(*point))


def test_mirror_comes_before_the_turn():
    """As in a GDSII reference: first mirror about x, then turn anticlockwise (Calma stream format, from memory)."""
    assert Transform(0, 0, 1, mirrored=True).point(2, 1) == (1, 2)
    assert Transform(10, 20, 1).point(2, 1) == (9, 22)


@each("transform", EIGHT)
def test_rect_keeps_its_area(transform):
    """A transformed rectangle holds the transformed corners."""
    rect = Rect(1, 2, 4, 9)
    moved = transform.rect(rect)
    assert moved.area == rect.area
    assert moved.contains(*transform.point(1, 2))
    assert moved.contains(*transform.point(4, 9))


def test_bounding_box():
    """Round none there is no box."""
    assert bounding_box([]) is None
    assert bounding_box([Rect(0, 0, 1, 1), Rect(5, -2, 6, 0)]) == Rect(0, -2, 6, 1)
