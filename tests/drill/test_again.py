"""A sitting that was left goes on, an old answer can be graded again, and a lesson's state follows from the records."""

import json

import pytest

from layoutdrill.cli import main
from layoutdrill.deck import lesson_names, load_deck
from layoutdrill.deck.specimen import SpecimenMaker
from layoutdrill.drill.again import regraded
from layoutdrill.drill.lesson_states import LAST, lesson_states
from layoutdrill.drill.practice import practice_deck
from layoutdrill.drill.records import Records
from layoutdrill.drill.results import Results
from layoutdrill.drill.sitting import Sitting
from layoutdrill.drill.unfinished import unfinished
from layoutdrill.errors import FaultError, LayoutdrillError
from layoutdrill.locations import records_file
from layoutdrill.question import Answer, HintStep, Mark
from layoutdrill.question.count import TransistorsKey

pytestmark = pytest.mark.usefixtures("home")


def right(question):
    """Return a right answer to a name or count question, from its key."""
    if question.kind == "name":
        return Answer(str(question.key.structure))
    key = question.key
    return Answer(f"{key.n} {key.p} {key.all}" if isinstance(key, TransistorsKey) else "1")


def by_name(tmp_path, records, **more):
    deck = practice_deck(("nand2", "nor2", "inverter"), ("silicon-gate-cmos",), ("name",), 0.3)
    return Sitting.open_deck(deck, seed=5, records=tmp_path / records, **more)


@pytest.mark.usefixtures("faked")
def test_a_sitting_left_in_the_middle_goes_on_where_it_was(tmp_path):
    """The same questions, the answered ones still answered, even when the deck's file is gone."""
    deck = tmp_path / "mine.yaml"
    deck.write_text("title: Mine\nabout: a\nitems: [{cells: [nand2, nor2], processes: [silicon-gate-cmos]}]\n")
    first = Sitting.open_deck(deck, count=6, seed=2, records=tmp_path / "r")
    keys = [first.prepare(number).key for number in range(6)]
    first.skip(first.prepare(0), 1.0)
    first.skip(first.prepare(1), 1.0)
    first.close()
    deck.unlink()
    again = Sitting.resume(records=tmp_path / "r")
    assert (again.title, again.total, again.answered, again.position) == ("Mine", 6, 2, 2)
    assert [again.prepare(number).key for number in range(6)] == keys
    for number in range(2, 6):
        again.skip(again.prepare(number), 1.0)
    assert again.position is None
    assert unfinished(tmp_path / "r") == ()
    with pytest.raises(LayoutdrillError, match="nothing was left unfinished; start a drill"):
        Sitting.resume(records=tmp_path / "r")


@pytest.mark.usefixtures("faked")
def test_a_lesson_and_a_placement_test_can_be_resumed(tmp_path):
    """Each draws from its own decks again."""
    lesson = lesson_names()[5]
    whole = Sitting.open_deck(lesson, seed=1, records=tmp_path / "a")
    placing = Sitting.open_placement(seed=1, records=tmp_path / "b")
    for opened, records in ((whole, "a"), (placing, "b")):
        asked = opened.prepare(0)
        opened.close()
        again = Sitting.resume(records=tmp_path / records)
        assert again.prepare(0).key == asked.key


def test_an_old_answer_is_graded_again_from_its_record_alone(tmp_path):
    """Drawn, proved, answered, and read back: the same verdict, from layout text and key."""
    sitting = by_name(tmp_path, "r", count=4)
    earned = []
    for number in range(4):
        question = sitting.prepare(number)
        given = right(question) if number % 2 else Answer("XOR2")
        earned.append(sitting.submit(question, given, 1.0).credit)
    found = Records(tmp_path / "r").answers()
    assert [regraded(record).credit for record in found] == earned == [0, 1, 0, 1]


@pytest.mark.parametrize("kind", ["spot", "polarity", "same net"])
def test_a_record_keeps_which_marks_are_ringed(tmp_path, kind):
    """A place that must be seen stays ringed when the question is shown again from its record, or resumed."""
    sitting = Sitting.open_deck(
        practice_deck(("nand2",), ("silicon-gate-cmos",), (kind,), 0.3), seed=5, count=2, records=tmp_path / "r"
    )
    marks = [sitting.prepare(number).marks for number in (0, 1)]
    sitting.skip(sitting.prepare(0), 1.0)
    sitting.close()
    again = Sitting.resume(records=tmp_path / "r")
    assert again.prepare(1).marks == marks[1]
    (record,) = again.records.answers()
    assert [Mark(*mark) for mark in record.question["marks"]] == list(marks[0])
    assert all(mark.ring == (kind != "same net") for mark in marks[0])


@pytest.mark.usefixtures("faked")
def test_hints_lower_the_credit_and_are_kept(tmp_path):
    """Right after two hints: full credit less their cost."""
    sitting = by_name(tmp_path, "r", count=1)
    question = sitting.prepare(0)
    taken = question.hints[:2]
    verdict = sitting.submit(question, right(question), 3.0, taken)
    assert verdict.credit == pytest.approx(1 - sum(hint.cost for hint in taken))
    (record,) = sitting.records.answers()
    assert record.hints == tuple(hint.step.value for hint in taken)
    assert sitting.summary().right == 0
    assert sitting.summary().credit == pytest.approx(verdict.credit)


@pytest.mark.usefixtures("faked")
def test_a_lesson_s_help_is_shown_and_not_offered_again(tmp_path):
    """What is shown from the start costs nothing, so it is not among the hints; the author's words come first."""
    sitting = Sitting.open_deck("series-and-parallel", seed=1, records=tmp_path / "r")
    assert sitting.help(0) == (HintStep.AID, HintStep.RAILS, HintStep.DEVICES)
    question = sitting.prepare(0)
    assert question.hints[0].step is HintStep.WORDS
    assert not {HintStep.AID, HintStep.RAILS, HintStep.DEVICES} & {hint.step for hint in question.hints}


@pytest.mark.usefixtures("faked")
def test_the_summary_adds_up(tmp_path):
    """Answered, right, skipped, slips and tallies agree with what was done."""
    sitting = by_name(tmp_path, "r", count=6)
    for number in range(5):
        question = sitting.prepare(number)
        if number == 4:
            sitting.skip(question, 9.0)
        else:
            sitting.submit(question, right(question) if number < 3 else Answer("XOR2"), number + 1.0)
    found = sitting.summary()
    assert (found.total, found.answered, found.right, found.skipped) == (6, 4, 3, 1)
    assert found.seconds == 2.5  # the median of 1, 2, 3, 4
    assert [(slip.number, slip.given) for slip in found.slips] == [(4, "XOR2"), (5, "")]
    assert sum(tally.asked for tally in found.by_skill) == 5
    assert found.accuracy == 0.75


@pytest.mark.usefixtures("faked")
def test_results_are_json_lines(tmp_path):
    """One a line, complete at once, added to what is there."""
    path = tmp_path / "results.jsonl"
    path.write_text('{"older": 1}\n')
    sitting = by_name(tmp_path, "r", count=2)
    sitting.results = Results(path)
    question = sitting.prepare(0)
    sitting.submit(question, right(question), 2.0)
    lines = [json.loads(line) for line in path.read_text().splitlines()]
    assert lines[0] == {"older": 1}
    assert {"deck", "seed", "number", "kind", "cell", "process", "answer", "credit", "right", "seconds"} <= set(
        lines[1]
    )
    assert (lines[1]["number"], lines[1]["credit"], lines[1]["seed"]) == (1, 1.0, 5)


def test_results_that_cannot_be_written_are_told_before_the_first_question(tmp_path, capsys):
    """And no sitting is begun for them."""
    assert main(["drill", "first-gates", "--plain", "--results", str(tmp_path)]) == 2
    assert "results cannot be written" in capsys.readouterr().err
    assert not records_file().exists()


# Source: judge mastery on unseen drawings (Krasne et al. 2013).
@pytest.mark.usefixtures("faked")
def test_a_lesson_s_state_is_accuracy_over_the_last_unseen_drawings(tmp_path):
    """Not begun; given up, which is no answer; wrong; right, and done; a drawing seen before does not count."""
    lesson = tmp_path / "own.yaml"
    items = "items: [{cells: [nand2, nor2, aoi21, oai21], kinds: [name]}]\n"
    lesson.write_text("title: t\nabout: a\nlesson: 9\nobjective: o\n" + items)
    name = "own"
    assert lesson_states({name: 12}, tmp_path / "r")[0].words == "not begun"
    found = []
    for seed, given in ((3, "skip"), (1, "wrong"), (2, "right"), (2, "wrong")):
        sitting = Sitting.open_deck(lesson, seed=seed, count=12, records=tmp_path / "r")
        for number in range(12):
            question = sitting.prepare(number)
            if given == "skip":
                sitting.skip(question, 1.0)
            else:
                sitting.submit(question, right(question) if given == "right" else Answer("inverter"), 1.0)
        (state,) = lesson_states({name: 12}, tmp_path / "r")
        found.append((state.answered, state.counted, state.right, state.done))
    # The last sitting shows the drawings of the one before again: it changes nothing.
    assert found == [(12, 0, 0, False), (24, LAST, 0, False), (36, LAST, LAST, True), (48, LAST, LAST, True)]
    assert lesson_states({"rails": 12}, tmp_path / "r")[0].answered == 0


@pytest.mark.usefixtures("faked")
def test_a_placement_test_asks_from_every_lesson_and_says_what_can_be_skipped(tmp_path):
    """Two questions each, no help; a lesson is skipped when both were right."""
    sitting = Sitting.open_placement(seed=3, records=tmp_path / "r")
    groups = [draw.group for draw in sitting.plan]
    assert sorted(set(groups)) == sorted(lesson_names())
    assert all(groups.count(name) == 2 for name in lesson_names())
    assert all(not draw.help and not draw.hints for draw in sitting.plan)
    for number, draw in enumerate(sitting.plan):
        question = sitting.prepare(number)
        if draw.group == "complex-gates":
            sitting.submit(question, right(question), 1.0)
        else:
            sitting.skip(question, 1.0)
    passed = sitting.placement()
    assert [name for name, known in passed.items() if known] == ["complex-gates"]


@pytest.mark.usefixtures("faked")
def test_practice_refuses_what_it_does_not_know():
    """A cell, a process, a kind; and nothing chosen."""
    for cells, processes, kinds, said in (
        (["nad2"], [], [], 'no cell "nad2"; did you mean "nand2"?'),
        (["nand2"], ["silicon"], [], 'no process to draw in "silicon"'),
        (["nand2"], [], ["nmae"], 'no kind of question "nmae"; did you mean "name"?'),
        ([], [], [], "no cell is chosen; choose at least one"),
    ):
        with pytest.raises(LayoutdrillError) as caught:
            practice_deck(cells, processes, kinds, 0.3)
        assert said in str(caught.value)


def test_a_drawing_that_fails_its_proof_is_drawn_anew(tmp_path, monkeypatch, fake):
    """The learner gets the next seed's drawing; when all fail, the fault is told with what repeats it."""
    tried = []

    def sometimes(maker, cell, process, seed, difficulty):
        tried.append(seed)
        if len(tried) < 3:
            raise FaultError(f"{cell} from seed {seed}")
        return fake(maker, cell, process, seed, difficulty)

    monkeypatch.setattr(SpecimenMaker, "specimen", sometimes)
    sitting = by_name(tmp_path, "r", count=1)
    assert sitting.prepare(0).specimen.seed == tried[0] + 2

    def never(maker, cell, process, seed, difficulty):
        raise FaultError(f"{cell} from seed {seed}")

    monkeypatch.setattr(SpecimenMaker, "specimen", never)
    with pytest.raises(FaultError, match="from seed"):
        by_name(tmp_path, "s", count=1).prepare(0)


@pytest.mark.usefixtures("faked")
def test_questions_out_of_range_are_refused(tmp_path):
    """Before the first and after the last."""
    sitting = by_name(tmp_path, "r", count=2)
    for number in (-1, 2):
        with pytest.raises(LayoutdrillError, match="this sitting has 2"):
            sitting.prepare(number)


@pytest.mark.usefixtures("faked")
def test_a_deck_without_questions_cannot_be_drilled(tmp_path):
    """Pages alone are for reading."""
    deck = tmp_path / "mine.yaml"
    deck.write_text("title: t\nabout: a\npages: [{title: a, text: b}]\n")
    with pytest.raises(LayoutdrillError, match="mine has no questions; add “items:” to the deck"):
        Sitting.open_deck(deck)
    assert load_deck(deck).pages


def test_a_deck_of_which_nothing_fits_is_refused(tmp_path):
    """A cell with a process of its own, and another with another: no process is left for both."""
    deck = tmp_path / "mine.yaml"
    cells = "".join(
        f"  - {{name: {name}, title: t, structure: s, look for: l, ports: {{a: input, y: output}}, function: y = !a, "
        f"processes: [{process}]}}\n"
        for name, process in (("one", "silicon-gate-cmos"), ("two", "metal-gate-sapphire"))
    )
    deck.write_text(f"title: t\nabout: a\ncells:\n{cells}items: [{{cells: [one, two]}}]\n")
    with pytest.raises(LayoutdrillError, match="no process can build all of these cells; put them into several items"):
        Sitting.open_deck(deck, records=tmp_path / "r")
