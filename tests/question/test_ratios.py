"""Ratios: measured on the picture, forgiven by 15 %, and judged by the rule of the process."""

import pytest

from layoutdrill.dice import Dice
from layoutdrill.errors import LayoutdrillError
from layoutdrill.question import kinds
from tests.question.fairness import grade

KIND = kinds()["ratio"]


def asked(drawn, cell, process, what):
    questions = (KIND.ask(drawn(cell, process, 1), Dice(seed)) for seed in range(40))
    return next(q for q in questions if q is not None and q.key.what == what)


# Source: Mead & Conway 1980, from memory: 4 to 1 where inputs are restored, 8 to 1 through pass transistors; series
# transistors add their L/W.
def test_an_nmos_nand_keeps_the_rule_of_four(drawn):
    question = asked(drawn, "nand2", "silicon-gate-nmos", "ratio")
    assert question.key.right == pytest.approx(4, rel=0.1)
    assert len(question.key.against) == 2
    verdict = grade(KIND, question, "4")
    assert verdict.credit == 1
    assert "enough for restored inputs" in verdict.decides


# Source: common practice: a saturated load needs 10 to 1 or more.
def test_a_load_on_its_supply_needs_ten(drawn):
    question = asked(drawn, "inverter", "metal-gate-pmos", "ratio")
    verdict = grade(KIND, question, f"{question.key.right:.2f}")
    assert question.key.right == pytest.approx(10, rel=0.1)
    assert "needs 10 to 1: this is enough" in verdict.decides


@pytest.mark.parametrize(("factor", "credit"), [(1, 1), (1.14, 1), (0.87, 1), (1.3, 0), (0.7, 0)])
def test_fifteen_percent_is_forgiven(drawn, factor, credit):
    question = asked(drawn, "nand2", "silicon-gate-cmos", "size")
    assert grade(KIND, question, f"{question.key.right * factor:.4f}").credit == credit


def test_the_inverse_and_one_of_two_earn_a_part(drawn):
    question = asked(drawn, "nand2", "silicon-gate-cmos", "size")
    width, length = question.key.above, question.key.below
    assert grade(KIND, question, f"{length:g}/{width:g}").credit == 0.25
    assert grade(KIND, question, f"{width * 2:g}/{length:g}").credit == 0.5
    assert grade(KIND, question, f"W={width:g} λ L={length:g} λ").credit == 1


@pytest.mark.parametrize("said", ["wide", "8/0", "0", "8/2/1"])
def test_what_is_no_ratio_is_refused(drawn, said):
    with pytest.raises(LayoutdrillError):
        KIND.accept(asked(drawn, "nand2", "silicon-gate-cmos", "size"), said)
