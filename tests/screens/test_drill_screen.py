"""The drill, driven by keys and mouse with a sitting made by hand; messages are asserted before what is shown."""

import re
from dataclasses import replace

import pytest
from textual.content import Content
from textual.widgets import Input, Static

from layoutdrill.question.model import Hint, HintStep
from layoutdrill.screens import subject as subject_module
from layoutdrill.screens.answer_line import AnswerLine
from layoutdrill.screens.app import BenchApp, StartRequest
from layoutdrill.screens.drill_picture import AIDED
from layoutdrill.screens.drill_screen import DrillScreen
from layoutdrill.screens.error_panel import ErrorPanel
from layoutdrill.screens.key_line import KeyLine
from layoutdrill.screens.picture_view import PictureView
from tests.screens.fakes import FakeSitting, count_question

TOLD = (
    DrillScreen.QuestionReady,
    DrillScreen.AnswerJudged,
    DrillScreen.NotPrepared,
    DrillScreen.NotKept,
)


@pytest.fixture(autouse=True)
def _own_home(tmp_path, monkeypatch):
    monkeypatch.setenv("LAYOUTDRILL_HOME", str(tmp_path))


class Heard:
    """The facts that were posted, in order, without those of looking about."""

    def __init__(self):
        self.names, self.seen = [], []

    def __call__(self, message):
        """A message bubbles through several pumps; it counts once."""
        if isinstance(message, TOLD) and all(message is not other for other in self.seen):
            self.seen.append(message)
            self.names.append(type(message).__name__)


async def settled(app, pilot):
    """Let every worker finish and its messages be handled."""
    for _ in range(3):
        await app.workers.wait_for_complete()
        for screen in app.screen_stack:
            await screen.workers.wait_for_complete() if hasattr(screen, "workers") else None
        await pilot.pause()


def words(app, name="#said"):
    content = app.screen.query_one(name, Static).content
    return content.plain if isinstance(content, Content) else str(content)


def told(app):
    return app.screen.query_one(KeyLine).content.plain


async def test_a_sitting_from_the_first_question_to_the_last():
    """By letter, typed and pointed: each answer is judged once, and one key leads on."""
    heard, sitting = Heard(), FakeSitting()
    app = BenchApp(StartRequest(sitting=sitting))
    async with app.run_test(size=(120, 40), message_hook=heard) as pilot:
        await settled(app, pilot)
        assert heard.names == ["QuestionReady", "QuestionReady"]
        assert "Which structure is this?" in words(app)
        assert "a–d answer" in told(app)
        assert app.screen.query_one(PictureView).has_focus

        await pilot.press("h", "a")
        await settled(app, pilot)
        assert heard.names[2:] == ["AnswerJudged"]
        assert "You said: NAND2" in words(app)
        assert "side by side" in told(app)
        assert "M1" not in words(app, "#more")
        assert "VSS, Y" in words(app, "#more")
        assert "━━━┯━━━ VDD" in words(app, "#more")

        await pilot.press("enter")
        await settled(app, pilot)
        assert "How many transistors" in words(app)
        assert app.focused is app.screen.query_one(Input)
        assert "a–d" not in told(app)

        await pilot.press("x", "enter")
        await settled(app, pilot)
        assert "a number is wanted" in words(app)
        assert len(sitting.kept) == 1
        await pilot.press("backspace", "2", "enter")
        await settled(app, pilot)
        assert "One gate line serves both." in words(app)

        await pilot.press("enter")
        await settled(app, pilot)
        picture = app.screen.query_one(PictureView)
        assert picture.crosshair is not None
        before = picture.crosshair
        await pilot.press("left", "enter")
        await settled(app, pilot)
        kind, answer, _ = sitting.kept[2]
        assert kind == "point"
        assert answer.point[0] < before[0]

        await pilot.press("enter")
        await settled(app, pilot)
        assert "That was all of it." in words(app)
        assert not re.search(r"3 of 3|px/λ", words(app, "#heading"))
    assert [(kind, len(hints)) for kind, _, hints in sitting.kept] == [("name", 1), ("count", 0), ("point", 0)]


async def test_a_question_that_cannot_be_drawn_is_told_and_the_app_lives_on():
    """The panel says what and what to do; leaving it leads back."""
    app = BenchApp(StartRequest(sitting=FakeSitting(broken=True)))
    async with app.run_test(size=(80, 24)) as pilot:
        await settled(app, pilot)
        assert isinstance(app.screen, ErrorPanel)
        shown = app.screen.words.plain
        assert "the drawing is not there" in shown
        assert "try another deck" in shown
        await pilot.press("escape")
        await settled(app, pilot)
        assert isinstance(app.screen, DrillScreen)


async def test_a_click_answers_a_pointing_question_and_drag_moves_the_picture():
    """Everything goes by mouse too."""
    sitting = FakeSitting(position=2)
    app = BenchApp(StartRequest(sitting=sitting))
    async with app.run_test(size=(120, 40)) as pilot:
        await settled(app, pilot)
        picture = app.screen.query_one(PictureView)
        picture.zoom(4)
        await settled(app, pilot)
        left = picture.view.left
        await pilot.mouse_down(picture, offset=(30, 10))
        await pilot.hover(picture, offset=(20, 10))
        await pilot.mouse_up(picture, offset=(20, 10))
        await settled(app, pilot)
        assert picture.view.left == left + 10
        assert sitting.kept == []

        place = picture.view.point(20, 24)
        await pilot.click(picture, offset=(20, 12))
        await settled(app, pilot)
        _, answer, _ = sitting.kept[0]
        assert answer.point == place


async def test_resizing_at_any_moment_and_a_window_too_small():
    """Where a drawing is high rather than wide it stays beside the words; too small a window says what it lacks."""
    app = BenchApp(StartRequest(sitting=FakeSitting()))
    async with app.run_test(size=(120, 40)) as pilot:
        await settled(app, pilot)
        screen = app.screen
        assert screen.query_one("#words").region.x > 60
        await pilot.resize_terminal(80, 24)
        await settled(app, pilot)
        assert screen.query_one("#words").region.x > 40
        assert screen.query_one(PictureView).view.whole
        assert screen.query_one(PictureView).size.height >= 12
        await pilot.resize_terminal(50, 15)
        await settled(app, pilot)
        assert "10 columns wider and 5 rows higher" in str(words(app, "#small"))
        await pilot.resize_terminal(200, 60)
        await settled(app, pilot)
        assert not screen.has_class("-tiny")
        assert screen.query_one(PictureView).view.columns == screen.query_one(PictureView).size.width


async def test_the_picture_moves_from_the_line_of_text():
    """An arrow in the empty line moves the picture, and Ctrl with an arrow does while something stands there."""
    app = BenchApp(StartRequest(sitting=FakeSitting(position=1)))
    async with app.run_test(size=(80, 24)) as pilot:
        await settled(app, pilot)
        picture, line = app.screen.query_one(PictureView), app.screen.query_one("#answer", Input)
        assert app.focused is line
        picture.zoom(4)
        await settled(app, pilot)
        assert "More lies" in words(app, "#beyond")
        before = picture.view.left
        await pilot.press("left")
        await settled(app, pilot)
        assert picture.view.left < before
        await pilot.press("7", "ctrl+right", "ctrl+right")
        await settled(app, pilot)
        assert picture.view.left > before
        assert line.value == "7"
        assert app.focused is line


async def test_keys_are_told_truly_and_one_that_does_nothing_says_why():
    """
    Every entry of the moment can be clicked, and does what it says. Compare comes with a verdict: pressed before, it
    says so, and nothing happens. While the picture is being drawn an answer is told to wait, and nothing is kept; once
    it can be seen it counts.
    """
    app = BenchApp(StartRequest(sitting=FakeSitting()))
    async with app.run_test(size=(120, 40), notifications=True) as pilot:

        def noted():
            return [note.message for note in app._notifications]

        await settled(app, pilot)
        picture = app.screen.query_one(PictureView)
        assert " look " not in told(app)
        at = told(app).index("t type")
        await pilot.click(KeyLine, offset=(at, 0))
        await settled(app, pilot)
        assert app.focused is app.screen.query_one(Input)
        assert "Esc leave the line" in told(app)
        await pilot.press("escape")
        await settled(app, pilot)
        assert picture.has_focus
        await crosshair_moves(picture, pilot)
        await pilot.press("s")
        await settled(app, pilot)
        assert noted() == ["That comes with the verdict."]
        assert isinstance(app.screen, DrillScreen)
        await pilot.press("v")
        await settled(app, pilot)
        assert len(app._notifications) == 1  # the same remark again, or another, takes the place of the last
        await pilot.press("ctrl+c")
        await settled(app, pilot)
        assert noted() == ["^Q leaves layoutdrill; answers given are kept."]
        drawn_piece, picture._piece = picture._piece, None
        await pilot.press("b")
        await settled(app, pilot)
        assert app.screen.phase == "asking"
        assert noted() == ["The picture is still being drawn: answer once it can be seen."]
        assert app.screen.sitting.kept == []
        picture._piece = drawn_piece
        await pilot.press("b")
        await settled(app, pilot)
        assert app.screen.phase == "judged"


async def crosshair_moves(picture, pilot):
    """
    An arrow moves it one way, by a half-pixel or a grid unit if that is more, at every scale; shift and an arrow by
    eight half-pixels, to a grid unit.
    """
    picture.toggle_crosshair(on=True)
    for zoom in ("+", "0"):
        scale, per = picture.view.scale, picture.view.per_lambda
        for key, across, up in (("left", -1, 0), ("right", 1, 0), ("down", 0, -1), ("up", 0, 1)):
            for shift, half_pixels in (("", 1), ("shift+", 8)):
                x, y = picture.crosshair
                await pilot.press(shift + key)
                dx, dy = picture.crosshair[0] - x, picture.crosshair[1] - y
                assert (dx * up, dy * across) == (0, 0)
                wanted = max(1, half_pixels * per / scale)
                assert abs(dx * across + dy * up - wanted) <= 1, (key, scale)
        await pilot.press(zoom)
        await pilot.pause()
    picture.toggle_crosshair(on=False)


async def test_the_next_picture_is_drawn_while_this_one_is_answered(monkeypatch):
    """Going on finds the next question's picture drawn, without another turn of a worker; the one after is prepared."""
    painted = []

    def noted(subject, region, scale, real=subject_module.paint):
        painted.append((subject.overlay, region, scale))
        return real(subject, region, scale)

    monkeypatch.setattr(subject_module, "paint", noted)
    app = BenchApp(StartRequest(sitting=FakeSitting()))
    async with app.run_test(size=(120, 40)) as pilot:
        await settled(app, pilot)
        picture = app.screen.picture
        shown = next(iter(picture._drawer._images))
        ahead = [marks for marks, _, _ in painted if marks.marks]
        assert shown
        assert len(ahead) == 1
        assert ahead[0].marks[0].text == "P"
        await pilot.press("a")
        await settled(app, pilot)
        before = list(painted)
        app.screen.go_to(app.screen.at + 1)
        assert picture.stands
        await settled(app, pilot)
        after = painted[len(before) :]
        assert all(not marks.marks for marks, _, _ in after)
        assert app.screen.sitting.prepared(2) is not None


async def test_enter_pressed_twice_answers_no_question_that_nobody_has_seen():
    """A crosshair that stands where it was put answers only at the second Enter; once moved, at the first."""
    sitting = FakeSitting(position=2)
    app = BenchApp(StartRequest(sitting=sitting))
    async with app.run_test(size=(120, 40)) as pilot:
        await settled(app, pilot)
        await pilot.press("enter")
        await settled(app, pilot)
        assert sitting.kept == []
        assert app.screen.phase == "asking"
        await pilot.press("enter")
        await settled(app, pilot)
        assert [kind for kind, _, _ in sitting.kept] == ["point"]


async def test_the_aid_that_is_on_unasked_is_told_and_not_sold():
    """
    Seen at one half-pixel a λ a photograph has the tracing aid: that is said, its hint costs nothing, the answer counts
    as helped; closer it is off. While a number is typed ^T shows the crosshair and the heading tells its place; after
    the verdict Esc leads from the table back to the picture, and does not leave.
    """
    sitting = FakeSitting(position=1)
    aid = Hint(HintStep.AID, "The tracing aid is on.", 0.1)
    sitting.made[1] = replace(count_question(), hints=(aid,))
    app = BenchApp(StartRequest(sitting=sitting))
    async with app.run_test(size=(120, 40)) as pilot:
        await settled(app, pilot)
        screen = app.screen
        picture = screen.query_one(PictureView)
        picture.change(lambda subject: replace(subject, look="reflected-light"))  # a console of few colours has another
        picture.zoom(-9)
        await settled(app, pilot)
        assert picture.view.scale == 1
        assert screen.priced((aid,))[0].cost == 0
        assert AIDED in words(app, "#beyond")
        await pilot.press("f2")
        await settled(app, pilot)
        assert "Hint: The tracing aid is on." in words(app, "#said")
        picture.zoom(1)
        await settled(app, pilot)
        assert AIDED not in words(app, "#beyond")
        await pilot.press("2", "ctrl+t")
        await settled(app, pilot)
        assert picture.crosshair is not None
        assert picture.subject.face.unit.at(*picture.crosshair) in words(app, "#heading")
        assert screen.query_one(AnswerLine).value == "2"
        await pilot.press("enter")
        await settled(app, pilot)
        assert [(hint.step, hint.cost) for hint in sitting.kept[0][2]][-1] == (HintStep.AID, 0.0)
        await pilot.press("v")
        await settled(app, pilot)
        assert screen.has_class("-full")
        await pilot.press("escape")
        await settled(app, pilot)
        assert app.screen is screen
        assert not screen.has_class("-full")
