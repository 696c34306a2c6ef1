"""What is said with questions and verdicts: no example that could be the answer, and what was typed said back."""

import re
from dataclasses import replace

import pytest

from layoutdrill.dice import Dice
from layoutdrill.errors import LayoutdrillError
from layoutdrill.question import Answer, kinds
from layoutdrill.question.count import PlacesKey
from layoutdrill.question.dispute import dispute_report
from layoutdrill.question.naming import with_article
from tests.each import each
from tests.question.conftest import CELL_KINDS, asked_of_some_cell
from tests.question.fairness import grade


@each("name", CELL_KINDS)
def test_no_prompt_or_remark_gives_an_example_that_could_be_right(drawn, name):
    """Examples are copied: nothing in a prompt, or in the remark on what cannot be read, is accepted as an answer."""
    kind = kinds()[name]
    for seed in range(6):
        made = drawn("nand2", "silicon-gate-cmos", seed + 1)
        question = kind.ask(made, Dice(seed)) or asked_of_some_cell(kind, "silicon-gate-cmos", Dice(seed))
        with pytest.raises(LayoutdrillError) as caught:
            kind.accept(question, "((")
        for text in (question.prompt, str(caught.value)):
            quoted = re.findall(r"like ([^.;]+)[.;]", text) + re.findall(r"“([^”]+)”", text)
            assert not [said for said in quoted if said != "none" and not said.startswith("type")]


@pytest.mark.parametrize("name", ["spot", "polarity"])
def test_the_prompt_says_where_to_look(drawn, name):
    """The letter stands beside the place; the ring is on it."""
    question = kinds()[name].ask(drawn("nand2", "silicon-gate-cmos", 1), Dice(1))
    assert "in the ring marked X" in question.prompt
    assert question.marks[0].ring


def test_what_was_typed_is_said_back(drawn):
    """A learner who types “flip-flop” should not be told of a word that nobody typed."""
    kind = kinds()["name"]
    question = kind.ask(drawn("latch_static", "silicon-gate-cmos", 1), Dice(1))
    assert grade(kind, question, "flip-flop").summary == "“flip-flop” means a register bit here; this is a latch."
    assert grade(kind, question, "NAND2").summary == "Not a NAND2: this is a latch."


def test_one_is_not_many(drawn):
    """1 crossing, not 1 crossings."""
    kind = kinds()["count"]
    question = replace(kind.ask(drawn("nand2", "silicon-gate-cmos", 1), Dice(1)), key=PlacesKey("crossings", 1))
    assert re.fullmatch(r"Right: 1 [a-z]+[^s]\.", grade(kind, question, "1").summary)


def test_a_report_without_a_remark_has_no_line_for_it(drawn):
    """Nobody is asked for one; where there is one, it stands first."""
    kind = kinds()["name"]
    question = kind.ask(drawn("nand2", "silicon-gate-cmos", 1), Dice(1))
    verdict = kind.grade(question, Answer("nor2"))
    assert "remark:" not in dispute_report(question, Answer("nor2"), verdict)
    assert "remark: it is bent" in dispute_report(question, Answer("nor2"), verdict, remark="it is bent")


@pytest.mark.parametrize(
    ("term", "said"),
    [("inverter", "an inverter"), ("NAND2", "a NAND2"), ("XOR2", "an XOR2"), ("SR latch", "an SR latch"),
     ("cross-coupled inverters", "a pair of cross-coupled inverters")],
)  # fmt: skip
def test_a_structure_has_its_article(term, said):
    """Spoken as the trade speaks, plurals too."""
    assert with_article(term) == said
