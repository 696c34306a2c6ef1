"""A set holds photographs, and questions about what a microscope shows: at the terminal, on paper, in the tally."""

import json
from dataclasses import replace

import pytest

from layoutdrill.deck import Deck, Item, load_deck
from layoutdrill.errors import LayoutdrillError
from layoutdrill.face import Light
from layoutdrill.picture.looks import load_look
from layoutdrill.picture.view import View
from layoutdrill.question import kinds
from layoutdrill.workshop import sights
from layoutdrill.workshop.asking import graded, question_of
from layoutdrill.workshop.documents import read_set, write_result, write_set
from layoutdrill.workshop.handout import write_handout, write_key
from layoutdrill.workshop.model import Feedback, Given
from layoutdrill.workshop.prepare import Wanted, prepare
from layoutdrill.workshop.tally import tally
from layoutdrill.workshop.tally_page import tally_html
from tests.workshop.conftest import answered, solution

OWN = ("process", "undecided", "dust or contact", "across a seam", "two stages", "table", "transcribe")


@pytest.fixture(autouse=True)
def _cache(tmp_path, monkeypatch):
    monkeypatch.setenv("LAYOUTDRILL_CACHE", str(tmp_path / "cache"))


@pytest.fixture(scope="module")
def photographed():
    """Return a set on the photographs of the deck that ships, its key apart."""
    deck = load_deck("buoy-and-beacon")
    items = tuple(item for item in deck.items if any(cell in deck.photographs for cell in item.cells))
    return prepare(replace(deck, items=items), Wanted(count=2, minutes=5, seed=3, feedback=Feedback.END))


@pytest.fixture(scope="module")
def through_a_microscope():
    """Return a set with each kind that has a look of its own, a table and a list."""
    items = tuple(
        Item(("aoi21",), ("silicon-gate-cmos", "metal-gate-sapphire"), (kind,), seed=at) for at, kind in enumerate(OWN)
    )
    return prepare(Deck("own", "Own looks", "", items), Wanted(count=len(OWN), minutes=5, seed=3, wear=0.5))


def test_photographs_travel_in_the_set(photographed, tmp_path):
    """From the file alone: the same picture pixel by pixel, every question answered, no name of the place in it."""
    path = tmp_path / "s.set"
    key = write_set(path, photographed)
    whole, blind = read_set(path, key), read_set(path)
    assert whole.digest == photographed.digest
    assert blind.pictures == photographed.pictures
    told = json.loads(path.read_text("utf-8"))
    for sheet in told["questions"]:
        sheet["choices"] = sheet["form"]["choices"] = ()  # among which the right one must stand
    text = json.dumps(told, ensure_ascii=False)
    for entry in photographed.key:
        assert entry.cell not in text
        assert f'"{entry.structure}"' not in text
    light = Light(load_look("reflected-light"))
    for sheet in whole.sheets:
        question = question_of(whole, sheet.number)
        face = question.specimen.face
        assert not face.follows_light
        image = face.image(View(face.box, 4), light)
        assert image.getcolors(100) is None  # a picture, and no grey that stands for one
        right = solution(whole, sheet.number)
        assert graded(whole, Given(sheet.number, right.text, right.point, False, 1.0, 1.0)).credit == 1


def test_a_photograph_that_was_changed_is_refused(photographed, tmp_path):
    """Each picture agrees with its hash, or the set is damaged; one that is missing too."""
    path = tmp_path / "s.set"
    write_set(path, photographed)
    text = path.read_text("utf-8")
    at = text.index('"pictures"') + 120
    path.write_text(text[:at] + ("A" if text[at] != "A" else "B") + text[at + 1 :], "utf-8")
    with pytest.raises(LayoutdrillError, match="photograph"):
        read_set(path)
    whole = json.loads(text)
    del whole["pictures"]
    path.write_text(json.dumps(whole), "utf-8")
    with pytest.raises(LayoutdrillError, match="a photograph is missing"):
        read_set(path)


def test_more_pictures_than_a_file_should_hold_are_refused(photographed, monkeypatch):
    """The bound is told with what to do."""
    monkeypatch.setattr(sights, "MOST_OF_PICTURES", 1000)
    with pytest.raises(LayoutdrillError, match="photograph"):
        sights.neutral(question_of(photographed, 1).specimen.face)


def test_what_a_microscope_shows_can_be_asked_in_a_set(through_a_microscope, tmp_path):
    """Process, undecided, dust, seam and stages, as they were asked, with look, lot and wear; tables and lists too."""
    path = tmp_path / "s.set"
    write_set(path, through_a_microscope)
    made = read_set(path)
    asked = {sheet.kind for sheet in made.sheets}
    assert len(asked & {name for name in OWN if kinds()[name].own_look}) >= 4
    for sheet in made.sheets:
        question = question_of(made, sheet.number)
        assert (question.grid is not None) == (sheet.kind == "table")
        assert (question.listing is not None) == (sheet.kind == "transcribe")
        assert bool(question.look) or not kinds()[sheet.kind].own_look
        assert question.specimen.wear >= 0.5  # dust is asked about where there is more of it
        right = solution(made, sheet.number)
        assert graded(made, Given(sheet.number, right.text, right.point, False, 1.0, 1.0)).credit == 1


def test_both_are_printed_and_tallied(photographed, through_a_microscope, tmp_path, monkeypatch):
    """Sheets, key, and the page of the room with its pictures inside, nothing loaded from elsewhere."""
    monkeypatch.setattr("layoutdrill.workshop.paper_picture.PICTURE_SCALE", 3.0)  # coarser than on paper, and sooner
    pytest.importorskip("reportlab", reason="the extra “print” is not installed")
    pypdf = pytest.importorskip("pypdf", reason="the tests' PDF reader is not installed")
    for made in (photographed, through_a_microscope):
        pdf, key = tmp_path / "a.pdf", tmp_path / "k.pdf"
        pages = [write_handout(made, pdf), write_key(made, key)]
        sheets, keys = (pypdf.PdfReader(path).pages for path in (pdf, key))
        assert [len(sheets), len(keys)] == pages
        assert " ".join(page.extract_text() for page in keys).count("Answer: ") == len(made.sheets)
        words = " ".join(page.extract_text() for page in sheets)
        assert all(f"{sheet.number}. " in words for sheet in made.sheets)
        file = tmp_path / "a.result"
        write_result(file, answered(made, "Ada"))
        room = tally(made, [file])
        assert [learner.right for learner in room.learners] == [len(made.sheets)]
        number = next(sheet.number for sheet in made.sheets if kinds()[sheet.kind].own_look or made.pictures)
        page = tally_html(replace(room, discuss=(number,)), made)
        assert 'src="data:image/png;base64,' in page
        assert "http" not in page.replace("http://www.w3.org", "")
