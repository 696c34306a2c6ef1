"""Questions are fair: over kinds, cells, processes and seeds, judged by the masks and not by the code that asked."""

import os
import subprocess
import sys
from collections import Counter
from pathlib import Path

import pytest

from layoutdrill.cells import load_cell
from layoutdrill.cells.library import library
from layoutdrill.dice import Dice
from layoutdrill.process import load_process, process_names
from layoutdrill.question import kinds
from layoutdrill.question.naming import canonical_structure
from tests.each import each
from tests.question.anew import asked_anew
from tests.question.conftest import CELL_KINDS
from tests.question.fairness import Oracle, grade, unfair
from tests.sampling import covering, some

PROCESSES = [name for name in process_names() if name != "open-130nm"]
CELLS = ("inverter", "nand2", "nor3", "aoi21", "transmission_gate", "mux2_tg", "xor2_compact", "latch_static", "pass_n",
         "latch_gates", "half_adder")  # fmt: skip
SEEDS = some((1, 2))
CASES = [
    (process, cell)
    for process in PROCESSES
    for cell in CELLS
    if load_cell(cell).fits(load_process(process))
]  # fmt: skip
SUITING = {"sequence": "latch_gates", "address": "half_adder"}
"""Cells for kinds that do not fit every gate."""
CHI_SQUARE_3 = 16.266
"""The 0.999 point of chi-square with three degrees of freedom (NIST/SEMATECH e-Handbook, table 1.3.6.7.4)."""


@each(("process", "cell"), covering(CASES))
def test_every_question_is_fair(drawn, process, cell):
    """The computed answer earns all, every wrong one less, and the masks agree with the key."""
    found = []
    for seed in SEEDS:
        specimen = drawn(cell, process, seed)
        oracle = Oracle(specimen)
        for name, kind in kinds().items():
            for turn in some(range(3)):
                question = kind.ask(specimen, Dice.from_text(f"{name} {seed} {turn}"))
                if question is not None:
                    found += [(name, seed, turn, fault) for fault in unfair(kind, question, oracle)]
    assert not found


@each("process", PROCESSES)
def test_every_kind_fits_something(drawn, process):
    """In every process each kind finds a cell to ask about, but for those of whole dies, which are few."""
    cells = [cell for where, cell in CASES if where == process]  # the smallest first
    asked = {
        name: any(kinds()[name].ask(drawn(cell, process, 1), Dice(seed)) for cell in cells for seed in (0, 1))
        for name in CELL_KINDS
    }
    assert [name for name, fits in asked.items() if not fits] == []


@pytest.mark.parametrize("name", ["name", "spot", "rails", "polarity", "turned or not"])
def test_the_right_choice_stands_anywhere(drawn, name):
    """Over fixed seeds (480 in a whole sweep) the right letter is spread evenly: chi-square below the 0.999 point."""
    kind = kinds()[name]
    specimen = drawn("nand2", "silicon-gate-cmos", 1)
    places = Counter()
    seeds = some(range(480), 120)
    for seed in seeds:
        question = kind.ask(specimen, Dice(seed))
        if len(question.choices) == 4:
            places[_right_place(question)] += 1
    total = sum(places.values())
    assert total * 6 >= len(seeds) * 5
    statistic = sum((places[i] - total / 4) ** 2 / (total / 4) for i in range(4))
    assert statistic < CHI_SQUARE_3


def _right_place(question):
    key = question.key
    if question.kind == "rails":
        return "abcd".index(key.right)
    if question.kind == "turned or not":
        return question.choices.index(kinds()[question.kind].solution(question).text)
    right = {"name": "structure", "spot": "right"}.get(question.kind)
    return question.choices.index(getattr(key, right) if right else f"{key.right}: {key.true}")


@each("name", CELL_KINDS)
def test_the_same_seed_asks_the_same(drawn, name):
    """A question is fixed by specimen and random generator; another seed asks something else sometimes."""
    kind = kinds()[name]
    specimen = drawn(SUITING.get(name, "aoi21"), "silicon-gate-cmos", 1)
    once, again = kind.ask(specimen, Dice(5)), kind.ask(specimen, Dice(5))
    first = once.prompt, once.choices, once.marks, once.key
    assert first == (again.prompt, again.choices, again.marks, again.key)
    if name not in ("count", "table", "function", "transcribe", "other convention"):  # one cell, one table
        others = (question for seed in range(8) if (question := kind.ask(specimen, Dice(seed))) is not None)
        assert any((q.prompt, q.choices, q.marks, q.key) != first for q in others)


def test_hash_seeds_change_nothing():
    """An interpreter that orders its sets otherwise asks the same questions as this one."""
    program = "from tests.question.anew import asked_anew; print(hash('a'), asked_anew())"
    seed = "1" if os.environ.get("PYTHONHASHSEED") != "1" else "2"
    elsewhere = subprocess.run(
        [sys.executable, "-c", program],
        env={**os.environ, "PYTHONHASHSEED": seed},
        cwd=Path(__file__).parents[2],
        capture_output=True,
        check=True,
        text=True,
        encoding="utf-8",
    ).stdout
    mark, _, asked = elsewhere.partition(" ")
    assert int(mark) != hash("a")
    assert asked.strip() == asked_anew()


@each(("process", "cell"), covering(CASES))
def test_wrong_names_can_be_built_in_the_process(drawn, process, cell):
    """A wrong choice of a name is a structure that this process makes, so that it cannot be ruled out unseen."""
    built = {canonical_structure(c.structure) for c in library().values() if c.fits(load_process(process))}
    question = kinds()["name"].ask(drawn(cell, process, 1), Dice(7))
    assert set(question.choices) <= built
    assert len(question.choices) == 4


def test_a_looked_like_structure_comes_first(drawn):
    """NOR2, the NAND2's look-alike (trade: series on the other side), is offered more often than not."""
    specimen = drawn("nand2", "silicon-gate-cmos", 1)
    offered = sum("NOR2" in kinds()["name"].ask(specimen, Dice(seed)).choices for seed in range(100))
    assert offered > 60


def test_what_goes_by_both_names_is_no_wrong_choice(drawn):
    """A decoder column of three true inputs is a NAND3: neither name is ever wrong for the other's drawing."""
    kind = kinds()["name"]
    for seed in range(60):
        column = kind.ask(drawn("decoder3_7", "silicon-gate-cmos", 1), Dice(seed))
        gate = kind.ask(drawn("nand3", "silicon-gate-cmos", 1), Dice(seed))
        assert "NAND3" not in column.choices
        assert "decoder column" not in gate.choices
    assert grade(kind, column, "NAND3").correct
