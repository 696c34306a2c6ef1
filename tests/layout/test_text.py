"""The canonical text of a layout."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from layoutdrill.errors import LayoutdrillError
from layoutdrill.geometry.rect import Rect
from layoutdrill.geometry.transform import Transform
from layoutdrill.layout.model import Label, Layout, Placement
from layoutdrill.layout.text import layout_text, parse_layout

TEXT = """\
layout two inverters
metal 0 0 4 8
metal 10 0 14 8
poly 1 -2 3 10
label metal 2 4 A
label metal 2 6 odd \\\\ name\\nwith two lines
"""


def drawn():
    cell = Layout("cell", {"metal": (Rect(0, 0, 4, 8),)}, (Label("inner", "metal", 0, 0),))
    labels = (Label("odd \\ name\nwith two lines", "metal", 2, 6), Label("A", "metal", 2, 4))
    placed = (Placement(cell, Transform(10, 0)), Placement(cell))
    return Layout("two inverters", {"poly": (Rect(1, -2, 3, 10),)}, labels, placed)


def test_one_line_a_rectangle_sorted():
    """References are flattened, order does not count, a label may hold anything."""
    assert layout_text(drawn()) == TEXT


def test_read_back():
    """Reading and writing again gives the same bytes."""
    assert layout_text(parse_layout(TEXT)) == TEXT
    assert parse_layout(TEXT).labels[1].text == "odd \\ name\nwith two lines"


@given(st.text(), st.text(min_size=1))
def test_any_name_survives(name, label):
    """Names and labels of any characters come back."""
    layout = Layout(name, {"m": (Rect(0, 0, 1, 1),)}, (Label(label, "m", 0, 0),))
    assert parse_layout(layout_text(layout)) == layout


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("", 'x: an empty layout text; start it with "layout NAME"'),
        ("metal 0 0 1 1\n", 'x:1: the first line must be "layout NAME"'),
        ("layout a\nmetal 0 0 1\n", "x:2: a rectangle needs a layer and x0 y0 x1 y1"),
        ("layout a\nmetal 0 0 1 b\n", 'x:2: "0 0 1 b" are not whole numbers'),
        ("layout a\nmetal 5 0 1 1\n", "x:2: a rectangle without area; write x0 < x1 and y0 < y1"),
        ("layout a\nlabel metal 5\n", "x:2: a label needs a layer, x, y and a text"),
    ],
)
def test_errors_name_the_line(text, message):
    """What is wrong, and on which line."""
    with pytest.raises(LayoutdrillError) as caught:
        parse_layout(text, "x")
    assert str(caught.value) == message
