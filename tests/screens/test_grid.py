"""A table is filled in by arrows and letters, by clicks, and handed in half filled."""

import pytest
from textual.widgets import Static

from layoutdrill.question.model import Grid, Question
from layoutdrill.question.table import TableKey
from layoutdrill.screens.answer_line import AnswerLine
from layoutdrill.screens.app import BenchApp, StartRequest
from layoutdrill.screens.grid_words import filled, grid_content, next_letter
from tests.screens.fakes import FakeSitting, specimen
from tests.screens.test_drill_screen import settled, words

GRID = Grid(("a", "y"), (("0",), ("1",)), "01zx?")


@pytest.fixture(autouse=True)
def _own_home(tmp_path, monkeypatch):
    monkeypatch.setenv("LAYOUTDRILL_HOME", str(tmp_path))


def test_a_letter_fills_a_row_and_leads_to_the_next():
    """At the last row one stays."""
    assert filled("??", 0, "1", 2) == ("1?", 1)
    assert filled("1?", 1, "z", 2) == ("1z", 1)
    assert [next_letter(GRID, letter) for letter in "01zx?"] == ["1", "z", "x", "?", "0"]


def test_many_rows_stand_beside_each_other_where_there_is_room():
    """Sixteen rows of four inputs: two blocks of eight in 40 columns, one of sixteen in 16."""
    rows = tuple(tuple(f"{r:04b}") for r in range(16))
    grid = Grid(("a", "b", "c", "d", "y"), rows, "01zx?")
    wide, narrow = (grid_content(grid, "0" * 16, 9, width).plain.splitlines() for width in (40, 16))
    assert (len(wide), len(narrow)) == (9, 17)
    assert wide[2].count(">") == 1
    assert wide[2].index(">") > 10
    assert "> 1 0 0 1 │ 0" in narrow[10]


def table_sitting():
    sitting = FakeSitting()
    key = TableKey(("a",), "y", "10", {})
    question = Question("table", "Which level has y?", specimen(), (), (), (), key, grid=GRID)
    sitting.made[0] = question
    sitting.submit = lambda question, answer, seconds, hints: (
        sitting.kept.append(answer) or FakeSitting.skip(FakeSitting(), question, seconds)
    )
    return sitting


async def test_keys_fill_the_column_in_and_enter_hands_it_in():
    """Up and down move, letters fill in, another letter does nothing; what is open stays open."""
    sitting = table_sitting()
    app = BenchApp(StartRequest(sitting=sitting))
    async with app.run_test(size=(80, 24)) as pilot:
        await settled(app, pilot)
        line = app.screen.query_one(AnswerLine)
        assert line.value == "??"
        await pilot.press("down", "z", "up", "q", "1")
        assert (line.value, line.row) == ("1z", 1)
        assert "> 1 │ z" in words(app, "#grid")
        await pilot.press("backspace")
        assert (line.value, line.row) == ("1?", 0)
        await pilot.press("enter")
        await settled(app, pilot)
        assert [answer.text for answer in sitting.kept] == ["1?"]
        assert app.screen.query_one("#grid", Static).display is False


async def test_a_click_changes_a_row():
    """Each click puts the next letter in its row."""
    app = BenchApp(StartRequest(sitting=table_sitting()))
    async with app.run_test(size=(80, 24)) as pilot:
        await settled(app, pilot)
        for wanted in ("?0", "?1", "?z"):
            await pilot.click("#grid", offset=(4, 2))
            await pilot.pause()
            assert app.screen.query_one(AnswerLine).value == wanted
