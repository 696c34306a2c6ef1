"""The overview of a whole die: dots where one has looked closely, and the letters of what is asked."""

from itertools import pairwise

from PIL import Image

from layoutdrill.drill.visited import ACROSS, LARGE, Visited, is_large
from layoutdrill.geometry.rect import Rect
from layoutdrill.picture.overlay import Overlay, Tag
from layoutdrill.screens.frame import BEYOND, EDGE, OnOverview, inset
from layoutdrill.screens.painting import dots_of, letters_on
from layoutdrill.screens.subject import Indexed, Subject
from layoutdrill.screens.viewport import Viewport, snapped
from tests.screens.fakes import specimen

BOX = Rect(0, 0, 2400, 2400)


def overview(wide, high):
    return Indexed(Image.new("P", (wide, high), 0), [(90, 90, 90)])


def test_a_field_looked_at_is_dotted_where_it_lies():
    """The lower left field gives a dot at the lower left of a large overview, and none elsewhere."""
    visited = Visited()
    visited.note(BOX, Rect(0, 0, 90, 90))
    small = overview(72, 48)
    ((x, y),) = dots_of(small, visited)
    assert x < 72 // ACROSS
    assert y >= 48 - 48 // ACROSS
    out = Image.new("P", (100, 60), BEYOND)
    left, top, *_ = inset(out, small, (30, 20, 40, 30), at=(10, 5), marked=OnOverview(been=[(x, y)]))
    assert out.getpixel((left + 1 + x, top + 1 + y)) == EDGE
    assert not dots_of(small, None)


def test_a_small_overview_is_not_hidden_by_its_dots():
    """Where fields are smaller than two pixels, no two dots touch, so that the picture below stays to be seen."""
    visited = Visited()
    visited.note(BOX, BOX)
    assert len(visited.fields) == ACROSS**2
    dots = set(dots_of(overview(20, 20), visited))
    assert 150 <= len(dots) <= 200
    assert not any((x + 1, y) in dots or (x, y + 1) in dots for x, y in dots)


def test_letters_stand_on_a_large_overview():
    """A mark's letter stands over the place that it marks, in the middle of the window."""
    view = Viewport(BOX, 2, 80, 24, 1)
    overlay = Overlay(marks=(Tag("P", 0, 0), Tag("Q", 2399, 2399)))
    notes = letters_on(view, overview(60, 40), Subject(specimen().face, overlay=overlay))
    where = {note.text: (note.column, note.row) for row in notes.values() for note in row}
    assert where["P"][0] < where["Q"][0]
    assert where["P"][1] > where["Q"][1]
    assert all(note.strong for row in notes.values() for note in row)


def test_what_is_outlined_is_named_on_a_large_overview():
    """A net by its name on its wire, a transistor by its number on its channel; what would touch is left out."""
    face = specimen().face
    view = Viewport(snapped(face.box, 2), 2, 80, 24, 1)
    overlay = Overlay(nets=(("Y", "Y"),), transistors=(("M1", "1"), ("M2", "2")))
    notes = letters_on(view, overview(70, 44), Subject(face, overlay=overlay))
    where = {note.text: (note.column, note.row) for row in notes.values() for note in row}
    assert set(where) == {"Y", "1", "2"}
    assert where["1"][1] > where["2"][1]
    assert where["Y"][0] > where["1"][0]
    tiny = letters_on(view, overview(4, 4), Subject(face, overlay=overlay))
    for row in tiny.values():
        places = sorted(note.column for note in row)
        assert all(b - a > 1 for a, b in pairwise(places))


def test_a_cell_is_not_large_and_a_die_is():
    """The map serves drawings that one goes over from place to place."""
    assert not is_large(Rect(0, 0, 2 * LARGE, 200), 2)
    assert is_large(Rect(0, 0, 2 * LARGE + 1, 200), 2)
