"""Between answer and verdict: how sure; before the question: the picture alone, for a moment."""

from math import inf

import pytest

from layoutdrill.screens.app import BenchApp, StartRequest
from layoutdrill.screens.doors import OTHER
from layoutdrill.screens.drill_screen import DrillScreen
from layoutdrill.screens.home_screen import where_to_begin
from layoutdrill.screens.row import NOT_BEGUN, Day, Row
from layoutdrill.screens.settings import Settings, load_settings, save_settings
from layoutdrill.screens.shelf import home_rows
from layoutdrill.screens.sittings import day_planned, open_sitting
from tests.screens.fakes import FakeSitting


async def until(pilot, test, turns=1000):
    for _ in range(turns):
        if test():
            return True
        await pilot.pause(0.02)
    return False


@pytest.mark.parametrize(("key", "step"), [("2", 2), ("escape", None)])
async def test_it_asks_how_sure_before_the_verdict(key, step):
    """Nothing is kept and nothing told until it is said, or passed over."""
    sitting = FakeSitting(asks=(0,))
    app = BenchApp(StartRequest(sitting=sitting))
    async with app.run_test(size=(120, 40)) as pilot:
        screen = app.screen
        assert await until(pilot, lambda: screen.phase == "asking" and screen.picture.stands)
        await pilot.press("b")
        assert screen.phase == "sure"
        assert not sitting.kept
        await pilot.press("h", "a", key)
        assert await until(pilot, lambda: screen.phase == "judged")
        assert sitting.sure == [step]
        assert isinstance(app.screen, DrillScreen)


async def test_an_answer_is_kept_though_one_leaves_before_saying_how_sure():
    """Leaving takes no answer back."""
    sitting = FakeSitting(asks=(0,))
    app = BenchApp(StartRequest(sitting=sitting))
    async with app.run_test(size=(120, 40)) as pilot:
        screen = app.screen
        assert await until(pilot, lambda: screen.phase == "asking" and screen.picture.stands)
        await pilot.press("b")
        await pilot.press("ctrl+q")
    assert len(sitting.kept) == 1


async def test_it_is_not_asked_where_that_is_switched_off(tmp_path, monkeypatch):
    """The settings keep both switches."""
    monkeypatch.setenv("LAYOUTDRILL_HOME", str(tmp_path))
    save_settings(Settings(sureness="off", timing="off"))
    settings, error = load_settings()
    assert error is None
    assert (settings.sureness, settings.timed) == ("off", False)
    sitting = FakeSitting(asks=(0,))
    app = BenchApp(StartRequest(sitting=sitting))
    async with app.run_test(size=(120, 40)) as pilot:
        screen = app.screen
        assert await until(pilot, lambda: screen.phase == "asking" and screen.picture.stands)
        await pilot.press("b")
        assert await until(pilot, lambda: screen.phase == "judged")
        assert sitting.sure == [None]


async def test_at_a_glance_the_picture_goes_before_the_question_comes():
    """First the picture without words, then the words without the picture, then both with the verdict."""
    sitting = FakeSitting(glimpse=2.0)  # long enough for a key to be pressed meanwhile on a busy machine
    app = BenchApp(StartRequest(sitting=sitting))
    async with app.run_test(size=(120, 40)) as pilot:
        screen = app.screen
        assert await until(pilot, lambda: screen.phase == "glancing" and screen.picture.stands)
        await pilot.press("b")
        assert not sitting.kept
        assert "Which structure" not in str(screen.query_one("#said").render())
        assert await until(pilot, lambda: screen.phase == "asking")
        assert screen.picture.masked
        assert screen.picture.subject is None
        assert "Which structure" in str(screen.query_one("#said").render())
        await pilot.press("b")
        assert await until(pilot, lambda: screen.phase == "judged")
        assert screen.picture.subject is not None
        assert not screen.picture.masked


def test_a_lesson_that_today_has_led_into_is_not_told_as_not_begun():
    """Its skills were tried without it; where nothing is known, and where a lesson was taken, its state stays."""
    rows = (
        Row("lesson:a", "1. A", "", NOT_BEGUN),
        Row("lesson:b", "2. B", "", NOT_BEGUN),
        Row("lesson:c", "3", "", "4 of 5"),
    )
    day = Day((Row("today:1", "10 questions"),), {"lesson:a": "2 of 5 tried", "lesson:c": "1 of 5 tried"})
    assert [row.state for row in day.onto(rows)] == ["", "2 of 5 tried", NOT_BEGUN, "4 of 5"]
    assert where_to_begin(day.onto(rows[:2])) == "today:1"
    assert where_to_begin(Day((Row("today:1", "10 questions"),), {}).onto(rows[:2])) == "lesson:a"


def test_what_the_day_leads_to_stands_once_on_home():
    """Once every lesson is begun the day ends with a whole die, which is always offered further down."""
    day = Day((Row("", "Today"), Row("today:1", "10 questions"), Row("surveys:", "Survey a chip")), {})
    keys = [row.key for row in day.onto(OTHER)]
    assert "surveys:" in {row.key for row in OTHER}
    assert keys.count("surveys:") == 1
    assert keys.count("") == 1 + sum(not row.key for row in OTHER)


def test_home_offers_what_is_to_be_checked_once(tmp_path, monkeypatch):
    """Today's rows and those below have keys of their own; the first time a check comes before practice."""
    monkeypatch.setenv("LAYOUTDRILL_HOME", str(tmp_path))
    today, (below, trouble) = day_planned(3).rows, home_rows()
    keys = [row.key for row in (*today, *below, *OTHER) if row.key]
    assert trouble is None
    assert len(keys) == len(set(keys))
    assert "check:next-die" in keys
    with open_sitting("check", "next-die", kit=None) as sitting:
        assert sitting.deck.kept
        assert not sitting.tells


async def test_no_key_pressed_before_a_verdict_stands_leads_past_it():
    """Enter from before is nothing to the verdict, however late it is dealt with; the next one leads on."""
    sitting = FakeSitting(asks=(0,))
    app = BenchApp(StartRequest(sitting=sitting))
    async with app.run_test(size=(120, 40)) as pilot:
        screen = app.screen
        assert await until(pilot, lambda: screen.phase == "asking" and screen.picture.stands)
        await pilot.press("b", "3")
        early = app.pressed_at
        assert await until(pilot, lambda: screen.phase == "judged" and screen._told_at < inf)
        app.pressed_at = early
        screen.act_onward()
        assert screen.phase == "judged"
        await pilot.press("enter")
        assert screen.at == 1
