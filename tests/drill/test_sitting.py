"""A sitting asks what its seed says, and keeps each answer at once."""

import json
from dataclasses import replace

import pytest

from layoutdrill.drill.sitting import Sitting
from layoutdrill.drill.unfinished import unfinished
from layoutdrill.errors import LayoutdrillError
from layoutdrill.question import Verdict

pytestmark = pytest.mark.usefixtures("faked", "home")


def ask_all(sitting):
    return [
        (q.kind, q.prompt, q.choices, q.specimen.cell, q.specimen.seed)
        for q in map(sitting.prepare, range(sitting.total))
    ]


def test_the_same_seed_gives_everyone_the_same_questions(tmp_path):
    """Two machines with one deck, count and seed ask the same in the same order; another seed asks other things."""
    first = Sitting.open_deck("first-gates", count=15, seed=7, records=tmp_path / "a")
    second = Sitting.open_deck("first-gates", count=15, seed=7, records=tmp_path / "b")
    other = Sitting.open_deck("first-gates", count=15, seed=8, records=tmp_path / "c")
    assert ask_all(first) == ask_all(second)
    assert ask_all(first) != ask_all(other)


def test_questions_may_be_prepared_in_any_order(tmp_path):
    """A question does not depend on which others were prepared before it."""
    one = Sitting.open_deck("first-gates", count=8, seed=3, records=tmp_path / "a")
    back = Sitting.open_deck("first-gates", count=8, seed=3, records=tmp_path / "b")
    backwards = {i: back.prepare(i) for i in reversed(range(8))}
    assert [one.prepare(i).key for i in range(8)] == [backwards[i].key for i in range(8)]


def test_an_answer_is_in_the_records_when_submit_returns(tmp_path):
    """Another connection sees the answer, with drawing, key and verdict, at once."""
    sitting = Sitting.open_deck("first-gates", count=3, seed=1, records=tmp_path / "r")
    question = sitting.prepare(0)
    verdict = sitting.submit(question, sitting.accept(question, "inverter" if question.kind == "name" else "9"), 2.5)
    (left,) = unfinished(tmp_path / "r")
    assert left.answered == 1
    again = Sitting.resume(records=tmp_path / "r")
    assert again.position == 1
    (record,) = again.records.answers(sitting=again.id)
    assert record.credit == verdict.credit
    assert record.layout.startswith(f"layout {question.specimen.cell}")
    assert record.question["key"] == json.loads(json.dumps(question.key.json()))


def test_a_question_takes_one_answer(tmp_path):
    """A second answer to the same question is refused, and changes nothing."""
    sitting = Sitting.open_deck("first-gates", count=3, seed=1, records=tmp_path / "r")
    sitting.skip(sitting.prepare(0), 1.0)
    with pytest.raises(LayoutdrillError, match="has its answer already"):
        sitting.skip(sitting.prepare(0), 1.0)
    assert sitting.answered == 1


@pytest.mark.parametrize(
    ("decides", "told"), [("one finger", "one finger. Mine."), ("So it is.", "So it is. Mine."), ("", "Mine.")]
)
def test_an_author_s_note_begins_a_sentence(tmp_path, decides, told):
    """What decides ends before the note begins."""
    with Sitting.open_deck("first-gates", count=1, seed=5, records=tmp_path / "r") as sitting:
        question = sitting.prepare(0)
        sitting.plan = (replace(sitting.plan[0], note="Mine."),)
        assert sitting._noted(question, Verdict(1.0, "", "", decides)).decides == told
