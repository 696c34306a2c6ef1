"""A set is the same for the same words, even over its skills, and gives nothing twice."""

from collections import Counter

import pytest

from layoutdrill.deck import Deck, Item
from layoutdrill.drill.asking import asked
from layoutdrill.errors import LayoutdrillError
from layoutdrill.question import Answer, kinds
from layoutdrill.workshop.asking import graded, question_of, truth
from layoutdrill.workshop.model import Given
from layoutdrill.workshop.prepare import Wanted, prepare
from tests.workshop.conftest import solution


def test_the_same_words_give_the_same_set(drawn_anew, made):
    """Seed, count and deck decide every layout and key; another seed gives another set."""
    assert prepare("first-gates", Wanted(count=8, minutes=10, seed=3)) == made
    assert prepare("first-gates", Wanted(count=8, minutes=10, seed=4)).digest != made.digest


def test_skills_come_evenly_and_nothing_twice(made):
    """No skill is asked a second time before eight different ones were asked once; no drawing is asked twice."""
    skills = Counter(entry.skill for entry in made.key)
    assert max(skills.values()) - min(skills.values()) <= 1
    assert len({(sheet.layout, sheet.prompt) for sheet in made.sheets}) == len(made.sheets)


def test_every_question_comes_back_and_is_graded(made):
    """From the file alone: the right answer earns all, none earns nothing, and what is right can be told."""
    for sheet in made.sheets:
        right = solution(made, sheet.number)
        given = Given(sheet.number, right.text, right.point, False, 1.0, 1.0)
        assert graded(made, given).credit == 1
        assert graded(made, Given(sheet.number, "", None, True, 1.0, 1.0)).credit == 0
        assert graded(made, Given(sheet.number, "\x00 nonsense", None, False, 1.0, 1.0)).credit < 1
        assert truth(made, sheet.number).right


def test_a_question_without_its_key_can_still_be_read(made):
    """An answer is accepted, or refused with a remark, without the key."""
    from dataclasses import replace

    blind = replace(made, key=())
    for sheet in made.sheets:
        question = question_of(blind, sheet.number)
        kind = kinds()[question.kind]
        right = solution(made, sheet.number)
        assert right.point is not None or kind.accept(question, right.text) == Answer(right.text)
        with pytest.raises(LayoutdrillError):
            kind.accept(question, "(((")


def test_more_than_a_deck_gives_is_refused():
    """A deck that runs out says how many it has."""
    from layoutdrill.deck import Deck, Item

    tiny = Deck("tiny", "Tiny", "", (Item(("inverter",), ("silicon-gate-cmos",), ("name",), seed=1),))
    with pytest.raises(LayoutdrillError, match="no questions"):
        prepare(Deck("none", "None", "", ()), Wanted(count=1, minutes=0, seed=1))
    assert len(prepare(tiny, Wanted(count=2, minutes=0, seed=1)).sheets) == 2


def test_what_is_left_out_is_told(monkeypatch):
    """Of an item without a question it is told which it is and why: nothing to ask, or no room."""
    processes = ("silicon-gate-cmos",)
    items = (Item(("nand2",), processes, ("name",)), Item(("nor2",), processes, ("name",)))
    lines = []
    prepare(Deck("own", "Own", "", items), Wanted(count=1, minutes=0, seed=1), left_out=lines.append)
    assert len(lines) == 1
    assert "no room in 1 question" in lines[0]
    assert ("nand2" in lines[0]) != ("nor2" in lines[0])

    def refused(draw, *rest):
        if draw.cell == "nor2":
            raise LayoutdrillError("nothing can be asked about nor2")
        return asked(draw, *rest)

    monkeypatch.setattr("layoutdrill.workshop.prepare.asked", refused)
    lines.clear()
    prepare(Deck("own", "Own", "", items), Wanted(count=2, minutes=0, seed=1), left_out=lines.append)
    assert lines == ["left out: nor2: nothing can be asked about nor2"]


def test_everyone_sees_a_set_in_one_look(made):
    """Where the deck asks for no look the set has one, by which what is hidden was told: no learner's own settings."""
    assert {sheet.look for sheet in made.sheets} == {"reflected-light"}
    assert any("is the lighter" in fact for sheet in made.sheets for fact in sheet.facts)
