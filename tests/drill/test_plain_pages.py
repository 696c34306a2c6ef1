"""Pages of lessons in plain mode: drawings told in words and letters, asked for, and never twice."""

import io
import re
from dataclasses import replace

import pytest

from layoutdrill.deck import Page, Picture, load_deck
from layoutdrill.deck.specimen import SpecimenMaker
from layoutdrill.drill.plain import run_plain
from layoutdrill.drill.plain_pages import drawing_lines, page_lines, reading_lines
from layoutdrill.drill.sitting import Sitting
from tests.drill.test_plain import talk

pytestmark = pytest.mark.usefixtures("home")


def test_letters_of_a_build_up_mean_the_same_from_step_to_step():
    """One drawing that grows: over all steps of a page in two processes no letter means two piles while any is free."""
    deck = load_deck("under-the-microscope")
    maker, letters, meant = SpecimenMaker(deck), {}, {}
    for page in deck.pages[:4]:
        for line in drawing_lines(page, maker, letters, {}):
            row = re.match(r"([A-Za-z0-9])  ([a-z].+)$", line)
            if row:
                assert meant.setdefault(row.group(1), row.group(2)) == row.group(2)
    assert len(meant) > 26
    assert len(set(letters.values())) == len(letters)


def test_pages_are_told_with_their_drawings_and_words_on_demand(tmp_path):
    """A page's picture is a grid below it; “word” explains, “last” tells the verdict again, ? and q serve."""
    said, _ = talk(tmp_path, ["?", "word via", "word crosing", "last", "skip", "last", "q"], "n-and-p")
    pages, rest = said.split("Question 1 of", 1)
    assert pages.count("One character is 1 by 1") >= 4
    assert "via: an opening through which one metal touches the other." in rest
    assert "did you mean" in rest
    assert "There is no verdict yet." in rest
    assert rest.count("Skipped.") == 2
    assert "what a word of the trade means" in rest


def test_a_lesson_is_read_before_it_asks(tmp_path):
    """Objective, pages, captions and drawings first; “pages” tells them again."""
    said, _ = talk(tmp_path, ["pages"], "series-and-parallel", count=2)
    opening, again = said.split("Question 1 of 2")
    assert "What you will be able to do: Name any NAND or NOR" in " ".join(opening.split())
    assert opening.count("Page ") == len(load_deck("series-and-parallel").pages) >= 4
    assert opening.count("One character is") >= 4
    assert again.count("One character is") >= 9


def test_a_sitting_resumed_does_not_read_the_pages_again(tmp_path):
    """It goes on with the first question that has no answer."""
    talk(tmp_path, ["skip"], "series-and-parallel", count=3)
    out = io.StringIO()
    run_plain(Sitting.resume(records=tmp_path / "r"), io.StringIO(""), out)
    assert "Page 1" not in out.getvalue()
    assert "Question 2 of 3" in out.getvalue()


def test_a_drawing_shown_before_is_not_told_again():
    """Two pages on one drawing: the second names where it was; asked for by itself it is told again."""
    picture = Picture("inverter", "silicon-gate-cmos", 1, 0, caption="once")
    pages = [Page("One", "a", pictures=(picture,)), Page("Two", "b", pictures=(replace(picture, caption="again"),))]
    maker, shown = SpecimenMaker(load_deck("first-gates"), None), {}
    first, second = (list(page_lines(page, n, 2, maker, None, shown)) for n, page in enumerate(pages, 1))
    assert len(first) > 20
    assert second[-2:] == ["Picture 1: again", "The same drawing as picture 1 of page 1."]
    assert len(list(drawing_lines(pages[1], maker))) > 20


def test_the_dirt_and_the_stage_of_a_page_are_told(tmp_path):
    """An old die's dirt stands below its grid, as a clean one has none; with the metal off the grid holds none."""
    maker = SpecimenMaker(load_deck("under-the-microscope"))
    clean, old, bare = (
        Picture("nand2", "silicon-gate-cmos", 4, 0.0, **more) for more in ({}, {"wear": 1.0}, {"stage": "metal off"})
    )
    told = ["\n".join(drawing_lines(Page("", "", pictures=(picture,)), maker)) for picture in (clean, old, bare)]
    assert "dirt" not in told[0]
    assert "On the photograph lies dirt, which is no layer: a" in told[1]
    assert "metal over contact" in told[0]
    assert "metal" not in told[2]


def test_a_word_that_a_page_does_not_know_is_no_leave_to_go_on(tmp_path, monkeypatch):
    """Only Enter turns the page."""
    monkeypatch.setattr("layoutdrill.drill.plain._Room.interactive", True)
    sitting = Sitting.open_deck("inverter", records=tmp_path / "r", seed=4, count=1)
    stdin, out = io.StringIO("y\nq\n"), io.StringIO()
    stdin.isatty = lambda: True
    assert run_plain(sitting, stdin, out) == 0
    assert "“y” is none of the words here." in out.getvalue()
    assert "Page 2 of" not in out.getvalue()


def test_letters_of_a_page_are_told_apart_from_those_of_the_grid_and_what_is_to_be_read_can_be_asked_for():
    """“A” is a pile of layers in the grid and a place in the text: the one is said not to be the other."""
    deck = load_deck("contact-crossing-transistor")
    page, maker = deck.pages[1], SpecimenMaker(deck)
    told = [*page_lines(page, 2, len(deck.pages), maker)]
    at = told.index("Places that the text names; their letters are not those of the grid:")
    assert told[at + 1].startswith("  A is a contact, at x ")
    assert told[at + 2].startswith("  B is a crossing, at x ")
    assert not any(line.startswith(("A is", "B is")) for line in told[:at])
    read = [*reading_lines(page, maker)]
    assert sum(bool(re.match(r"\d: [np], gate on net ", line)) for line in read) == 6
    assert "in these colours" not in " ".join(page_lines(deck.pages[0], 1, len(deck.pages)))


def test_the_word_answer_on_a_page_tells_what_is_to_be_read_on_it(tmp_path, monkeypatch):
    """Between the pages of a lesson; it turns no page, and is no answer to the question that comes after them."""
    monkeypatch.setattr("layoutdrill.drill.plain._Room.interactive", True)
    sitting = Sitting.open_deck("inverter", records=tmp_path / "r", seed=4, count=1)
    stdin, out = io.StringIO("answer\nq\n"), io.StringIO()
    stdin.isatty = lambda: True
    assert run_plain(sitting, stdin, out) == 0
    said = out.getvalue()
    assert "“answer”: what is to be read" in said
    read = re.findall(r"^\d: ([np]), gate on net (\w+)", said, re.MULTILINE)
    assert {kind for kind, _ in read} == {"n", "p"}  # an inverter of complementary MOS: one of each, on one gate
    assert len({net for _, net in read}) == 1
    assert "Page 2 of" not in said
    assert "0 of 1 answered" in said
