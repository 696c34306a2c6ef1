"""A section shows the films in true order and thickness, and the table says the same as the figure."""

from itertools import pairwise

import pytest

from layoutdrill.cells import load_cell
from layoutdrill.face import DrawnFace, Light
from layoutdrill.face.section import SectionFace
from layoutdrill.geometry.rect import Rect
from layoutdrill.layout.model import Layout
from layoutdrill.picture.looks import load_look
from layoutdrill.picture.section import COLOURS, HEIGHTS, Section, section_line, section_table, spans
from layoutdrill.picture.view import View
from layoutdrill.process import load_process, process_names
from layoutdrill.process.films import load_films
from layoutdrill.prove import proved
from tests.each import each


@each("name", process_names())
def test_junctions_are_stated_with_their_source(name):
    """Each doping has a source, and a depth within what was usual (common practice): 50 nm to 3 µm, wells to 10 µm."""
    for junction in load_films(load_process(name)).junctions:
        assert junction.source
        assert 50 <= junction.nm <= (10_000 if "well" in junction.name else 3000)


def test_films_have_their_order_and_thickness():
    """Over a gate, measured in the figure's pixels from the top: glass 300, poly 430, oxide 50 nm, within a pixel."""
    process = load_process("silicon-gate-cmos")
    layout = Layout(
        "gate", {"active": (Rect(0, 0, 40, 8),), "nselect": (Rect(-4, -4, 44, 12),), "poly": (Rect(16, -4, 24, 12),)}
    )
    section = Section(layout, process, 4, -4, 44)
    scale = 40.0
    image = section.image(Rect(18, section.box.y0, 22, section.box.y1), scale)
    column = [image.getpixel((image.width // 2, y)) for y in range(image.height)]
    per_pixel = process.grid_nm / HEIGHTS / scale

    def thickness(colour):
        return sum(pixel == colour for pixel in column) * per_pixel

    assert thickness(COLOURS["poly"]) == pytest.approx(430, abs=3 * per_pixel)
    assert thickness(COLOURS["oxide"]) == pytest.approx(350, abs=4 * per_pixel)
    assert column.index(COLOURS["oxide"]) < column.index(COLOURS["poly"])


@each("name", [n for n in process_names() if load_process(n).drawing])
def test_the_table_covers_the_line_and_names_what_lies_there(name):
    """Stretches follow one another without a gap; along the line of a cell there is a gate or contact and metal."""
    process = load_process(name)
    cell = "nor2" if "cmos" not in name and "sapphire" not in name else "nand2"
    found = proved(load_cell(cell).netlist(process), process, 2)
    face = SectionFace.of_line(DrawnFace(found.layout, process, found.extraction), "auto")
    y, box = section_line(found.layout, process, found.extraction), found.layout.box
    along = spans(found.layout, process, y, box.x0, box.x1)
    assert along[0].x0 == box.x0
    assert along[-1].x1 == box.x1
    assert all(a.x1 == b.x0 for a, b in pairwise(along))
    assert any(span.metals for span in along)
    lines = section_table(found.layout, process, y, box.x0, box.x1)
    assert len(lines) == len(along) + 1
    assert any("metal" in line for line in lines)
    assert face.grid_lines()[0].startswith("Cut along")


def test_a_section_is_a_face():
    """It has a picture of whatever size a view asks for, and shows no facts to ask about."""
    process = load_process("silicon-gate-cmos")
    found = proved(load_cell("inverter").netlist(process), process, 2)
    face = SectionFace.of_line(DrawnFace(found.layout, process, found.extraction), "20")
    view = View(face.box, 3)
    light = Light(load_look("reflected-light"))
    assert face.image(view, light).size == view.size(process)
    assert face.shows(light) == frozenset()
