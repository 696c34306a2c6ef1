"""Home and a whole lesson with its questions, on the decks that ship, in both themes."""

import re
from dataclasses import replace
from types import SimpleNamespace

import pytest
from textual.widgets import Input, OptionList, Static

from layoutdrill.deck import lesson_names, load_deck
from layoutdrill.drill.sitting import Sitting
from layoutdrill.drill.unfinished import unfinished
from layoutdrill.screens.app import BenchApp, StartRequest
from layoutdrill.screens.choose_page import ChoosePage
from layoutdrill.screens.course import lesson_after
from layoutdrill.screens.doors import OTHER, DoorPage
from layoutdrill.screens.drill_screen import DrillScreen
from layoutdrill.screens.error_panel import ErrorPanel
from layoutdrill.screens.explain_screen import ExplainScreen
from layoutdrill.screens.finder import FinderScreen
from layoutdrill.screens.home_screen import COMING, HomeScreen
from layoutdrill.screens.lesson_room import rows_of
from layoutdrill.screens.lesson_screen import LessonScreen, steps_of
from layoutdrill.screens.library import LibraryScreen
from layoutdrill.screens.picture_view import PictureView
from layoutdrill.screens.row import Day, Row
from layoutdrill.screens.settings_screen import SettingsScreen
from layoutdrill.screens.text_page import TextPage


@pytest.fixture(autouse=True)
def _own_home(tmp_path, monkeypatch):
    monkeypatch.setenv("LAYOUTDRILL_HOME", str(tmp_path))


async def settled(app, pilot):
    """Let every worker finish and its messages be handled."""
    for _ in range(4):
        await app.workers.wait_for_complete()
        await pilot.pause()
    assert not isinstance(app.screen, ErrorPanel), app.screen.words.plain


async def until(app, pilot, kind):
    """Wait for a screen of a kind."""
    for _ in range(100):
        await settled(app, pilot)
        if isinstance(app.screen, kind):
            return app.screen
        await pilot.pause(0.05)
    raise AssertionError(f"{kind.__name__} never came, there is {type(app.screen).__name__}")


async def asked(screen, app, pilot, phase="asking"):
    for _ in range(200):
        await settled(app, pilot)
        if screen.phase == phase:
            return
        await pilot.pause(0.05)
    raise AssertionError(f"still {screen.phase}")


async def turned(page, app, pilot):
    """Go on to the next page, past what is left of the text on this one."""
    at = page.at
    for _ in range(8):
        await pilot.press("enter")
        await settled(app, pilot)
        if app.screen is not page or page.at != at:
            return
    raise AssertionError(f"page {at} does not end")


async def test_a_whole_lesson_from_its_first_page_to_its_last_answer():
    """
    Every page is turned, every question given up or answered, and nothing is left unfinished; in one theme and size
    for the pages, in another for the questions.
    """
    lesson = replace(load_deck("n-and-p"), count=2)
    app = BenchApp(StartRequest(theme="daylight"))
    async with app.run_test(size=(80, 24)) as pilot:
        app.push_screen(LessonScreen(lesson))
        page = await until(app, pilot, LessonScreen)
        assert app.theme == "daylight"
        for step in steps_of(lesson):
            await settled(app, pilot)
            assert (page.query_one(PictureView).subject is not None) == bool(step.pictures)
            for caption in page.query(".caption"):
                if caption.display and caption.size.width:
                    assert rows_of(str(caption.content), caption.size.width) <= caption.size.height
            await turned(page, app, pilot)
        drill = await until(app, pilot, DrillScreen)
        await pilot.press("f3")
        await pilot.resize_terminal(120, 40)
        for number in range(2):
            await asked(drill, app, pilot)
            assert drill.at == number
            if drill.typing:
                await pilot.press("escape")
                await settled(app, pilot)
            await pilot.press("g")
            await asked(drill, app, pilot, "judged")
            await pilot.press("enter")
        await asked(drill, app, pilot, "done")
        assert app.theme == "lamp"
        assert "2 given up" in str(drill.query_one("#more", Static).content)
    assert unfinished() == ()


async def test_leaving_in_the_middle_loses_nothing_and_home_goes_on_from_there():
    """One answer given, the app left; home offers the sitting, and it opens at the second question."""
    app = BenchApp(StartRequest())
    async with app.run_test(size=(120, 40)) as pilot:
        home = await until(app, pilot, HomeScreen)
        home.open_sitting("deck", "first-gates")
        drill = await until(app, pilot, DrillScreen)
        await asked(drill, app, pilot)
        drill.do("skip")
        await asked(drill, app, pilot, "judged")
        await pilot.press("ctrl+q")
    assert [record.answered for record in unfinished()] == [1]

    app = BenchApp(StartRequest())
    async with app.run_test(size=(120, 40)) as pilot:
        home = await until(app, pilot, HomeScreen)
        for _ in range(100):
            if any(row.key.startswith("resume:") for row in home.rows) and home.rows[0].name == "Today":
                break
            await pilot.pause(0.05)
        assert home.rows[1].key.startswith("today:")
        assert "10 questions, about" in home.rows[1].name
        at = next(i for i, row in enumerate(home.rows) if row.key.startswith("resume:"))
        assert "question 2 of 20" in home.rows[at].text
        home.options.highlighted = at
        await pilot.press("enter")
        drill = await until(app, pilot, DrillScreen)
        await asked(drill, app, pilot)
        assert drill.at == 1


async def test_two_pictures_are_seen_one_at_a_time_and_a_key_tells_what_is_to_be_read():
    """
    At 80×24 one picture has the whole window, f and Enter show the other in its place; a tells both, by number on the
    picture and in a table; at 200×60 they stand abreast.
    """
    lesson = load_deck("complex-gates")
    page = next(at for at, page in enumerate(lesson.pages) if page.title == "AOI or OAI?")
    app = BenchApp(StartRequest())
    async with app.run_test(size=(80, 24)) as pilot:
        app.push_screen(LessonScreen(lesson, None, page))
        screen = await until(app, pilot, LessonScreen)
        await settled(app, pilot)
        assert (screen.side, len(screen.pictures)) == (0, 1)
        left = screen.picture.subject.face
        assert "f shows the right one" in str(screen.query_one("#said", Static).content)
        assert not screen.picture.subject.overlay.transistors
        await pilot.press("a")
        await settled(app, pilot)
        assert len(screen.picture.subject.overlay.transistors) == 6
        told = str(screen.query_one("#said", Static).content)
        assert re.search(r"1 +[np]", told)
        await pilot.press("f")
        await settled(app, pilot)
        assert screen.side == 1
        assert screen.picture.subject.face is not left
        assert len(screen.picture.subject.overlay.transistors) == 6
        await pilot.press("a", "b")
        await settled(app, pilot)
        assert screen.side == 0
        assert screen.picture.subject.face is left
        assert not screen.picture.subject.overlay.transistors
        await pilot.resize_terminal(200, 60)
        await settled(app, pilot)
        assert (screen.side, len(screen.pictures)) == (None, 2)
        assert all(picture.subject is not None for picture in screen.pictures)


async def test_while_the_lessons_are_read_nothing_is_under_the_cursor_and_it_is_said(monkeypatch):
    """What stands below the lessons is not all there is: an Enter opens nothing in their place, whatever the size."""
    monkeypatch.setattr(HomeScreen, "_read", lambda self: None)
    app = BenchApp(StartRequest())
    async with app.run_test(size=(80, 24)) as pilot:
        home = await until(app, pilot, HomeScreen)
        for size in ((80, 24), (120, 40)):
            await pilot.resize_terminal(*size)
            await settled(app, pilot)
            assert home.options.highlighted is None
            assert str(home.query_one("#intro", Static).content) == COMING
            assert [row.key for row in home.rows] == [row.key for row in OTHER]
        await pilot.press("enter")
        await settled(app, pilot)
        assert app.screen is home


async def test_no_cursor_jumps_when_the_day_is_planned(monkeypatch):
    """Until today stands first nothing is under the cursor of whoever has begun; where it was moved to, it stays."""
    monkeypatch.setattr(HomeScreen, "_plan", lambda self: None)
    below = (Row("lesson:a", "A", state="3 of 5"), Row("resume:1", "Go on"))
    day = Day((Row("", "Today"), Row("today:1", "10 questions")), {})
    app = BenchApp(StartRequest())
    async with app.run_test(size=(80, 24)) as pilot:
        home = await until(app, pilot, HomeScreen)
        await settled(app, pilot)
        for moved, ends in ((False, "today:1"), (True, "resume:1")):
            home._today = Day((), {})
            home.fill(())
            home.on_home_screen_list_read(HomeScreen.ListRead(below))
            assert not home.under_cursor
            if moved:
                home.options.highlighted = 1
            home.on_home_screen_today_planned(HomeScreen.TodayPlanned(day))
            assert home.under_cursor == ends


async def test_home_lists_the_syllabus_and_leads_everywhere():
    """
    Lesson, what one will be able to do, how it stands; help and cautions a key away; the finder, settings, the
    library and a deck's pages, and back.
    """
    app = BenchApp(StartRequest())
    async with app.run_test(size=(120, 40)) as pilot:
        home = await until(app, pilot, HomeScreen)
        for _ in range(100):
            if any(row.key.startswith("lesson:") for row in home.rows):
                break
            await pilot.pause(0.05)
        assert home.under_cursor == f"lesson:{lesson_names()[0]}"  # nobody has begun a lesson: there it begins
        lessons = [row for row in home.rows if row.key.startswith("lesson:")]
        assert [row.key.removeprefix("lesson:") for row in lessons] == list(lesson_names())
        assert all(row.text and row.state == "not begun" for row in lessons)
        await pilot.press("end")
        assert home.query_one(OptionList).highlighted == len(home.rows) - 1
        await pilot.press("enter")
        page = await until(app, pilot, TextPage)
        assert "nitric" in page.words.plain
        await pilot.press("escape", "question_mark")
        page = await until(app, pilot, TextPage)
        assert "Open or change what the cursor is on" in page.words.plain
        await pilot.press("escape", "f3")
        await settled(app, pilot)
        assert app.theme == "daylight"
        await pilot.press("ctrl+p")
        finder = await until(app, pilot, FinderScreen)
        await settled(app, pilot)
        sorts = {row.key.partition(":")[0] for row in finder.rows if row.key}
        assert sorts >= {"do", "lesson", "deck", "cell", "process", "word", "settings"}
        finder.chosen("settings:wear")
        settings = await until(app, pilot, SettingsScreen)
        assert settings.under_cursor == "wear"
        await pilot.press("escape")
        assert await until(app, pilot, HomeScreen) is home
        await library_opens_an_entry(app, pilot, home)
        await pilot.press("escape")
        assert await until(app, pilot, HomeScreen) is home
        deck = load_deck("one-kind-of-transistor")
        home.chosen(f"deck:{deck.name}")
        assert (await until(app, pilot, LessonScreen)).deck.title == deck.title


async def library_opens_an_entry(app, pilot, home):
    """The entry of a cell, through its look-alikes, to a question about it; processes can be looked up too."""
    home.chosen("library:")
    listed = await until(app, pilot, LibraryScreen)
    await settled(app, pilot)
    keys = [row.key for row in listed.rows]
    assert {"process:silicon-gate-nmos", "cell:nand2", "cell:ram_array_4x4"} <= set(keys)
    listed.chosen("cell:super_buffer")
    page = await until(app, pilot, LessonScreen)
    assert "Look for: " in str(page.query_one("#said", Static).content)
    for _ in page.steps:
        await settled(app, pilot)
        assert page.query_one(PictureView).subject is not None
        await turned(page, app, pilot)
    drill = await until(app, pilot, DrillScreen)
    await asked(drill, app, pilot)
    app.leave(drill)
    assert await until(app, pilot, LibraryScreen) is listed


async def test_a_layout_without_its_process_is_mended_in_place(tmp_path):
    """The error stands where the words do, the path stays, the heading names the file, and p works at once."""
    path = tmp_path / "cell.gds"
    path.write_bytes(b"")
    app = BenchApp(StartRequest())
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.pause()
        app.push_screen(ExplainScreen())
        await pilot.pause()
        screen = app.screen
        screen.query_one("#path", Input).value = str(path)
        await pilot.press("enter")
        for _ in range(100):
            if not screen.reading:
                break
            await pilot.pause(0.05)
        assert app.screen is screen
        assert "press p" in str(screen.query_one("#said", Static).content)
        assert "cell.gds" in str(screen.query_one("#heading", Static).content)
        await pilot.press("p")
        await pilot.pause()
        assert isinstance(app.screen, ChoosePage)
        assert screen.query_one("#path", Input).value == str(path)


def test_after_a_lesson_comes_the_next():
    """The order of lessons is that of the syllabus; after the last, and after a deck, nothing follows."""
    names = lesson_names()
    made = [SimpleNamespace(sort="deck", deck=SimpleNamespace(name=name)) for name in (*names, "first-gates")]
    assert [lesson_after(sitting) for sitting in made] == [*names[1:], "", ""]


async def test_a_deck_s_pages_come_before_its_questions():
    """From the command line, as from home: what an author wrote to be read is read first."""
    deck = load_deck("one-kind-of-transistor")
    with Sitting.open_deck(deck, seed=3, count=2) as sitting:
        app = BenchApp(StartRequest(sitting=sitting))
        async with app.run_test(size=(120, 40)) as pilot:
            page = await until(app, pilot, LessonScreen)
            page.act_begin()
            drill = await until(app, pilot, DrillScreen)
            assert drill.sitting is sitting


async def test_the_app_stands_in_its_own_colours(tmp_path, monkeypatch):
    """The theme that it begins in is that of its styles, without having been changed to."""
    from textual.color import Color

    from layoutdrill.screens.themes import THEMES

    monkeypatch.setenv("LAYOUTDRILL_HOME", str(tmp_path))
    for theme in THEMES:
        app = BenchApp(StartRequest(theme=theme.name))
        async with app.run_test(size=(80, 24)) as pilot:
            await pilot.pause()
            assert app.screen.styles.background == Color.parse(theme.background)
            meant = Color.parse(theme.secondary).rgb
            held = Color.parse(app.theme_variables["secondary"]).rgb
            assert max(abs(a - b) for a, b in zip(meant, held, strict=True)) <= 1  # generated by way of other units


def test_a_sitting_is_opened_once_however_often_enter_is_pressed():
    """While a die is being drawn Enter begins no second survey; once it stands, or failed, another can be opened."""
    begun, told = [], []

    class Door(DoorPage):
        bench = SimpleNamespace(kit=None, routes=None, settings=None, show_error=told.append)

        def run_worker(self, work, **_):
            begun.append(work)

        def notify(self, message, **_):
            told.append(message)

    door = Door()
    door.open_sitting("survey", "x|y")
    door.open_sitting("survey", "x|y")
    assert len(begun) == 1
    assert len(told) == 1
    door.on_door_page_opening_failed(DoorPage.OpeningFailed(ValueError()))
    door.open_sitting("survey", "x|y")
    assert len(begun) == 2
