"""A kind of question owns its rules: none can be left out, and no other room asks which kind a question is of."""

import json
from pathlib import Path
from typing import ClassVar

import pytest

import layoutdrill
from layoutdrill.dice import Dice
from layoutdrill.errors import LayoutdrillError
from layoutdrill.geometry.rect import Rect
from layoutdrill.question import Answer, Key, Question, QuestionKind, Verdict, kinds
from layoutdrill.value import value
from tests.each import each
from tests.question.conftest import CELL_KINDS, asked_of_some_cell

PACKAGE = Path(layoutdrill.__file__).parent


@value
class OwnKey(Key):
    """A key with a field of every sort."""

    text: str
    number: int
    share: float
    truth: bool
    place: tuple[int, int]
    rects: tuple[Rect, ...]
    places: dict[str, tuple[int, int]]
    inner: "OwnKey | None" = None
    words: tuple[str, ...] = ()


class Half(QuestionKind):
    """A kind that says all but its evidence."""

    name = "half"
    title = "Half a kind"
    key_type: ClassVar[type[Key]] = OwnKey

    def ask(self, specimen, rng):
        return Question("half", "?", specimen, (), (), (), OwnKey("", 0, 0.0, False, (0, 0), (), {}))

    def accept(self, question, text):
        return Answer(text)

    def grade(self, question, answer):
        return Verdict(0.0, "", "", "")

    def solution(self, question):
        return Answer("a")


def test_a_kind_without_its_evidence_cannot_be_made():
    """Leaving out `needs` is an error at once, not a question that needs nothing."""
    with pytest.raises(TypeError, match="needs"):
        Half()


@each("name", list(kinds()))
def test_every_question_needs_something_of_its_picture(drawn, name):
    """No kind can be answered without looking."""
    kind = kinds()[name]
    for cell in ("nand2", "latch_static", "pass_n"):
        for seed in range(4):
            question = kind.ask(drawn(cell, "silicon-gate-cmos", 1), Dice(seed))
            assert question is None or kind.needs(question)


@each("name", CELL_KINDS)
def test_a_key_comes_back_from_its_json(name):
    """Written as JSON text and read again, it is the same key."""
    kind = kinds()[name]
    for seed in range(6):
        key = asked_of_some_cell(kind, "silicon-gate-cmos", Dice(seed)).key
        assert kind.read_key(json.loads(json.dumps(key.json()))) == key


def test_a_damaged_key_is_told_by_its_field():
    """Missing, of another sort, or of another length: the field is named."""
    inner = OwnKey("b", 2, 1.0, False, (0, 0), (), {})
    whole = OwnKey("a", 1, 0.5, True, (1, 2), (Rect(0, 0, 1, 1),), {"P": (3, 4)}, inner)
    plain = json.loads(json.dumps(whole.json()))
    assert OwnKey.read(plain) == whole
    wrong = {"text": 3, "number": "x", "share": "y", "truth": 1, "place": [1], "rects": [[1, 2]], "places": []}
    wrong["inner"] = 5
    for field, bad in wrong.items():
        with pytest.raises(LayoutdrillError, match=f'"{field}"'):
            OwnKey.read({**plain, field: bad})
    del plain["number"]
    with pytest.raises(LayoutdrillError, match='"number"'):
        OwnKey.read(plain)


def test_a_kind_goes_by_the_name_that_the_table_gives_it():
    """Each is found under its own name, so that what was recorded of it comes back as the same kind."""
    assert {name: kind.name for name, kind in kinds().items()} == {name: name for name in kinds()}
