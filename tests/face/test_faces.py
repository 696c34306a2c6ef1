"""What is shown is known by its face alone: a face that is no drawing is asked about, answered and told like one."""

import io
from functools import cached_property

import pytest
from PIL import Image

from layoutdrill.dice import Dice
from layoutdrill.drill.plain_hints import hint_lines
from layoutdrill.face import DrawnFace, Unit, face_again
from layoutdrill.face.model import Light
from layoutdrill.picture.evidence import Fact
from layoutdrill.picture.looks import load_look
from layoutdrill.picture.view import View
from layoutdrill.question import HintStep, Specimen, ask_in_look, kinds
from layoutdrill.question.dispute import dispute_report
from layoutdrill.screens.subject import Subject, paint
from tests.question.conftest import drawn

LOOK = load_look("reflected-light")


class PixelFace:
    """A picture in a file with what somebody marked on it; nothing here has a layout to fall back on."""

    def __init__(self, of: DrawnFace) -> None:
        self.name, self.process, self.extraction, self.box = "pixels", of.process, of.extraction, of.box
        self.unit = Unit(1, "px")
        self.layers, self.metal, self.follows_light = (), frozenset(), False
        whole = View(of.box, of.process.grid_per_lambda)
        file = io.BytesIO()
        of.image(whole, Light(LOOK)).save(file, "PNG")
        self._picture = Image.open(file)
        self._marked = of

    @cached_property
    def scene(self):
        return self._marked.scene

    def image(self, view, light):
        left, top = view.region.x0 - self.box.x0, self.box.y1 - view.region.y1
        area = (left, top, left + view.region.width, top + view.region.height)
        return self._picture.crop(area).resize(view.size(self.process))

    def shows(self, light, wanted=None):
        return frozenset(Fact if wanted is None else wanted)

    def shades(self, light):
        return ()

    def stitched_at(self, x, y):
        return x, y

    def is_clear(self, light, x, y):
        return True

    def text(self):
        return "pixels and marks\n"

    def grid_lines(self, lifted=frozenset(), letters=None):
        return ["a picture: no grid"]

    def shape_lines(self):
        return ["what was marked"]

    def meeting_lines(self):
        return ["nothing meets"]

    def at_point(self, x, y):
        return "a marked wire"


def pixel_specimen(cell):
    made = drawn(cell, "silicon-gate-cmos", 1)
    return Specimen(cell, made.structure, (), PixelFace(made.face), made.netlist, "", "", 1, ports=made.ports)


@pytest.fixture(scope="module")
def pixels():
    return pixel_specimen("nand2")


SUITING = {"sequence": "latch_gates", "address": "half_adder"}
DRAWN_ONLY = {"turned or not", "dust or contact", "across a seam", "two stages", "block", "board log", "fault"}
"""Kinds that change the picture of the cell, or take another of it: with a picture in a file that cannot be done."""


@pytest.mark.parametrize("name", sorted(DRAWN_ONLY))
def test_what_takes_a_drawing_passes_another_face_over(pixels, name):
    """The kind does not fit, and says so instead of failing."""
    assert kinds()[name].ask(pixels, Dice(3)) is None


@pytest.mark.parametrize("name", [name for name in kinds() if name not in DRAWN_ONLY])
def test_every_kind_asks_about_any_face(pixels, name):
    """Asked, accepted, graded right and wrong, and reported, with places in the unit of the face."""
    kind = kinds()[name]
    specimen = pixel_specimen(SUITING[name]) if name in SUITING else pixels
    question = ask_in_look(kind, specimen, Dice(3), LOOK)
    right = kind.solution(question)
    assert kind.grade(question, right).credit == 1
    assert "pixels and marks" in dispute_report(question, right, kind.grade(question, right))
    assert "λ" not in question.prompt


def test_a_face_is_painted_by_itself(pixels):
    """The screen's picture is the face's own, cut to the view."""
    box = pixels.face.box
    image = paint(Subject(pixels.face), box, pixels.process.grid_per_lambda)
    assert image.size == (box.width, box.height)
    assert len(image.getcolors(1 << 20)) > 8


def test_plain_mode_tells_what_the_face_tells(pixels):
    assert "a picture: no grid" in hint_lines(HintStep.LIFT_METAL, pixels)
    box = pixels.extraction.channel(pixels.netlist.transistors[0].name)[0]
    assert pixels.face.unit.span(box) in " ".join(hint_lines(HintStep.DEVICES, pixels))


def test_a_drawn_face_comes_back_from_its_text():
    """Text, process: the same picture, the same places, the same facts."""
    face = drawn("nand2", "metal-gate-sapphire", 1).face
    again = face_again(face.text(), face.process)
    view = View(face.box, 2)
    assert again.text() == face.text()
    assert again.box == face.box
    assert again.shows(Light(LOOK)) == face.shows(Light(LOOK))
    assert again.image(view, Light(LOOK, 3)).tobytes() == face.image(view, Light(LOOK, 3)).tobytes()


def test_places_are_told_and_read_in_the_unit():
    """What is written can be typed, in λ and in another unit alike."""
    for unit in (Unit(2), Unit(4), Unit(1, "px")):
        for at in ((0, 0), (25, -13), (123457, 9)):
            assert unit.read(unit.at(*at)) == at
