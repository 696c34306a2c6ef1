"""The rule check flags what breaks a rule and nothing else."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.geometry import box
from shapely.ops import unary_union

from layoutdrill.errors import LayoutdrillError
from layoutdrill.geometry.rect import Rect
from layoutdrill.layout.model import Layout
from layoutdrill.process import load_process
from layoutdrill.rules import check
from tests.each import each
from tests.sampling import examples

PROCESS = load_process("silicon-gate-cmos")


def broken(**shapes):
    layout = Layout("t", {layer: tuple(Rect(*r) for r in rects) for layer, rects in shapes.items()})
    return {violation.rule for violation in check(layout, PROCESS)}


# Rectangles are in λ/2: metal must be 6 wide and 6 apart, poly 4 wide and 4 apart, contacts 4 square.
@each(
    ("shapes", "rules"),
    [
        ({"metal": [(0, 0, 6, 40)]}, set()),
        ({"metal": [(0, 0, 5, 40)]}, {"metal.width"}),
        ({"metal": [(0, 0, 3, 40), (3, 0, 6, 40)]}, set()),
        ({"metal": [(0, 0, 6, 40), (12, 0, 18, 40)]}, set()),
        ({"metal": [(0, 0, 6, 40), (11, 0, 17, 40)]}, {"metal.spacing"}),
        ({"metal": [(0, 0, 6, 6), (6, 6, 12, 12)]}, {"metal.spacing"}),
        ({"metal": [(0, 0, 6, 6), (10, 10, 16, 16)]}, {"metal.spacing"}),
        ({"metal": [(0, 0, 6, 6), (11, 10, 17, 16)]}, set()),
        ({"metal": [(0, 0, 6, 40), (0, 34, 30, 40), (11, 0, 17, 40)]}, {"metal.spacing"}),
        ({"metal": [(0, 0, 6, 20), (0, 14, 20, 20), (8, 14, 14, 40)]}, set()),
        ({"metal": [(0, 0, 8, 8)], "poly": [(0, 0, 8, 8)], "contact": [(2, 2, 6, 6)]}, set()),
        ({"metal": [(0, 0, 8, 8)], "poly": [(0, 0, 8, 8)], "contact": [(2, 2, 6, 7)]},
         {"contact.size", "contact.poly", "contact.metal"}),
        ({"metal": [(0, 0, 8, 8)], "poly": [(1, 0, 8, 8)], "contact": [(2, 2, 6, 6)]}, {"contact.poly"}),
        ({"metal": [(0, 0, 8, 8)], "contact": [(2, 2, 6, 6)]}, {"contact.landing"}),
    ],
)  # fmt: skip
def test_legal_figures_pass_and_the_next_smaller_ones_do_not(shapes, rules):
    """Each figure is met exactly by the legal drawing and missed by half a λ in the other."""
    assert broken(**shapes) == rules


def transistor(**changed):
    shapes = {
        "active": [(0, 0, 24, 12)],
        "nselect": [(-4, -4, 28, 16)],
        "poly": [(10, -4, 14, 16)],
    }
    return broken(**{**shapes, **changed})


@each(
    ("changed", "rules"),
    [
        ({}, set()),
        ({"poly": [(10, -3, 14, 16)]}, {"poly.past-active"}),
        ({"poly": [(10, -4, 14, 12)]}, {"poly.past-active", "active.past-poly"}),
        ({"poly": [(5, -4, 9, 16)]}, {"active.past-poly"}),
        ({"poly": [(10, -4, 14, 16), (4, 13, 14, 17)]}, {"poly.active"}),
        ({"poly": [(10, -4, 14, 16), (4, 14, 14, 18)]}, set()),
        ({"nselect": [(-3, -4, 28, 16)]}, {"select.past-active-n"}),
        ({"nselect": []}, {"active.implanted", "gate.implanted"}),
        ({"pselect": [(-4, -4, 28, 16)], "nselect": []}, {"gate.implanted", "tap.contacted"}),
    ],
)
def test_a_transistor_is_checked_where_its_layers_cross(changed, rules):
    """Gates must reach past the active area and active past the gate; implants must be there, of the right sort."""
    assert transistor(**changed) == rules


def test_a_contact_keeps_away_from_a_gate():
    """A contact to active 2 λ from the gate is legal, one at 1.5 λ is not (Mead & Conway, SCMOS 6.4)."""
    assert transistor(contact=[(2, 4, 6, 8)], metal=[(-20, 2, 12, 10)]) == set()
    assert transistor(contact=[(3, 4, 7, 8)], metal=[(-20, 2, 12, 10)]) == {"contact.gate"}


rects = st.builds(
    lambda x, y, w, h: (x, y, x + w, y + h),
    st.integers(0, 30), st.integers(0, 30), st.integers(6, 16), st.integers(6, 16),
)  # fmt: skip


@settings(max_examples=examples(150), deadline=None)
@given(rects, rects)
def test_spacing_agrees_with_a_geometry_library(a, b):
    """Two rectangles break the spacing rule exactly when shapely's distance between them is short of it."""
    union = unary_union([box(*a), box(*b)])
    apart = union.geom_type == "MultiPolygon"
    distance = box(*a).distance(box(*b))
    assert ("metal.spacing" in broken(metal=[a, b])) == (apart and distance < 6)


@settings(max_examples=examples(150), deadline=None)
@given(rects, rects)
def test_width_agrees_with_a_geometry_library(a, b):
    """
    A union is nowhere too narrow exactly when shapely's opening by a square of the least width leaves it whole.

    Squares are mitred buffers. Widths are whole numbers, so a square of 5.5 tells 5 from the 6 that is asked for.
    """
    union = unary_union([box(*a), box(*b)])
    opened = union.buffer(-2.75, join_style="mitre").buffer(2.75, join_style="mitre")
    assert ("metal.width" in broken(metal=[a, b])) == (union.difference(opened.buffer(1e-5)).area > 1e-3)


def test_a_violation_is_told_in_words_with_its_place():
    """What is wrong, in λ, and the rectangle where it is."""
    layout = Layout("t", {"metal": (Rect(0, 0, 6, 40), Rect(10, 0, 16, 40))})
    (violation,) = check(layout, PROCESS)
    assert violation.text == "two edges of metal closer than 3 λ"
    assert violation.place == Rect(6, 0, 10, 40)


def test_checking_does_not_depend_on_how_a_shape_is_cut():
    """A wire in two halves is the same wire."""
    whole = broken(metal=[(0, 0, 6, 40), (9, 0, 15, 40)])
    assert whole == broken(metal=[(0, 0, 6, 17), (0, 17, 6, 40), (9, 0, 15, 21), (9, 15, 15, 40)])


def test_an_empty_layout_breaks_nothing():
    """Nothing drawn, nothing wrong."""
    assert check(Layout("t", {}), PROCESS) == ()


def test_a_layout_beyond_all_bounds_is_refused():
    """The check says so instead of filling the memory."""
    far = Layout("t", {"metal": (Rect(0, 0, 6, 40), Rect(10**6, 10**6, 10**6 + 6, 10**6 + 6))})
    with pytest.raises(LayoutdrillError, match="too large to check"):
        check(far, PROCESS)
