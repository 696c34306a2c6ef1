"""What plain text tells of a spot is measured against the outline of the metal, however it is cut into rectangles."""

from layoutdrill.geometry.rect import Rect
from layoutdrill.question.dirt import _edges_along, _measured

PER = 2
WHOLE = [Rect(0, 0, 40, 20)]
CUT = [Rect(0, 0, 40, 10), Rect(0, 10, 22, 20), Rect(22, 10, 40, 20)]
"""The same metal in three pieces, which meet below the spot."""
SPOT = (20.0, 8.0, 24.0, 12.0)


def test_the_measures_do_not_hang_on_how_the_metal_is_cut():
    """In the middle of a pad of 20 by 10 λ no edge is nearer than 5 λ."""
    told = {_measured(SPOT, 0, metal, PER) for metal in (WHOLE, CUT)}
    assert told == {"2.0 by 2.0 λ, no line along a side, its middle 5.0 λ inside the metal's edge"}


def test_where_two_pieces_meet_is_no_line():
    """A side of dust along a seam of two rectangles has no line; along the outline of the metal it has one."""
    assert _edges_along((22.0, 6.0, 26.0, 10.0), CUT, PER) == 0
    assert _edges_along((36.0, 4.0, 40.0, 8.0), CUT, PER) == 1


def test_far_from_any_edge_the_distance_does_not_matter():
    """Beyond 6 λ only that is told."""
    assert _measured((98.0, 98.0, 102.0, 102.0), 0, [Rect(0, 0, 200, 200)], PER).endswith(
        "more than 6 λ inside the metal's edge"
    )
