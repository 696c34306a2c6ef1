"""Truth tables: what a row holds, how it may be typed, and which mistakes are named."""

import pytest

from layoutdrill.dice import Dice
from layoutdrill.errors import LayoutdrillError
from layoutdrill.question import kinds
from tests.each import each
from tests.question.fairness import grade

KIND = kinds()["table"]


def asked(drawn, cell, process="silicon-gate-cmos"):
    return KIND.ask(drawn(cell, process, 1), Dice(1))


# Source: function tables of NAND, NOR and XOR, from memory; of the bilateral switch (4066 type), data sheets.
@pytest.mark.parametrize(
    ("cell", "levels"),
    [("nand2", "1110"), ("nor2", "1000"), ("xor2_nand", "0110"), ("transmission_gate", "z0z1"), ("inverter", "10")],
)
def test_tables_of_standard_gates(drawn, cell, levels):
    """A switch that is off leaves its other end floating."""
    assert asked(drawn, cell).key.levels == levels


@each(
    ("said", "credit", "words"),
    [
        ("1110", 1, "Right"),
        ("1 1 1 0", 1, "Right"),
        ("00:1 01:1 10:1 11:0", 1, "Right"),
        ("111?", 0.75, "3 of 4"),
        ("111", 0.75, "3 of 4"),
        ("0001", 0, "other way round"),
        ("1000", 0, "dual"),
        ("1111", 0.5, "a=1 b=1 gives 0, not 1"),
        ("zzzz", 0, "0 of 4"),
    ],
)
def test_near_misses_of_a_nand(drawn, said, credit, words):
    """The share of right rows less that of wrong ones; known mistakes by name."""
    verdict = grade(KIND, asked(drawn, "nand2"), said)
    assert verdict.credit == credit
    assert words in verdict.summary


@pytest.mark.parametrize(
    ("said", "words"),
    [("11101", "5 levels for 4 rows"), ("????", "no row"), ("abcd", "no column"), ("000:1", "no row of a b")],
)
def test_what_is_no_column_is_refused(drawn, said, words):
    with pytest.raises(LayoutdrillError, match=words):
        KIND.accept(asked(drawn, "nand2"), said)


def test_a_verdict_says_which_transistors_make_the_level(drawn):
    """The row that is wrong is explained by a path, with the numbers that stand on the picture."""
    verdict = grade(KIND, asked(drawn, "nand2"), "1111")
    assert "With a=1 b=1 transistors" in verdict.decides
    assert verdict.decides.endswith("lead y to VSS.")
    assert len(verdict.transistors) == 2
