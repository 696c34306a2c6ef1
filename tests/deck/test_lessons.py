"""The lessons say nothing that their own drawings do not bear out."""

import re
from textwrap import wrap

import pytest

from layoutdrill.cells import load_cell
from layoutdrill.deck import Arrangement, lesson_names
from layoutdrill.deck.specimen import drawn, pictured
from layoutdrill.deck.write import deck_text
from layoutdrill.geometry.rect import bounding_box
from layoutdrill.netlist.model import Kind
from layoutdrill.picture.looks import load_look
from layoutdrill.picture.pen import Pen, as_layout
from layoutdrill.picture.perception import lightness
from layoutdrill.picture.render import render
from layoutdrill.picture.shot import Shot
from layoutdrill.picture.view import View
from layoutdrill.process import load_process
from layoutdrill.question.sight import is_ring
from tests.drawings import deck_of
from tests.picture.legibility import mean_colour

TAUGHT = tuple(
    dict.fromkeys(
        process for lesson in ("n-and-p", "n-and-p-elsewhere") for item in deck_of(lesson).items
        for process in item.processes
    )
)  # fmt: skip


def tone(process, look, kind, lot):
    pen = Pen(process)
    view = View(pen.box(0, 0, 12, 8), 2)
    image = render(as_layout("island", pen.island(kind)), process, Shot(load_look(look), view, seed=lot))
    return lightness(mean_colour(image, (4, 4, 20, 12)))


@pytest.mark.parametrize("name", TAUGHT)
@pytest.mark.parametrize("look", ["stick-colours", "ink"])
def test_n_is_the_lighter_one(name, look):
    """As the lesson on n and p says of these looks, by 4 L* or more."""
    process = load_process(name)
    assert tone(process, look, "n", 0) - tone(process, look, "p", 0) >= 4


@pytest.mark.parametrize("name", TAUGHT)
def test_on_a_die_now_n_and_now_p_is_the_lighter(name):
    """As the lesson says of the microscope: the two differ by 4 L* in every lot, but not always the same way round."""
    process = load_process(name)
    apart = [
        tone(process, "reflected-light", "n", lot) - tone(process, "reflected-light", "p", lot) for lot in range(16)
    ]
    assert all(abs(difference) >= 4 for difference in apart)
    assert {difference > 0 for difference in apart} == {True, False}


def test_n_is_the_darker_one_in_high_contrast():
    """That look has it the other way round, as the lesson says."""
    for name in TAUGHT:
        process = load_process(name)
        assert tone(process, "high-contrast", "p", 0) > tone(process, "high-contrast", "n", 0)


def test_the_p_row_is_mostly_the_wider_one():
    """In silicon gate, of 24 drawings at least 20 have wider p channels (common practice: holes are slower)."""
    wider = 0
    for cell in ("inverter", "nand2", "nor2"):
        for seed in range(8):
            devices = drawn(load_cell(cell), "silicon-gate-cmos", seed, 0.2).netlist.transistors
            widths = {kind: max(t.width for t in devices if t.kind is kind) for kind in Kind}
            wider += widths[Kind.P] > widths[Kind.N]
    assert wider >= 20


# Source: guard rings as common practice of the period has them; read by the extraction, not from the drawing engine.
@pytest.mark.parametrize("cell", ["inverter", "nand2", "nor3"])
def test_a_ring_has_the_other_doping_than_what_it_frames(cell):
    """In bulk metal gate a p+ ring on VSS frames each n transistor, and an n+ ring on VDD each p transistor."""
    for seed in range(4):
        specimen = drawn(load_cell(cell), "metal-gate-cmos", seed, 0)
        scene = specimen.face.scene
        rings = [piece for piece in scene.pieces if is_ring(piece) and not piece.transistors]
        for t in specimen.netlist.transistors:
            x, y = specimen.extraction.channel(t.name)[0].centre
            framing = [piece for piece in rings if bounding_box(piece.rects).contains(x, y)]
            (ring,) = framing
            doping = "pplus" if t.kind is Kind.N else "nplus"
            at = ring.rects[0].centre
            assert any(rect.contains(*at) for rect in specimen.face.layout.flattened().shapes[doping])
            assert ring.net == ("VSS" if t.kind is Kind.N else "VDD")


# Source: recognition, which never sees how the decoy was made.
@pytest.mark.parametrize("lesson", lesson_names())
def test_decoys_are_what_their_captions_say(lesson):
    """
    A decoy's caption names what it is recognised as; one of a latch whose loop is cut is a latch no more. Where a page
    asks which is which, no caption says so, and an earlier one has.
    """
    deck = deck_of(lesson)
    named = set()
    for page in deck.pages:
        for picture in page.pictures:
            if picture.decoy:
                shown = pictured(deck, picture)
                assert shown.structure != deck.cell(picture.cell).structure
                if picture.caption in ("the left one", "the right one"):
                    assert (picture.cell, picture.decoy) in named
                elif picture.decoy != "feedback broken":
                    assert shown.structure in picture.caption
                    named.add((picture.cell, picture.decoy))
                assert shown.about.endswith(".")


def test_three_lessons_have_a_cell_beside_its_decoy():
    """Contrasts side by side with nothing between (Kang and Pashler 2012; Birnbaum et al. 2013)."""
    found = [
        page
        for name in lesson_names()
        for page in deck_of(name).pages
        if any(picture.decoy for picture in page.pictures)
    ]
    assert len(found) >= 3
    for page in found:
        first, second = page.pictures
        assert (first.cell, first.process, first.decoy) == (second.cell, second.process, "")


# Source: common practice of failure laboratories, told without recipe; the reader is sent to trained people.
def test_cautions_come_before_any_die_is_opened():
    """Acids, nitric fumes, beryllia, splinters, the last spare: each is named in the first lesson."""
    text = " ".join(page.text for page in deck_of(lesson_names()[0]).pages)
    for word in ("trained", "fume cupboard", "never alone", "hours after", "beryllia", "protect the eyes", "spare"):
        assert word in text, word


@pytest.mark.parametrize("lesson", lesson_names())
def test_captions_of_a_build_up_are_alike_in_length(lesson):
    """The picture stands still from step to step: at 80 columns all captions of a page take the same lines."""
    for page in deck_of(lesson).pages:
        if page.arrangement is Arrangement.BUILD_UP:
            lines = {len(wrap(picture.caption, 76)) for picture in page.pictures}
            assert len(lines) == 1, (page.title, lines)


def test_the_page_that_tells_of_a_crossunder_shows_one():
    """On the metal-gate picture metal passes over a strip of diffusion that is a wire."""
    deck = deck_of("under-the-microscope")
    (page,) = (page for page in deck.pages if page.title == "The two side by side")
    assert "crossunder" in page.text
    scene = pictured(deck, page.pictures[1]).face.scene
    strips = [rect for piece in scene.crossunders for rect in piece.rects]
    assert any(strip.overlaps(rect) for crossing in scene.crossings for rect in crossing.rects for strip in strips)


def test_the_page_on_seams_shows_one_and_keeps_it_when_written():
    """The rails of both halves lie at other heights; the deck written out asks for the same jump."""
    deck = deck_of("contact-crossing-transistor")
    (page,) = (page for page in deck.pages if page.title == "Over a seam")
    (picture,) = page.pictures
    face = pictured(deck, picture).face
    metal = face.as_seen.shapes["metal"]
    left = {rect.y1 for rect in metal if rect.x1 <= face.at}
    right = {rect.y1 for rect in metal if rect.x0 >= face.at}
    assert max(right) - max(left) == picture.seam * face.unit.per > 0
    assert f"seam: {picture.seam}" in deck_text(deck)


WORDS = ("λ", "transistor", "contact", "crossing", "crossunder", "tap", "gate", "diffusion", "poly")


def test_the_words_of_the_first_questions_are_explained_before_them():
    """Whatever a spot can be in the first lesson stands on one of its pages; so does λ, in which places are told."""
    deck = deck_of("under-the-microscope")
    text = " ".join(page.text for page in deck.pages).lower()
    for word in WORDS:
        assert word in text


@pytest.mark.parametrize("lesson", lesson_names())
def test_one_word_for_one_thing(lesson):
    """Contact and diffusion, as DEVELOPERS.md has them; no holes, areas or islands beside."""
    deck = deck_of(lesson)
    said = [deck.about, deck.objective, *(hint for item in deck.items for hint in item.hints)]
    for page in deck.pages:
        said += [page.title, page.text, *(picture.caption for picture in page.pictures)]
    for text in said:
        assert not re.search(r"\b(holes?|islands?|active areas?|doped areas?)\b", text), text
