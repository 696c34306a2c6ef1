"""A key's form is enough to read an answer, and holds nothing of the right one."""

from dataclasses import replace
from itertools import product

import pytest

from layoutdrill.dice import Dice
from layoutdrill.errors import LayoutdrillError
from layoutdrill.question import kinds
from tests.question.conftest import CELL_KINDS
from tests.sampling import covering

PROCESSES = ("silicon-gate-cmos", "metal-gate-cmos", "silicon-gate-nmos")


@pytest.mark.parametrize(("name", "process"), covering(product(CELL_KINDS, PROCESSES)))
def test_an_answer_can_be_read_by_the_form_alone(drawn, name, process):
    """For every kind the right answer is accepted, and nonsense refused, as with the key itself."""
    kind = kinds()[name]
    asked = 0
    for seed, cell in enumerate(("nand2", "nor2", "inverter", "aoi21", "latch_gates", "half_adder")):
        question = kind.ask(drawn(cell, process, seed), Dice(seed))
        if question is None:
            continue
        asked += 1
        blind = replace(question, key=question.key.form())
        right = kind.solution(question)
        if not question.pointed:
            assert kind.accept(blind, right.text) == kind.accept(question, right.text)
            with pytest.raises(LayoutdrillError):
                kind.accept(blind, "(((")
        told = {field: question.key.json()[field] for field in type(question.key).shown if field in question.key.json()}
        assert {field: blind.key.json()[field] for field in told} == told
        hidden = {k: v for k, v in question.key.json().items() if k not in told and v}
        kept = {k for k, v in hidden.items() if blind.key.json()[k] == v}
        assert kept <= ALLOWED.get(name, set()), kept
    if not asked:
        pytest.skip(f"{name} does not fit these cells")


ALLOWED = {"polarity": {"right", "wrong"}}
"""Both words are offered; they stand in alphabetic order, so that on half of the questions each keeps its place."""
