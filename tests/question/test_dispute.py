"""A dispute stands alone, and old records can be graded again."""

import json
import re

import pytest

from layoutdrill import __version__
from layoutdrill.dice import Dice
from layoutdrill.errors import LayoutdrillError
from layoutdrill.layout.text import layout_text
from layoutdrill.question import Answer, credit_after, kinds, regrade
from layoutdrill.question.dispute import dispute_report, save_dispute
from layoutdrill.question.hints import author_hint, hints
from layoutdrill.question.model import HintStep
from tests.each import each
from tests.question.conftest import CELL_KINDS, asked_of_some_cell
from tests.question.fairness import right_answers


def disputed(specimen, name, said=None):
    kind = kinds()[name]
    question = kind.ask(specimen, Dice(2)) or asked_of_some_cell(kind, specimen.process.name, Dice(2))
    answer = kind.accept(question, said or right_answers(question)[0])
    return question, answer, kind.grade(question, answer)


@each("name", CELL_KINDS)
def test_a_report_is_enough_to_grade_again(drawn, name):
    """Key and layout text taken out of the report give the same credit, with nothing else at hand."""
    specimen = drawn("mux2_tg", "silicon-gate-cmos", 2)
    question, answer, verdict = disputed(specimen, name)
    report = dispute_report(question, answer, verdict, remark="I still think so", look="ink")
    key = json.loads(re.search(r"^key:\n(.*)$", report, re.MULTILINE)[1])
    layout = report.split("layout text:\n")[1]
    again = regrade(name, key, layout, specimen.process, answer)
    assert (again.credit, again.right) == (verdict.credit, verdict.right)


def test_a_report_tells_everything(drawn):
    """Question, choices, answer, verdict, remark, cell, process, seed, look and versions are all in it."""
    question, answer, verdict = disputed(drawn("nand2", "metal-gate-sapphire", 3), "name", "NOR2")
    report = dispute_report(question, answer, verdict, remark="looks like\na NOR", look="ink", taken=question.hints[:1])
    for part in (question.prompt, *question.choices, "answer: NOR2", verdict.summary, "remark: looks like a NOR",
                 "nand2", "metal-gate-sapphire", "seed: 3", "look: ink", __version__, "hint taken: rails"):  # fmt: skip
        assert part in report


def test_reports_never_overwrite(drawn, tmp_path):
    """Each dispute is a file of its own, in a folder made when it is missing."""
    folder = tmp_path / "new" / "disputes"
    made = disputed(drawn("nand2", "silicon-gate-cmos", 1), "same net")
    paths = [save_dispute(folder, made[0], dispute_report(*made)) for _ in range(3)]
    assert len({*paths}) == 3
    assert [path.name for path in paths] == [f"dispute-same-net-nand2-{n}.txt" for n in (1, 2, 3)]
    assert paths[0].read_text(encoding="utf-8") == dispute_report(*made)


def test_a_folder_that_cannot_be_written_is_told(drawn, tmp_path):
    (tmp_path / "file").write_text("")
    with pytest.raises(LayoutdrillError, match="cannot be written"):
        save_dispute(tmp_path / "file", disputed(drawn("nand2", "silicon-gate-cmos", 1), "count")[0], "a report")


@each("kind", [k for k in CELL_KINDS if k != "name"])
def test_a_damaged_record_is_told(drawn, kind):
    """A key that has lost its parts raises a plain error, never a crash."""
    specimen = drawn("nand2", "silicon-gate-cmos", 1)
    with pytest.raises(LayoutdrillError):
        regrade(kind, {}, layout_text(specimen.face.layout), specimen.process, Answer("a", (0, 0)))


def test_an_unknown_kind_is_told(drawn):
    specimen = drawn("nand2", "silicon-gate-cmos", 1)
    with pytest.raises(LayoutdrillError, match="no kind"):
        regrade("nome", {}, layout_text(specimen.face.layout), specimen.process, Answer("a"))


def test_each_hint_lowers_the_credit_by_what_it_says(drawn):
    """Rails 10 %, devices 20 %, nets 20 %: half is left; all steps and more leave nothing, never less."""
    *_, verdict = disputed(drawn("nand2", "silicon-gate-cmos", 1), "name")
    steps = hints((HintStep.RAILS, HintStep.DEVICES, HintStep.NETS, HintStep.LIFT_METAL, HintStep.NETLIST))
    assert [hint.cost for hint in steps] == [0.1, 0.2, 0.2, 0.1, 0.4]
    assert credit_after(verdict, ()) == 1
    assert credit_after(verdict, steps[:3]) == 0.5
    assert credit_after(verdict, (*steps, author_hint("Look again."))) == 0


@each("name", CELL_KINDS)
def test_every_kind_offers_hints_in_order_of_help(drawn, name):
    """Hints come in steps, each with words and a cost between nothing and all."""
    question, *_ = disputed(drawn("nand2", "silicon-gate-cmos", 1), name)
    assert len(question.hints) >= 2
    assert all(hint.text and 0 < hint.cost < 1 for hint in question.hints)
