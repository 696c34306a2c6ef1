"""Each kind of question is answered rightly and wrongly, by keys, by mouse and in plain mode, and judged each time."""

import io
from functools import cache

import pytest
from textual import events
from textual.widgets import Static

from layoutdrill.dice import Dice
from layoutdrill.drill.plain import run_plain
from layoutdrill.errors import LayoutdrillError
from layoutdrill.picture.looks import load_look
from layoutdrill.question import Answer, kinds
from layoutdrill.question.evidence_rule import ask_in_look
from layoutdrill.screens.answer_line import AnswerLine
from layoutdrill.screens.app import BenchApp, StartRequest
from layoutdrill.screens.grid_words import next_letter
from layoutdrill.screens.key_line import KeyLine
from layoutdrill.screens.listing_words import rows_of_text
from layoutdrill.screens.picture_view import PictureView
from tests.question.conftest import CELL_KINDS, drawn
from tests.sampling import ROTATED, WHOLE
from tests.screens.fakes import FakeSitting
from tests.screens.test_drill_screen import settled, told

CELLS = {"sequence": "latch_gates", "address": "half_adder", "two stages": "aoi21", "across a seam": "aoi21"}
LOOK = "stick-colours"
TYPED = ("b", "c", "a", "z", "0", "1", "7", "10", "none", "a b", "A 1", "B 1", "1 1 2", "Q")
"""What is tried as a wrong answer, until one is taken that does not earn all."""


@pytest.fixture(autouse=True)
def _own_home(tmp_path, monkeypatch):
    monkeypatch.setenv("LAYOUTDRILL_HOME", str(tmp_path))


@cache
def asked(name):
    """Return a question of a kind about a small cell, in mask colours or in the look that is its own."""
    specimen = drawn(CELLS.get(name, "nand2"), "silicon-gate-cmos", 1)
    questions = (ask_in_look(kinds()[name], specimen, Dice(seed), load_look(LOOK)) for seed in range(60))
    return next(question for question in questions if question is not None)


def wrong_answer(question):
    """Return an answer that the kind takes and that does not earn all."""
    kind = kinds()[question.kind]
    if question.pointed:
        box = question.specimen.face.box
        return Answer(point=(box.x0, box.y0))
    if question.grid is not None:
        right = kind.solution(question).text
        return Answer(("1" if right[0] == "0" else "0") + right[1:])
    if question.listing is not None:
        return Answer("n a b c")
    first, *others = kind.solution(question).text.split()
    turned = " ".join([*others[:1], first, *others[1:]])
    for text in (*TYPED, turned, first.translate(str.maketrans("01", "10"))):
        try:
            answer = kind.accept(question, text)
        except LayoutdrillError:
            continue
        if kind.grade(question, answer).credit < 1:
            return answer
    raise AssertionError(f"no wrong answer to {question.prompt}")


class EveryKind(FakeSitting):
    """A sitting of one question of each kind, judged by the kinds themselves."""

    def __init__(self, names=None):
        self.names = names or CELL_KINDS
        super().__init__(total=len(self.names))
        self.credits = {}

    def __enter__(self):
        return self

    def __exit__(self, *exc):
        self.close()

    def prepare(self, index):
        return self.made.setdefault(index, asked(self.names[index]))

    def accept(self, question, text):
        return kinds()[question.kind].accept(question, text)

    def submit(self, question, answer, seconds, hints, confidence=None):
        verdict = kinds()[question.kind].judge(question, answer, question.look)
        self.credits[question.kind] = verdict.credit
        self.kept.append((question.kind, answer, hints))
        return verdict


def given(sitting, *, right):
    """Yield each question with the answer that it will be given."""
    for name in sitting.names:
        question = sitting.prepare(sitting.names.index(name))
        yield question, kinds()[name].solution(question) if right else wrong_answer(question)


async def by_keys(app, pilot, question, answer):
    """Press a letter; or move the crosshair; or write, a row at a time where rows are asked for."""
    if answer.point is not None:
        await move_to(app.screen.query_one(PictureView), pilot, answer.point)
        await pilot.press("enter")
    elif question.choices and not question.typed and len(answer.text) == 1:
        await pilot.press(answer.text)
    elif question.grid is not None:
        await pilot.press(*answer.text, "enter")
    elif question.listing is not None:
        for row in rows_of_text(answer.text):
            await write(pilot, row)
            await pilot.press("enter")
        await pilot.press("enter")
    else:
        if not app.screen.query_one(AnswerLine).has_focus:
            await pilot.press("t")
        await write(pilot, answer.text)
        await pilot.press("enter")


async def write(pilot, text):
    names = {" ": "space", "-": "minus", "+": "plus", "*": "asterisk", ",": "comma", ".": "full_stop"}
    await pilot.press(*(names.get(letter, letter) for letter in text))


async def move_to(picture, pilot, place):
    """Move the crosshair by the arrows until it stands where the place is shown, far steps first."""
    face, light = picture.subject.face, picture.subject.light
    goal = picture.view.spot(*face.seen_at(light, *place))
    for _ in range(400):
        at = picture.view.spot(*picture.crosshair)
        across, up = goal[0] - at[0], goal[1] - at[1]
        if abs(across) < 1 and abs(up) < 2:
            return
        key = ("right" if across > 0 else "left") if abs(across) >= 1 else ("down" if up > 0 else "up")
        far = "shift+" if max(abs(across), abs(up) * (abs(across) < 1)) >= 16 else ""
        before = picture.crosshair
        await pilot.press(far + key)
        if picture.crosshair == before:
            return  # at the picture's edge


async def by_mouse(app, pilot, question, answer):
    """Click a choice, a place, rows, names; what can only be written is pasted, and handed in by a click."""
    screen = app.screen
    if answer.point is not None:
        picture = screen.query_one(PictureView)
        seen = picture.subject.face.seen_at(picture.subject.light, *answer.point)
        column, half = picture.view.spot(*seen)
        spot = (min(max(column, 0), picture.size.width - 1), min(max(half // 2, 0), picture.size.height - 1))
        await pilot.click(picture, offset=spot)
    elif question.choices and not question.typed and len(answer.text) == 1:
        await pilot.click("#said", offset=place_of(screen.query_one("#said"), f"{answer.text}  "))
    elif question.grid is not None:
        line = screen.query_one(AnswerLine)
        for row, wanted in enumerate(answer.text):
            clicks, letter = 0, line.value[row]
            while letter != wanted:
                letter, clicks = next_letter(question.grid, letter), clicks + 1
            for _ in range(clicks):
                await pilot.click("#grid", offset=place_of_row(screen.query_one("#grid"), row))
        await pilot.click(KeyLine, offset=(told(app).index("Enter answer"), 0))
    elif question.listing is not None:
        for row in rows_of_text(answer.text):
            for word in row.split():
                await click_name(screen.query_one("#grid"), pilot, word)
            await pilot.click("#grid", offset=place_of(screen.query_one("#grid"), "Enter: next line"))
        await pilot.click("#grid", offset=place_of(screen.query_one("#grid"), "Enter on an empty line"))
    else:
        if not screen.query_one(AnswerLine).has_focus:
            await pilot.click(KeyLine, offset=(told(app).index("t type"), 0))
            await pilot.pause()
        screen.query_one(AnswerLine).post_message(events.Paste(answer.text))
        await pilot.pause()
        await pilot.click(KeyLine, offset=(told(app).index("Enter answer"), 0))


def shown(widget):
    return [widget.render_line(y).text for y in range(widget.size.height)]


def place_of(widget, text):
    """Return where a text begins in a widget, as (column, row)."""
    for row, drawn_line in enumerate(shown(widget)):
        at = drawn_line.find(text)
        if at >= 0 and (at == 0 or drawn_line[at - 1] == " "):
            return at, row
    raise AssertionError(f"{text!r} is not in sight: {shown(widget)}")


def place_of_row(widget, number):
    """Return where a row of a table stands: blocks of rows stand beside one another, counted down each of them."""
    head, *rows = shown(widget)
    block, row = divmod(number, len(rows))
    assert block < head.count("│")
    return [at for at, letter in enumerate(rows[row]) if letter == "│"][block], row + 1


async def click_name(widget, pilot, word):
    """Click a name among those offered; one that is not known yet is pasted."""
    for row, drawn_line in enumerate(shown(widget)):
        names = drawn_line.removeprefix("names  ").split()
        if drawn_line.startswith("names  ") and word in names:
            before = len("names  ") + sum(len(name) + 2 for name in names[: names.index(word)])
            await pilot.click(widget, offset=(before, row))
            return
    line = widget.screen.query_one(AnswerLine)
    line.value = f"{line.value.rstrip()} {word}".lstrip()


CASES = [(way, right) for way in (by_keys, by_mouse) for right in (True, False)]


@pytest.mark.parametrize(("way", "right"), CASES, ids=["keys-right", "keys-wrong", "mouse-right", "mouse-wrong"])
async def test_each_kind_in_the_app(way, right):
    """
    Every kind takes its answer by this way alone: the right one earns all, a wrong one less, and words say why.

    Each kind once over the four cases, in a whole sweep each in all of them.
    """
    turn = (CASES.index((way, right)) + ROTATED) % len(CASES)
    sitting = EveryKind(CELL_KINDS if WHOLE else CELL_KINDS[turn :: len(CASES)])
    app = BenchApp(StartRequest(sitting=sitting))
    async with app.run_test(size=(120, 40)) as pilot:
        for question, answer in given(sitting, right=right):
            await settled(app, pilot)
            assert app.screen.asked is question
            await way(app, pilot, question, answer)
            await settled(app, pilot)
            assert app.screen.phase == "judged", f"{question.kind}: {answer.text!r} was not handed in"
            assert app.screen.query_one("#said", Static).content
            await pilot.press("enter")
        await settled(app, pilot)
    assert {name: credit == 1 for name, credit in sitting.credits.items()} == dict.fromkeys(sitting.names, right)


@pytest.mark.parametrize("right", [True, False], ids=["right", "wrong"])
def test_each_kind_in_plain_text(right):
    """
    Every kind takes its answer as a line of text, a place by its coordinates.

    Each kind once over both, in a whole sweep each in both.
    """
    sitting = EveryKind(CELL_KINDS if WHOLE else CELL_KINDS[(right + ROTATED) % 2 :: 2])
    lines = []
    for question, answer in given(sitting, right=right):
        unit = question.specimen.process.grid_per_lambda
        at = "" if answer.point is None else f"{answer.point[0] / unit:g}, {answer.point[1] / unit:g}"
        lines.append(at or answer.text)
    out = io.StringIO()
    assert run_plain(sitting, io.StringIO("brief\n" + "\n".join(lines) + "\n"), out) == 0
    assert {name: credit == 1 for name, credit in sitting.credits.items()} == dict.fromkeys(sitting.names, right)
    assert out.getvalue().count("What decides: ") == len(sitting.names)
