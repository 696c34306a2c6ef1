"""One can turn back through the verdicts of a sitting, and is asked again what was missed; two looks show one place."""

from dataclasses import replace

import pytest
from textual.widgets import Input

from layoutdrill.drill.sitting import Sitting
from layoutdrill.errors import LayoutdrillError
from layoutdrill.geometry.rect import Rect
from layoutdrill.question import kinds
from layoutdrill.screens.actions import taken_by_text
from layoutdrill.screens.app import BenchApp, StartRequest
from layoutdrill.screens.choose_page import ChoosePage
from layoutdrill.screens.picture_view import PictureView
from layoutdrill.screens.sighting import Focus, jumped, out_of_view, starting
from layoutdrill.screens.viewport import Viewport
from tests.screens.fakes import FakeSitting
from tests.screens.test_drill_screen import settled, told, words


@pytest.fixture(autouse=True)
def _own_home(tmp_path, monkeypatch):
    monkeypatch.setenv("LAYOUTDRILL_HOME", str(tmp_path))


async def test_verdicts_are_turned_back_like_pages_and_what_was_typed_stays():
    """From an open question to the verdict before it and back: letters typed, and the question, as they were."""
    app = BenchApp(StartRequest(sitting=FakeSitting()))
    async with app.run_test(size=(100, 30)) as pilot:
        await settled(app, pilot)
        assert "look back" not in told(app)
        await pilot.press("a")
        await settled(app, pilot)
        await pilot.press("enter")
        await settled(app, pilot)
        await pilot.press("1", "2", "f6")
        await settled(app, pilot)
        assert app.screen.phase == "back"
        assert "Told of 1 before." in words(app)
        await pilot.press("enter")
        await settled(app, pilot)
        assert app.screen.phase == "asking"
        assert app.screen.query_one(Input).value == "12"
        assert "How many transistors" in words(app)


async def test_the_end_opens_each_question_that_was_missed():
    """What is to be looked at again is listed; each opens with its verdict, and Esc leads back to the end."""
    app = BenchApp(StartRequest(sitting=FakeSitting()))
    async with app.run_test(size=(100, 30)) as pilot:
        await settled(app, pilot)
        await pilot.press("a", "enter")
        await settled(app, pilot)
        for _ in range(2):
            await pilot.press("escape") if app.screen.typing else None
            await pilot.press("g")
            await settled(app, pilot)
            await pilot.press("enter")
            await settled(app, pilot)
        assert app.screen.phase in ("judged", "done")
        while app.screen.phase != "done":
            await pilot.press("enter", "g")
            await settled(app, pilot)
            await pilot.press("enter")
            await settled(app, pilot)
        assert "m asks only" in words(app)
        await pilot.press("r")
        await settled(app, pilot)
        assert isinstance(app.screen, ChoosePage)
        await pilot.press("escape")
        await settled(app, pilot)
        app.screen.look_at(1)
        await settled(app, pilot)
        assert "Told of 2 before." in words(app)
        await pilot.press("escape")
        await settled(app, pilot)
        assert app.screen.phase == "done"


async def test_one_key_changes_between_mask_and_light_and_the_place_stays(monkeypatch):
    """Also while an answer is typed, by a key that the line of text does not take; the answer then counts as helped."""
    monkeypatch.delenv("NO_COLOR", raising=False)
    monkeypatch.setenv("COLORTERM", "truecolor")
    monkeypatch.setenv("TERM", "xterm-256color")
    sitting = FakeSitting(look="reflected-light")
    app = BenchApp(StartRequest(sitting=sitting))
    async with app.run_test(size=(120, 40)) as pilot:
        await settled(app, pilot)
        picture = app.screen.query_one(PictureView)
        before, view = picture.subject.look, picture.view
        assert before == "reflected-light"
        await pilot.press("y")
        await settled(app, pilot)
        assert (picture.subject.look, app.screen.eased) == (before, False)  # it is said first that this is help
        await pilot.press("y")
        await settled(app, pilot)
        assert (picture.subject.look, picture.view) == ("stick-colours", view)
        await pilot.press("y")
        await settled(app, pilot)
        assert (picture.subject.look, picture.view) == (before, view)
        await pilot.press("a")
        await settled(app, pilot)
        assert [len(hints) for _, _, hints in sitting.kept] == [1]
        await pilot.press("enter")
        await settled(app, pilot)
        await pilot.press("y", "ctrl+y")
        await settled(app, pilot)
        assert picture.subject.look == before
        await pilot.press("ctrl+y")
        await settled(app, pilot)
        assert app.screen.query_one(Input).value == "y"
        assert picture.subject.look == "stick-colours"


def test_keys_of_the_table_that_serve_while_typing_are_not_letters():
    """F keys and Ctrl are free, letters are the line's."""
    assert [key for key in ("f4", "f6", "ctrl+y", "f", "y", "4") if taken_by_text(key)] == ["f", "y", "4"]


def test_one_key_goes_round_the_places_out_of_sight():
    """By arithmetic: of three places far apart each comes into the middle in turn; what is in sight is passed over."""
    box = Rect(0, 0, 2000, 800)
    places = tuple(Rect(x, y, x + 8, y + 8) for x, y in ((100, 700), (1000, 400), (1900, 100)))
    view = Viewport(box, 2, 80, 20, 1).centred(100, 700)
    focus = Focus(places=places)
    assert out_of_view(view, focus) == places[1:]
    seen, last = [], None
    for _ in range(4):
        view, last = jumped(view, focus, last)
        assert view.shows(last)
        seen.append(places.index(last))
    assert seen == [1, 2, 0, 1]
    assert out_of_view(view, replace(focus, places=())) == ()


def test_what_shows_close_up_alone_is_first_seen_together_and_then_close():
    """By arithmetic: three places that do not fit at the scale they need; the key goes close to each in turn."""
    places = tuple(Rect(x, y, x + 16, y + 16) for x, y in ((20, 150), (90, 90), (150, 20)))
    focus = Focus((Rect(20, 20, 166, 166),), least=4, places=places)
    view = starting(Rect(0, 0, 200, 200), 2, 90, 45, focus)
    assert view.scale < focus.least
    assert all(view.shows(place) for place in places)
    assert out_of_view(view, focus) == places
    seen, last = [], None
    for _ in range(3):
        view, last = jumped(view, focus, last)
        assert view.scale == 4
        assert view.shows(last)
        seen.append(last)
    assert set(seen) == set(places)
    one = replace(focus, places=places[:1], wanted=(places[0],))
    assert starting(Rect(0, 0, 200, 200), 2, 90, 45, one).scale >= 4


def test_only_what_was_missed_is_asked_again_from_fresh_drawings():
    """Two of three missed: a new sitting of two, the same cells and kinds, other seeds; help is not given again."""
    with Sitting.open_deck("rails", seed=4, count=3) as before:
        for number in range(3):
            question = before.prepare(number)
            right = kinds()[question.kind].solution(question)
            before.submit(question, right, 1.0) if number == 1 else before.skip(question, 1.0)
        assert before.missed == (0, 2)
        _, _, verdict = before.again(1)
        assert (verdict.credit, verdict.instead) == (1.0, "")
        assert before.again(0)[2].summary == "Skipped."
        with before.open_missed(seed=1) as anew:
            assert anew.total == 2
            asked = [(draw.cell, draw.kind, draw.help) for draw in anew.plan]
            assert asked == [(before.plan[n].cell, before.plan[n].kind, ()) for n in (0, 2)]
            assert not {draw.seed for draw in anew.plan} & {draw.seed for draw in before.plan}
            assert anew.sort == "lesson"
    with Sitting.open_deck("rails", seed=4, count=1) as fresh, pytest.raises(LayoutdrillError, match="no answer yet"):
        fresh.again(0)
