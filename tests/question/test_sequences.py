"""Sequences: stores do what the words for them mean, and what a known mistake gives is named."""

import pytest

from layoutdrill.cells import load_cell
from layoutdrill.cells.library import library
from layoutdrill.dice import Dice
from layoutdrill.errors import LayoutdrillError
from layoutdrill.process import load_process
from layoutdrill.question import kinds
from tests.question import stores
from tests.question.fairness import grade, unfair
from tests.sampling import covering, some

KIND = kinds()["sequence"]
STORES = [name for name in library() if stores.model(name, "q") is not None]


BUILT = [
    (cell, process)
    for cell in STORES
    for process in ("silicon-gate-cmos", "silicon-gate-nmos")
    if load_cell(cell).fits(load_process(process))
]


# Source: data sheets of latches and flip-flops (75 and 74 types), from memory, as written in `stores`.
@pytest.mark.parametrize(("cell", "process"), covering(BUILT))
def test_stores_do_what_their_names_say(drawn, cell, process):
    """Sequences for each store of the library in a process that builds it, by simulation and by the words."""
    specimen = drawn(cell, process, 1, 0.1)
    asked = [q for q in (KIND.ask(specimen, Dice(seed)) for seed in some(range(6), 2)) if q is not None]
    if not asked:
        pytest.skip(f"{cell} stays unknown from an empty start")
    assert [fault for question in asked for fault in unfair(KIND, question)] == []


def asked(drawn, cell="latch_static"):
    return KIND.ask(drawn(cell, "silicon-gate-cmos", 1), Dice(1))


def test_known_mistakes_are_named(drawn):
    """The store taken for a wire, and the control read the other way round."""
    question = asked(drawn)
    key = question.key
    wire = "".join(step[key.inputs.index("d")] for step in key.steps)
    assert "d itself" in grade(KIND, question, wire).summary
    other = key.mistakes["Right, were on the other way round"]
    assert "were on the other way round" in grade(KIND, question, other).summary
    assert 0 <= grade(KIND, question, other).credit < 1


def test_one_step_wrong_is_told_by_its_step(drawn):
    question = asked(drawn)
    levels = question.key.levels
    slip = levels[:4] + ("0" if levels[4] == "1" else "1") + levels[5:]
    verdict = grade(KIND, question, slip)
    assert verdict.credit == pytest.approx(1 - 2 / len(levels), abs=0.001)
    assert "after step 5" in verdict.summary


def test_what_remembers_nothing_is_not_clocked(drawn):
    """A gate has a table, and no sequence."""
    assert asked(drawn, "nand2") is None


@pytest.mark.parametrize(
    ("said", "words"), [("01" * 9, "18 levels for 9 steps"), ("?????", "no step"), ("up", "no column")]
)
def test_what_is_no_column_is_refused(drawn, said, words):
    with pytest.raises(LayoutdrillError, match=words):
        KIND.accept(asked(drawn), said)
