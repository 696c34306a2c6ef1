"""Whatever is typed is either refused in words or graded between nothing and all."""

from functools import cache

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from layoutdrill.dice import Dice
from layoutdrill.errors import LayoutdrillError
from layoutdrill.question import Answer, kinds
from tests.question.conftest import CELL_KINDS, asked_of_some_cell, drawn
from tests.sampling import examples

WORDS = (
    "nand2",
    "n",
    "p",
    "P",
    "Q",
    "R",
    "vdd",
    "vss",
    "a",
    "d",
    "=",
    ",",
    "7",
    "-3.5",
    "λ",
    "well",
    "contact",
    "none",
    "é",
)
TEXT = st.one_of(st.text(max_size=30), st.lists(st.sampled_from(WORDS), max_size=6).map(" ".join))


@cache
def asked(name):
    return asked_of_some_cell(kinds()[name], "silicon-gate-cmos", Dice(4))


@pytest.mark.parametrize("name", CELL_KINDS)
@settings(max_examples=examples(60), deadline=None, derandomize=True)
@given(text=TEXT)
def test_any_text(name, text):
    """No text crashes a kind, earns more than all, or is accepted and then not graded."""
    kind = kinds()[name]
    question = asked(name)
    refused, answer = None, None
    try:
        answer = kind.accept(question, text)
    except LayoutdrillError as error:
        refused = error
    assert refused.todo if refused else 0 <= kind.grade(question, answer).credit <= 1


@settings(max_examples=examples(60), deadline=None, derandomize=True)
@given(x=st.integers(-10_000, 10_000), y=st.integers(-10_000, 10_000))
def test_any_point(x, y):
    kind = kinds()["point"]
    question = kind.ask(drawn("nand2", "silicon-gate-cmos", 1), Dice(4))
    assert 0 <= kind.grade(question, Answer("", (x, y))).credit <= 1
