"""Looks are data: those that ship load, an author can add one, and mistakes are told with their place."""

import pytest

from layoutdrill.errors import LayoutdrillError
from layoutdrill.picture.looks import load_look, look_names
from layoutdrill.picture.render import render
from layoutdrill.picture.shot import Shot
from layoutdrill.picture.view import View
from layoutdrill.process import load_process
from layoutdrill.process.load import ROLES
from tests.picture.lookalikes import look_alikes

MINE = """name: mine
title: my own
about: Poly in orange on grey.
style: flat
ground: "#808080"
paints:
  - {role: poly, fill: "#ff8000"}
"""


def test_the_five_looks_ship():
    """Reflected, transmitted, stick colours, ink and high contrast load, each under its own name."""
    assert set(look_names()) >= {"reflected-light", "transmitted-light", "stick-colours", "ink", "high-contrast"}
    for name in look_names():
        assert load_look(name).name == name
        assert load_look(name).about


def test_painted_looks_show_every_role_that_is_seen():
    """A painted look has a paint for every role but markers and dopings, which only tell apart."""
    seen = set(ROLES) - {"marker", "n-doping", "p-doping"}
    for name in look_names():
        look = load_look(name)
        if look.paints:
            assert seen <= {paint.role for paint in look.paints}, name


def test_an_author_can_add_a_look(tmp_path):
    """A YAML file of seven lines is a look: ground and poly have its colours."""
    path = tmp_path / "mine.yaml"
    path.write_text(MINE, encoding="utf-8")
    process = load_process("silicon-gate-cmos")
    drawn = look_alikes(process)
    view = View.whole(drawn.layout, process, 4)
    image = render(drawn.layout, process, Shot(load_look(str(path)), view))
    assert image.getpixel((0, 0)) == (128, 128, 128)
    column, row = view.to_pixel(process, *drawn.transistor.centre)
    assert image.getpixel((int(column), int(row))) == (255, 128, 0)


@pytest.mark.parametrize(
    ("old", "new", "place", "words"),
    [
        ("style: flat", "style: flatt", ":4:8:", 'did you mean "flat"'),
        ("role: poly", "role: pole", ":7:12:", 'did you mean "poly"'),
        ('"#ff8000"', '"orange"', ":7:24:", "#rrggbb"),
        ("fill:", "filling:", ":7:18:", 'did you mean "fill"'),
        ('fill: "#ff8000"', 'fill: "#ff8000", tint: "#ffffff"', ":7:24:", 'either "tint" or "fill"'),
        ("paints:\n", "paint:\n", ":6:1:", 'did you mean "paints"'),
        ("style: flat", "style: reflected", ":7:3:", 'no "paints"'),
        ("title: my own\n", "", ":1:1:", '"title" is missing'),
    ],
)
def test_mistakes_are_told_with_their_place(tmp_path, old, new, place, words):
    """Each slip in a look is one line: file, line and column, what is wrong and what to do."""
    assert old in MINE
    path = tmp_path / "mine.yaml"
    path.write_text(MINE.replace(old, new), encoding="utf-8")
    with pytest.raises(LayoutdrillError) as caught:
        load_look(str(path))
    assert place in str(caught.value)
    assert words in str(caught.value)


def test_an_unknown_look_is_refused():
    """A wrong name brings the nearest one."""
    with pytest.raises(LayoutdrillError, match='did you mean "reflected-light"'):
        load_look("reflected-ligth")
    with pytest.raises(LayoutdrillError, match="no look"):
        load_look("../looks/ink")
