"""Decoders, ROMs and PLAs: addresses and words by simulation are those that the library's functions say."""

import pytest

from layoutdrill.cells import load_cell
from layoutdrill.deck.specimen import drawn as drawn_cell
from layoutdrill.dice import Dice
from layoutdrill.errors import LayoutdrillError
from layoutdrill.process import load_process
from layoutdrill.question import kinds
from tests.question.fairness import grade, unfair

KIND = kinds()["address"]
CASES = (
    ("decoder2_nor_own", "silicon-gate-nmos"),
    ("decoder2_nand_own", "silicon-gate-cmos"),
    ("decoder3_nand_own", "silicon-gate-cmos"),
    ("rom_flash", "silicon-gate-nmos"),
    ("rom_scan_p", "metal-gate-pmos"),
    ("pla_scan", "silicon-gate-nmos"),
)


def asked(cell, process, seed=1):
    specimen = drawn_cell(load_cell(cell), process, 3, 0.2)
    return [q for q in (KIND.ask(specimen, Dice(at)) for at in range(seed, seed + 4)) if q is not None]


# Source: the functions of the library's arrays, written from their contents and not from their transistors.
@pytest.mark.parametrize(("cell", "process"), CASES)
def test_arrays_say_what_their_functions_say(cell, process):
    """Four questions about each array, fair by the library's functions."""
    if not load_cell(cell).fits(load_process(process)):
        pytest.skip(f"{cell} is not built in {process}")
    questions = asked(cell, process)
    assert questions
    assert [fault for question in questions for fault in unfair(KIND, question)] == []


def test_an_address_may_be_typed_in_bits_names_or_as_a_number():
    question = next(q for q in asked("decoder2_nor_own", "silicon-gate-nmos", 0) if q.key.bits == "10")
    for said, credit in (("10", 1), ("1 0", 1), ("a1=1 a0=0", 1), ("2", 1), ("01", 0.5), ("11", 0), ("3", 0)):
        assert grade(KIND, question, said).credit == credit, said
    for said in ("4", "102", "a1=1", "second"):
        with pytest.raises(LayoutdrillError):
            KIND.accept(question, said)


def test_the_line_asked_for_is_not_called_by_its_number():
    """y2 is selected by 2, so the line is marked X."""
    for question in asked("decoder2_nor_own", "silicon-gate-nmos"):
        assert {mark.letter for mark in question.marks} == {"a1", "a0", "X"}
