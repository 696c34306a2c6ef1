"""
Ten moments in the running app: what a page, question or verdict speaks of is in the picture's view, whole.

Pages in one size of window and questions in another, in a whole sweep both in both; `test_in_view` reckons many more.
"""

import pytest

from layoutdrill.deck import load_deck
from layoutdrill.drill.sitting import Sitting
from layoutdrill.screens.app import BenchApp, StartRequest
from layoutdrill.screens.lesson_screen import LessonScreen
from layoutdrill.screens.picture_view import PictureView
from tests.sampling import some
from tests.screens.test_drill_screen import settled
from tests.screens.test_in_view import SIZES, fits


@pytest.fixture(autouse=True)
def _own_home(tmp_path, monkeypatch):
    monkeypatch.setenv("LAYOUTDRILL_HOME", str(tmp_path))


async def drawn(app, pilot):
    """Let the page's picture be drawn, however busy the machine."""
    for _ in range(40):
        await settled(app, pilot)
        if app.screen.query_one(PictureView).view is not None:
            return
    pytest.fail("no picture came")


def in_view(app):
    """Whether the first of what is wanted that can be in view at all is, and what is out of it can be jumped to."""
    picture = app.screen.query_one(PictureView)
    view, focus = picture.view, picture.focus_on
    for rect in focus.wanted:
        if fits(rect, view.per_lambda, view.columns, view.rows):
            return view.shows(rect)
    return not focus.wanted or bool(picture.away) or view.whole


@pytest.mark.parametrize("size", some(SIZES), ids=SIZES.get)
async def test_pages_of_a_lesson_show_what_they_speak_of(size):
    """Four moments a size: the pages on rails, one after another."""
    app = BenchApp(StartRequest())
    async with app.run_test(size=size) as pilot:
        await settled(app, pilot)
        await app.push_screen(LessonScreen(load_deck("rails")))
        moments = 0
        while moments < 4:
            await settled(app, pilot)
            if app.screen.steps[app.screen.at].pictures:
                await drawn(app, pilot)
                assert in_view(app), (app.screen.at, app.screen.query_one(PictureView).view)
                moments += 1
            await pilot.press("n")


@pytest.mark.parametrize("size", some(reversed(SIZES)), ids=SIZES.get)
async def test_questions_and_verdicts_show_what_they_speak_of(size):
    """Six moments a size: three questions, and the verdict on each given up or answered wrong."""
    with Sitting.open_deck("contact-crossing-transistor", seed=2, count=12) as sitting:
        for number in range(9):
            sitting.skip(sitting.prepare(number), 1.0)
        app = BenchApp(StartRequest(sitting=sitting))
        async with app.run_test(size=size) as pilot:
            for _ in range(3):
                await drawn(app, pilot)
                assert app.screen.phase == "asking"
                assert in_view(app)
                await pilot.press("escape") if app.screen.typing else None
                await pilot.press("g")
                await settled(app, pilot)
                assert app.screen.phase == "judged"
                assert in_view(app)
                await pilot.press("enter")
