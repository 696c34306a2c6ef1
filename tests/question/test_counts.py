"""Counts against published transistor counts."""

import re

import pytest

from layoutdrill.dice import Dice
from layoutdrill.errors import LayoutdrillError
from layoutdrill.picture.overlay import devices_overlay
from layoutdrill.question import kinds
from tests.each import each
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


@each("process", ["silicon-gate-cmos", "metal-gate-sapphire"])
@each("cell", list(PUBLISHED))
def test_published_counts_are_the_right_answer(drawn, process, cell):
    """The number the textbooks give for a structure is what the question takes for right."""
    kind = kinds()["count"]
    questions = (kind.ask(drawn(cell, process, 1), Dice(seed)) for seed in range(50))
    question = next(q for q in questions if q.key.what == "transistors")
    n, p = PUBLISHED[cell]
    assert grade(kind, question, f"{n} {p} {n + p}").correct


def test_the_boundary_is_stated(drawn):
    """Complement inverters change every count, so where the cell says what belongs to it, each count question does."""
    for cell in ("mux2_tg", "xor2_tg", "tristate"):
        question = kinds()["count"].ask(drawn(cell, "silicon-gate-cmos", 1), Dice(1))
        assert any(fact.startswith("Counts: ") for fact in question.facts)


def test_what_counts_never_tells_the_answer(drawn):
    """“All six transistors” is no help but the answer; “everything that is drawn” says nothing."""
    for cell in ("ram_6t", "nand2"):
        facts = kinds()["count"].ask(drawn(cell, "silicon-gate-cmos", 1), Dice(1)).facts
        assert not [fact for fact in facts if fact.startswith("Counts")]


def test_fingers_are_told_by_their_numbers(drawn):
    """More stripes than transistors: the verdict says which numbers on the picture are fingers of one."""
    kind = kinds()["count"]
    for seed in range(1, 60):
        specimen = drawn("nand2", "silicon-gate-cmos", seed, 0.6)
        if len(specimen.netlist.transistors) == 5:
            break
    questions = (kind.ask(specimen, Dice(number)) for number in range(50))
    question = next(q for q in questions if q.key.what == "transistors")
    decides = grade(kind, question, "2 2 4").decides
    assert "5 gate stripes for 4 transistors" in decides
    told = re.search(r": (\d) and (\d) are the fingers of one\.", decides)
    numbers = {number: name for name, number in devices_overlay(specimen.extraction).transistors}
    one, two = (next(t for t in specimen.netlist.transistors if t.name == numbers[told[i]]) for i in (1, 2))
    assert (one.gate, one.ends, one.kind) == (two.gate, two.ends, two.kind)


@pytest.mark.parametrize("typed", ["nand2", "NAND2", "inverter", "n1 and n2"])
def test_the_number_in_a_name_is_no_answer(drawn, typed):
    """A name typed where a number is wanted is told, and spends nothing; figures beside words are read."""
    kind = kinds()["count"]
    questions = (kind.ask(drawn("nand2", "silicon-gate-cmos", 1), Dice(seed)) for seed in range(50))
    question = next(q for q in questions if q.key.what == "contacts")
    with pytest.raises(LayoutdrillError, match="one number is wanted"):
        kind.accept(question, typed)
    assert kind.accept(question, "12 contacts").text == "12 contacts"
