"""What was left is offered again, help that was given stays given, settings are found where they were."""

import pytest

from layoutdrill.drill.lesson_states import DONE
from layoutdrill.drill.sitting import Sitting
from layoutdrill.locations import records_file, settings_file, settings_file_before
from layoutdrill.question import kinds
from layoutdrill.screens.app import BenchApp, StartRequest
from layoutdrill.screens.choose_page import ChoosePage
from layoutdrill.screens.course import lesson_after
from layoutdrill.screens.drill_phases import why_not_now
from layoutdrill.screens.drill_screen import DrillScreen
from layoutdrill.screens.ending import how_it_stands
from layoutdrill.screens.home_screen import HomeScreen
from layoutdrill.screens.lesson_screen import LessonScreen
from layoutdrill.screens.list_page import holding
from layoutdrill.screens.row import Row
from layoutdrill.screens.settings import load_settings
from layoutdrill.screens.shelf import home_rows
from tests.screens.fakes import FakeSitting, point_question


@pytest.fixture
def home(tmp_path, monkeypatch):
    monkeypatch.setenv("LAYOUTDRILL_HOME", str(tmp_path))
    return tmp_path


def begun(deck, seed):
    with Sitting.open_deck(deck, seed=seed, count=3) as sitting:
        sitting.skip(sitting.prepare(0), 1.0)
        return sitting.id


def test_every_unfinished_sitting_is_listed_and_its_lesson_says_where(home):
    """Six were left, of one lesson and of several: six are offered, the newest first."""
    ids = [begun(deck, seed) for seed, deck in enumerate(("rails", "rails", "inverter", "first-gates") * 2) if seed < 6]
    rows, trouble = home_rows()
    assert trouble is None
    offered = [row.key for row in rows if row.key.startswith("resume:")]
    assert offered == [f"resume:{number}" for number in reversed(ids)]
    states = {row.key: row.state for row in rows}
    assert states["lesson:rails"] == "at 2 of 3"
    assert states["lesson:inverter"] == "at 2 of 3"


async def test_a_lesson_that_was_left_offers_to_go_on(home):
    """Its own row leads to where one was, or to the first page."""
    number = begun("rails", 1)
    app = BenchApp(StartRequest())
    async with app.run_test(size=(100, 30)) as pilot:
        await pilot.pause()
        assert isinstance(app.screen, HomeScreen)
        app.screen.chosen("lesson:rails")
        await pilot.pause()
        assert isinstance(app.screen, ChoosePage)
        assert [row.key for row in app.screen.rows] == [f"resume:{number}", "anew:rails"]


async def opened_anew(number, keys, come_to):
    """Go on with a sitting of a lesson, press keys, leave; return its number, and the screen that it began on."""
    with Sitting.open_deck("rails", seed=2, count=3) if number is None else Sitting.resume(number) as sitting:
        app = BenchApp(StartRequest(sitting=sitting))
        async with app.run_test(size=(100, 30)) as pilot:
            await pilot.pause()
            first = app.screen
            await pilot.press(*keys)
            for _ in range(200):
                if isinstance(app.screen, come_to):
                    break
                await pilot.pause(0.02)
            assert isinstance(app.screen, come_to)
        return sitting.id, first


async def test_one_goes_on_with_the_page_or_the_question_that_one_had_come_to(home):
    """Left on the third page, then at the first question: the next time each is there again."""
    number, first = await opened_anew(None, ("n", "n"), LessonScreen)
    left = first.steps[first.at].page
    assert left > 0
    number, first = await opened_anew(number, ("q",), DrillScreen)
    assert isinstance(first, LessonScreen)
    assert first.steps[first.at].page == left
    _, first = await opened_anew(number, (), DrillScreen)
    assert isinstance(first, DrillScreen)


def test_help_that_was_given_stays_given(home):
    """Two hints, left, gone on with: they still cost what they cost."""
    with Sitting.open_deck("first-gates", seed=3, count=2) as sitting:
        question = sitting.prepare(0)
        assert sitting.hints_given(0) == 0
        sitting.note_hint(0)
        sitting.note_hint(0)
    with Sitting.resume(1) as again:
        assert again.hints_given(0) == 2
        assert again.hints_given(1) == 0
        assert [hint.step for hint in again.prepare(0).hints[:2]] == [hint.step for hint in question.hints[:2]]


def test_a_question_given_up_is_no_wrong_answer(home):
    """It is left out of what a lesson's state rests on."""
    from layoutdrill.drill.lesson_states import lesson_states

    begun("rails", 1)
    (state,) = lesson_states({"rails": 12})
    assert (state.answered, state.counted) == (1, 0)


def test_settings_move_to_where_the_platform_keeps_them(tmp_path, monkeypatch):
    """A file with the data is moved over once; both places: the XDG base directory specification."""
    monkeypatch.delenv("LAYOUTDRILL_HOME", raising=False)
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path / "config"))
    assert records_file() == tmp_path / "data" / "layoutdrill" / "records.sqlite"
    assert settings_file() == tmp_path / "config" / "layoutdrill" / "settings.yaml"
    assert settings_file().parent != settings_file_before().parent
    settings_file_before().parent.mkdir(parents=True)
    settings_file_before().write_text("theme: 'daylight'\n")
    assert load_settings()[0].theme == "daylight"
    assert settings_file().is_file()
    assert not settings_file_before().exists()
    assert load_settings()[0].theme == "daylight"


def test_after_a_lesson_comes_the_next_one():
    """Whether its questions were opened as a lesson's or as a deck's."""
    for sort in ("lesson", "deck"):
        sitting = FakeSitting(sort=sort)
        sitting.deck = type("D", (), {"name": "rails"})()
        assert lesson_after(sitting)
    assert lesson_after(FakeSitting(sort="practice")) == ""


def test_a_list_narrows_to_what_holds_every_word():
    """Under its headings, the row that begins so first; a heading with nothing left goes."""
    rows = (
        Row("", "one"),
        Row("a", "dual nand2"),
        Row("b", "nand2"),
        Row("", "two"),
        Row("c", "nor2", "look like nand"),
    )
    assert [row.name for row in holding(rows, "nand")] == ["one", "nand2", "dual nand2", "two", "nor2"]
    assert [row.name for row in holding(rows, "NAND 2")] == ["one", "nand2", "dual nand2", "two", "nor2"]
    assert [row.name for row in holding(rows, "dual")] == ["one", "dual nand2"]
    assert holding(rows, "") == rows


def test_a_letter_where_a_place_is_asked_is_told_so():
    """Not that the answer is typed, which it is not."""
    assert "the arrows move the crosshair" in why_not_now("choose_a", "asking", point_question())


def test_free_practice_remembers_its_choices(home):
    """What was chosen stands there the next time; what is no more is left open."""
    from layoutdrill.screens.practice_screen import Choice, remembered
    from layoutdrill.screens.settings import Settings, save_settings

    save_settings(Settings(practice_cell="nor2", practice_kind="spot", practice_difficulty="0.6", count=20))
    assert remembered(load_settings()[0]) == Choice("nor2", "", "spot", "0.6", "20")
    assert remembered(Settings(practice_cell="no such cell")) == Choice()


def test_lists_begin_with_the_cells_that_a_learner_meets_first():
    """Families in the order in which the lessons meet them; the inverter stands first of all."""
    from layoutdrill.cells import cell_names, cells_as_met, load_cell
    from layoutdrill.deck import lesson_names, load_deck
    from layoutdrill.screens.library import library_rows

    names = cells_as_met()
    assert sorted(names) == sorted(cell_names())
    assert names[0] == "inverter"
    families = list(dict.fromkeys(load_cell(name).family for name in names))
    met = [load_cell(p.cell).family for name in lesson_names() for page in load_deck(name).pages
           for p in page.pictures if p.cell in cell_names()]  # fmt: skip
    order = [families.index(family) for family in dict.fromkeys(met)]
    assert order == sorted(order)
    assert next(row.key for row in library_rows() if row.key) == "cell:inverter"


def test_what_is_sought_by_its_name_is_what_enter_opens():
    """A lesson whose name begins with the letters comes before a row whose text only holds them."""
    from layoutdrill.screens.list_page import nearest

    rows = (Row("", "Today"), Row("today:1", "10 questions", "layers, contact, …"),
            Row("lesson:x", "3. Contact, crossing", "…"), Row("deck:y", "A contact", ""))  # fmt: skip
    assert nearest(rows, "contact") == 2
    assert nearest(rows, "layers") == 1
    assert nearest((Row("", "none"),), "x") is None


def test_the_end_of_a_lesson_says_whether_it_is_done(home):
    """Of questions given up there is no share to tell; when it counts as done stands there in any case."""
    with Sitting.open_deck("rails", seed=1, count=1) as sitting:
        sitting.skip(sitting.prepare(0), 1.0)
        assert how_it_stands(sitting) == f"This lesson is not done yet ({DONE})."
    with Sitting.open_deck("rails", seed=2, count=1) as sitting:
        question = sitting.prepare(0)
        sitting.submit(question, kinds()[question.kind].solution(question), 1.0)
        assert how_it_stands(sitting).startswith("This lesson is not done yet: 1 of its last 1 answers right")
    with Sitting.open_deck("first-gates", seed=1, count=1) as sitting:
        assert how_it_stands(sitting) == ""
