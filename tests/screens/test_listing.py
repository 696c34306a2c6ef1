"""A list of transistors is built up row by row: names completed, a row taken back, half of it kept."""

import pytest

from layoutdrill.question.model import Listing, Question
from layoutdrill.question.transcribe import Transcribe, TranscribeKey
from layoutdrill.screens.answer_line import AnswerLine
from layoutdrill.screens.app import BenchApp, StartRequest
from layoutdrill.screens.listing_words import answer_text, completed, known_names, listing_content, rows_of_text
from tests.screens.fakes import FakeSitting, specimen
from tests.screens.test_drill_screen import settled, words

LISTING = Listing(("kind", "gate", "source", "drain"), ("n", "p"), ("A", "Y", "VDD", "VSS"))


@pytest.fixture(autouse=True)
def _own_home(tmp_path, monkeypatch):
    monkeypatch.setenv("LAYOUTDRILL_HOME", str(tmp_path))


def test_names_are_completed_in_turn():
    """A beginning goes to the first name that has it, a whole name on to the next with the same beginning."""
    assert completed("n A V", LISTING.names) == "n A VDD"
    assert completed("n A VDD", LISTING.names) == "n A VSS"
    assert completed("n a", LISTING.names) == "n A"
    assert completed("n ", LISTING.names) == "n A"
    assert completed("n q", LISTING.names) == "n q"
    assert known_names(LISTING, ("n A x1 VSS", "n A x1 Y")) == (*LISTING.names, "x1")


def test_a_pasted_list_comes_apart_and_together():
    """Semicolons and lines part rows; what is being written belongs to the answer."""
    assert rows_of_text("n A Y VSS;\n p A  Y VDD ;") == ("n A Y VSS", "p A Y VDD")
    assert answer_text(("n A Y VSS",), " p A Y ") == "n A Y VSS; p A Y"


def test_all_of_it_fits_in_eighty_columns():
    """Twelve transistors, the line being written, the names and the keys."""
    drawn = listing_content(LISTING, ("n A Y VSS",) * 12, "p A").plain.splitlines()
    assert len(drawn) == 16
    assert max(map(len, drawn[:-1])) < 76


def listing_sitting():
    sitting = FakeSitting()
    key = TranscribeKey(("A", "Y"), ("VSS", "VDD"), ("n", "p"), 2)
    question = Question("transcribe", "List each transistor.", specimen(), (), (), (), key, typed=True, listing=LISTING)
    sitting.made[0] = question
    sitting.accept = Transcribe().accept
    sitting.submit = lambda question, answer, seconds, hints: (
        sitting.kept.append(answer) or FakeSitting.skip(FakeSitting(), question, seconds)
    )
    return sitting


async def test_rows_are_written_taken_back_and_handed_in():
    """Enter adds a row, u on an empty line takes it back, Enter on an empty line hands all of it in."""
    sitting = listing_sitting()
    app = BenchApp(StartRequest(sitting=sitting))
    async with app.run_test(size=(80, 24)) as pilot:
        await settled(app, pilot)
        line = app.screen.query_one(AnswerLine)
        await pilot.press(*"n a y vs", "tab", "enter")
        assert line.rows == ("n a y VSS",)
        assert line.value == ""
        await pilot.press("u")
        assert (line.rows, line.value) == ((), "n a y VSS")
        await pilot.press("enter", *"p a y", "enter")
        assert line.value == "p a y"  # a row with too few nets stays, and is told
        assert "net" in words(app, "#said")
        assert sitting.drafts[0] == "n a y VSS; p a y"
        await pilot.press(*" vdd", "enter", "enter")
        await settled(app, pilot)
        assert [answer.text for answer in sitting.kept] == ["n a y VSS; p a y vdd"]


async def test_names_can_be_clicked_and_half_an_answer_is_there_again():
    """Clicks write a row; what was written when the question was left stands in its place again."""
    sitting = listing_sitting()
    sitting.drafts[0] = "n A Y VSS; p A"
    app = BenchApp(StartRequest(sitting=sitting))
    async with app.run_test(size=(80, 24)) as pilot:
        await settled(app, pilot)
        line = app.screen.query_one(AnswerLine)
        assert line.answer == "n A Y VSS; p A"
        line.take_back()
        for word in ("Y", "VDD"):
            app.screen.action_add_word(word)
        assert line.value == "p A Y VDD"
        app.screen.action_add_row()
        app.screen.do("hand_in")
        await settled(app, pilot)
        assert [answer.text for answer in sitting.kept] == ["n A Y VSS; p A Y VDD"]
