"""Words on the screens: verdicts, home, progress, settings, cautions, the doctor, completions."""

import re
from dataclasses import replace
from datetime import UTC, datetime
from textwrap import wrap

import pytest

from layoutdrill.cells import load_cell
from layoutdrill.deck.specimen import drawn
from layoutdrill.drill.lesson_states import LessonState
from layoutdrill.drill.record import Left
from layoutdrill.drill.summary import Slip, Summary, Tally
from layoutdrill.drill.today import plan_today
from layoutdrill.errors import LayoutdrillError, Where
from layoutdrill.question.model import Answer, Mark, Verdict
from layoutdrill.question.naming import sentence
from layoutdrill.screens.cautions import about_text
from layoutdrill.screens.doctor import colours, report
from layoutdrill.screens.doors import OTHER
from layoutdrill.screens.ending import summary_text
from layoutdrill.screens.error_panel import error_text
from layoutdrill.screens.focus import BESIDE, out_of_sight
from layoutdrill.screens.lines import unwrapped
from layoutdrill.screens.list_page import laid_out
from layoutdrill.screens.page import headed, too_small
from layoutdrill.screens.row import Row
from layoutdrill.screens.settings import Settings, load_settings, save_settings
from layoutdrill.screens.shelf import home_rows, left_at, standing
from layoutdrill.screens.viewport import Viewport
from layoutdrill.screens.wording import asides, asking, devices_of, explanation, judged, missed_by
from tests.screens.fakes import count_question, name_question, point_question


def test_choices_are_lettered_in_plain_text():
    """Letters a to d, each with its words; narrow, two stand on a line."""
    wide = asking(name_question(), 0, "", wide=True).plain
    assert "a  NAND2\nb  inverter\nc  NOR2\nd  transmission gate" in wide
    narrow = asking(name_question(), 0, "", wide=False).plain
    assert "a  NAND2" in narrow.splitlines()[1]
    assert "b  inverter" in narrow.splitlines()[1]


def test_facts_and_remarks_may_hold_brackets():
    """Text of cells and learners is never read as markup."""
    text = asking(count_question(), 0, "no [such] thing", wide=True).plain
    assert "body ties are not drawn [taps]" in text
    assert "no [such] thing" in text


def test_hints_tell_their_price():
    """What is shown, and what the next one costs."""
    text = asking(name_question(), 1, "", wide=True).plain + asides(name_question(), 1, "", wide=True).plain
    assert "Hint, −10%: Count the gate lines first." in text
    assert "The next hint costs 20% of the credit." in text


@pytest.mark.parametrize(
    ("credit", "hints", "wanted", "unwanted"),
    [
        (1.0, 0, "Right: inverter.", "Credit"),
        (0.7, 1, "Credit: 70% after 1 hint", "You said"),
        (0.0, 0, "You said: NOR2", "Credit"),
    ],
)
def test_a_verdict_says_how_it_went(credit, hints, wanted, unwanted):
    """Right, right after hints, wrong."""
    summary = "Right: inverter." if credit else "Look again."
    answer = Answer("c") if not credit else Answer("Right: inverter")
    text = judged(name_question(), answer, Verdict(credit, summary, "inverter", "one gate line"), hints).plain
    assert wanted in text
    assert unwanted not in text
    assert "What decides: One gate line." in text


def test_paragraphs_are_unwrapped_for_the_screen_to_wrap():
    """Lines broken in a deck's file do not break on the screen."""
    assert unwrapped("one\ntwo\n\n three\n") == "one two\n\nthree"


def test_rows_are_as_wide_as_the_list_and_no_wider():
    """A cut text says so, so that nobody takes it for the whole."""
    rows = (Row("", "Syllabus", "x" * 200), Row("a", "A lesson", "word " * 40, "3 of 5"), Row("b", "B", "", ""))
    for width in (50, 70, 110):
        shown = laid_out(rows, width)
        assert all(content.cell_length <= width for content in shown)
        assert "…" in shown[1].plain


def test_what_a_row_of_home_says_is_told_whole_above_the_list(tmp_path, monkeypatch):
    """At 80 columns the line above has three rows of 76: for lessons, decks, the rest, and a day of ten skills."""
    monkeypatch.setenv("LAYOUTDRILL_HOME", str(tmp_path))
    rows, _ = home_rows()
    day = plan_today(datetime.now(UTC), seed=1)
    for words in (day.words, *(row.text for row in (*rows, *OTHER))):
        assert len(wrap(words, 76)) <= 3, words
        assert not words.endswith("…")


def test_what_was_left_says_where_and_when():
    """The next question, and the day in words."""
    left = Left(3, "deck", "d", "T", 10, "2026-01-02T10:00:00+00:00", 2)
    assert left_at(left, datetime(2026, 1, 3, tzinfo=UTC)) == "question 3 of 10, begun yesterday"


def test_the_state_of_a_lesson_is_plain_accuracy():
    """No letters beyond what was counted."""
    assert standing(LessonState("x", 0, 0, 0)) == "not begun"
    assert standing(LessonState("x", 4, 4, 3)) == "3 of 4 right"
    assert standing(LessonState("x", 12, 10, 9)) == "done, 9 of 10 right"
    assert standing(LessonState("x", 6, 6, 5, wanted=6)) == "done, 5 of 6 right"
    assert standing(LessonState("x", 6, 6, 4, wanted=6)) == "4 of 6 right"


def test_a_summary_tells_what_to_look_at_again():
    """And after a placement test, which lessons can be skipped."""
    summary = Summary(
        3,
        2,
        1,
        1,
        1.5,
        4.0,
        (Tally("NAND2", 2, 1),),
        (),
        (Slip(2, "NAND2", "NOR2", 0.5), Slip(3, "OR2", "", 0), Slip(1, "XOR2", "XOR2", 0.9, 1)),
    )
    text = summary_text(summary, {"rails": True, "inverter": False})
    assert "1 of 2 answered right and without hints; credit 1.5 of 3." in text
    assert "1 given up" in text
    assert "Lessons you can skip: rails" in text
    assert "2. NAND2; you said: NOR2" in text
    assert "3. OR2: skipped" in text
    assert "1. XOR2: right, with 1 hint" in text


def test_an_error_says_what_where_and_what_to_do():
    """All three, each on its line."""
    text = error_text(LayoutdrillError("no cell x", where=Where("a.yaml", 3, 7), todo="write y")).plain
    assert "no cell x" in text
    assert "a.yaml:3:7" in text
    assert "write y" in text
    assert "layoutdrill itself" in error_text(ValueError("boom")).plain


def test_settings_come_back_as_they_were_saved(tmp_path, monkeypatch):
    """Whatever the words, quotes and hashes too."""
    monkeypatch.setenv("LAYOUTDRILL_HOME", str(tmp_path / "new"))
    assert load_settings() == (Settings(), None)
    wanted = Settings(theme="daylight", look="ink", count=20, kit="/a b/it's # here: x")
    save_settings(wanted)
    assert load_settings() == (wanted, None)


@pytest.mark.parametrize("text", ["theme: pink\n", "colour: red\n", "theme: [\n", "count: many\n"])
def test_a_broken_settings_file_is_told_and_the_defaults_serve(text, tmp_path, monkeypatch):
    """The app starts all the same."""
    monkeypatch.setenv("LAYOUTDRILL_HOME", str(tmp_path))
    (tmp_path / "settings.yaml").write_text(text)
    settings, error = load_settings()
    assert settings == Settings()
    assert isinstance(error, LayoutdrillError)
    assert "settings.yaml" in str(error)


def test_a_window_too_small_says_what_it_lacks():
    """Only what is missing is asked for."""
    assert too_small(80, 24, (60, 20)) == ""
    assert "10 columns wider" in too_small(50, 24, (60, 20))
    assert "rows" not in too_small(50, 24, (60, 20)).split("\n")[1]
    assert "1 row higher" in too_small(70, 19, (60, 20))


def test_the_cautions_defer_to_trained_people():
    """The usual ones are there (common practice; the list of hazards is that of the trade's safety sheets)."""
    text = about_text()
    for word in ("nitric", "Hydrofluoric", "beryllia", "trained", "Local rules", "Mains", "fume cupboard", "licence"):
        assert word in text


@pytest.mark.parametrize(
    ("env", "wanted"),
    [
        ({"TERM": "xterm-256color", "COLORTERM": "truecolor"}, "true colour"),
        ({"TERM": "xterm-256color"}, "256"),
        ({"TERM": "xterm"}, "16"),
        ({"TERM": "dumb"}, "none"),
        ({"TERM": "xterm-256color", "NO_COLOR": "1"}, "grey only, as NO_COLOR asks"),
    ],
)
def test_the_doctor_tells_the_colours_promised(env, wanted):
    """By the variables terminals set; NO_COLOR as on no-color.org."""
    assert colours(env) == wanted
    assert wanted in report(env, (80, 24))


def test_the_doctor_says_what_to_do():
    """Each lack comes with its remedy, and folders and versions are named."""
    text = report({"TERM": "dumb"}, (40, 10))
    assert "--plain" in text
    assert "60 × 20" in text
    for word in ("data folder", "cache folder", "records", "textual", "pillow"):
        assert word in text


def test_the_table_comes_where_it_was_asked_what_is_at_work():
    """After a question of what lies at a spot the table and the schematic are a key away; sizes are in λ, rounded."""
    shown = name_question().specimen
    apart, whole = (explanation(shown, 40, at_work=at_work).plain for at_work in (False, True))
    assert "v: a table of its transistors, by their numbers on the picture" in apart
    assert "kind" not in apart
    assert re.search(r"kind +gate", whole)
    assert not re.search(r"\d\.\d{3}", whole)


def test_strokes_of_a_verdict_are_named():
    """Which net the strokes are, or that equal strokes are one net."""
    verdict = Verdict(0.0, "Not so.", "inverter", "", (), ("y",), ())
    assert "On the picture: strokes: the net y." in judged(name_question(), Answer("b"), verdict, 0).plain
    both = judged(name_question(), Answer("b"), replace(verdict, nets=("y", "n1")), 0).plain
    assert "equal strokes: the net y, the net n1" in both


def test_what_decides_is_said_once():
    """The explanation leaves out what to look for when the verdict has said it already, capital or not."""
    shown = replace(name_question().specimen, about="n transistors in series\nfrom the low rail.")
    assert "in series from the low rail" in explanation(shown, 80).plain
    assert "in series" not in explanation(shown, 80, "n transistors in series from the low rail. Count them.").plain
    assert "in series" not in explanation(shown, 80, "N transistors in series from the low rail.").plain


@pytest.mark.parametrize(("text", "wanted"), [("n and p", "n and p."), ("p-well", "p-well."), ("poly", "Poly.")])
def test_sentences_leave_the_kinds_small(text, wanted):
    """n and p are names of kinds; a capital N is nitrogen (common practice)."""
    assert sentence(text) == wanted


@pytest.mark.parametrize("cell", ["inverter", "latch_gates", "half_adder"])
def test_the_table_of_transistors_never_breaks_a_cell(cell):
    """In the columns beside a picture at 80×24, below it, and in fewer: no line is wider, sizes and ends stay whole."""
    made = drawn(load_cell(cell), "silicon-gate-nmos", 4, 0.2)
    for width in (BESIDE - 4, 41, 55):
        lines = devices_of(made, width).plain.splitlines()
        assert max(map(len, lines)) <= width
        sizes = [re.search(r"[\d.]+ ?× ?[\d.]+$", text) for text in lines]
        assert sum(size is not None for size in sizes) == len(made.netlist.transistors)
    assert "L × W, λ" in devices_of(made).plain.splitlines()[0]


def test_how_far_one_missed_is_told():
    """The distance in λ to the nearest of the right places: the 3, 4, 5 triangle."""
    question = point_question()
    per = question.specimen.process.grid_per_lambda
    verdict = Verdict(0.0, "Not an n transistor.", "", "", (), (), ((3 * per, 4 * per), (90 * per, 0)))
    assert missed_by(question, (0, 0), verdict.places) == 5
    words = judged(question, Answer(point=(0, 0)), verdict, 0).plain
    assert "About 5 λ from there to the nearest ring; the cross on the picture is yours." in words
    right = replace(verdict, credit=1.0)
    assert "to the nearest ring" not in judged(question, Answer(point=(0, 0)), right, 0).plain


def test_what_lies_out_of_sight_is_named():
    """The sides, the keys that move, and each letter with its side; nothing where all is in view."""
    question = replace(count_question(), marks=(Mark("P", 0, 0), Mark("Q", 20, 20)))
    per, box = question.specimen.process.grid_per_lambda, question.specimen.face.box
    whole = Viewport(box, per, 200, 100, 1)
    assert out_of_sight(whole, question) == ""
    small = Viewport(box, per, 8, 4, 2, box.x0, box.y0)
    told_there = out_of_sight(small, question)
    assert told_there.startswith("More lies ")
    assert "arrows move" in told_there
    away = {m.letter: side for m in question.marks if (side := small.side_of(m.x, m.y))}
    assert away
    assert all(f"{letter} {side}" in told_there for letter, side in away.items())
    assert "F4 jumps there" in told_there


def test_a_fact_that_names_itself_has_no_second_name():
    """“Asked now: …” and “Boundary: …” stand as they are; what only tells something is given."""
    question = name_question()
    told = replace(question, facts=("Asked now: new, of lesson 1.", "Boundary: x.", "Nothing is turned: see it so."))
    text = asking(told, 0, "", wide=True).plain
    assert "\nAsked now: new" in text
    assert "\nBoundary: x" in text
    assert "\nGiven: Nothing is turned" in text


@pytest.mark.parametrize("width", [58, 78, 118])
def test_which_page_it_is_stands_whole_in_every_heading(width):
    """However long the title and what is told of the picture: they are cut short, the line is as wide as allowed."""
    right = "2 layers lifted · 12, 30.5 λ · 1 px/λ · metal off · ×10 · tracing aid"
    for left in ("Contact, crossing, transistor   page 13 of 13", "Lot   4 of 21   2:09 left", "Home"):
        text = headed(left, right, width)
        assert len(text) == width
        assert text.startswith(left.partition("   ")[0][:9])
        assert left.partition("   ")[2] in text
    assert headed("Home", "", 20).rstrip() == "Home"
