"""Counts against published transistor counts."""

from random import Random

import pytest

from layoutdrill.question import kinds
from tests.question.fairness import grade

PUBLISHED = {
    "inverter": (1, 1),  # Georgia Tech ECE2030 course notes: an inverter takes 2
    "nand2": (2, 2),  # the same: NANDn and NORn take 2n
    "nand3": (3, 3),
    "nor2": (2, 2),
    "nor3": (3, 3),
    "and2": (3, 3),  # the same: ANDn and ORn take 2n + 2
    "or3": (4, 4),
    "aoi21": (3, 3),  # two a literal (Weste & Harris, from memory)
    "aoi22": (4, 4),
    "xor2_compact": (3, 3),  # encyclopedia article on XOR gates: 6
    "xor2_tg": (4, 4),  # the same: 8
}


@pytest.mark.parametrize("process", ["silicon-gate-cmos", "metal-gate-sapphire"])
@pytest.mark.parametrize("cell", list(PUBLISHED))
def test_published_counts_are_the_right_answer(drawn, process, cell):
    """The number the textbooks give for a structure is what the question takes for right."""
    kind = kinds()["count"]
    questions = (kind.ask(drawn(cell, process, 1), Random(seed)) for seed in range(50))
    question = next(q for q in questions if q.key["what"] == "transistors")
    n, p = PUBLISHED[cell]
    assert grade(kind, question, f"{n} {p} {n + p}").correct


def test_the_boundary_is_stated(drawn):
    """Complement inverters change every count, so each count question says what belongs to the cell."""
    for cell in ("mux2_tg", "xor2_tg", "tristate"):
        question = kinds()["count"].ask(drawn(cell, "silicon-gate-cmos", 1), Random(1))
        assert any(fact.startswith("Boundary: ") for fact in question.facts)
