"""Decoders, ROMs and PLAs: addresses and words by simulation are those that the library's functions say."""

import pytest

from layoutdrill.cells import load_cell
from layoutdrill.cells.arrays.planes import pla, rom_decoded
from layoutdrill.deck.specimen import drawn as drawn_cell
from layoutdrill.dice import Dice
from layoutdrill.errors import LayoutdrillError
from layoutdrill.process import load_process
from layoutdrill.question import kinds
from layoutdrill.simulate.expression import evaluate, parse
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


WORDS = tuple(f"{(37 * address + 11) % 16:04b}" for address in range(64))
SUMS = ("p = a*!b*c + d*!e*f", "q = !a*!d + b*e*!f", "r = a*c*e + !b*!d*!f")
LARGEST = (
    (load_cell("decoder6_nor_own"), "silicon-gate-nmos", 460),
    (load_cell("decoder6_tree"), "silicon-gate-cmos", 126),
    (rom_decoded("rom6_decoded", "ROM of 64 words", WORDS), "silicon-gate-nmos", 592),
    (pla("pla6", "PLA of six inputs", tuple("abcdef"), SUMS), "silicon-gate-nmos", 50),
)


# Source: of decoders the number of the output; of ROM and PLA their contents as given here.
@pytest.mark.parametrize(("cell", "process", "count"), LARGEST, ids=[cell.name for cell, _, _ in LARGEST])
def test_arrays_of_six_addresses_are_asked_about(cell, process, count):
    """Decoders, a tree of switches, a ROM of 64 words and a PLA of six inputs, by what they hold."""
    specimen = drawn_cell(cell, process, 3, 0.2)
    assert specimen.netlist.count() == count
    question = KIND.ask(specimen, Dice(1))
    key = question.key
    if key.what == "select":
        assert len(key.names) == 6
        assert key.output == f"y{int(key.bits, 2)}"
        assert not any(mark.letter == key.output for mark in question.marks)
        return
    row = {name: bool(level) for name, level in key.row.items()}
    assert len(row) == 6
    if cell.name.startswith("rom"):
        right = WORDS[int("".join(str(key.row[f"a{bit}"]) for bit in reversed(range(6))), 2)]
    else:
        right = "".join(str(int(evaluate(parse(line.partition("=")[2]), row))) for line in SUMS)
    assert key.bits == right


def test_a_tree_leads_its_signal_to_one_output():
    """At every other address the output floats, which is told of a wrong answer."""
    question = asked("decoder2_tree", "silicon-gate-cmos", 0)[0]
    assert question.prompt.startswith("Which address leads d to the line at X?")
    assert question.facts[-1] == "a1n a0n each have the opposite of a1 a0."
    wrong = "".join("10"[int(bit)] for bit in question.key.bits)
    assert "it is floating, as at most" in KIND.judge(question, KIND.accept(question, wrong)).instead


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


# Source: common practice: a ROM's bit is a transistor that is at work at the crossing or not.
@pytest.mark.parametrize(
    ("cell", "process"),
    [("rom_flash", "silicon-gate-nmos"), ("rom_scan_p", "metal-gate-pmos"), ("rom_flash_series", "silicon-gate-nmos"),
     ("rom_flash_implant", "silicon-gate-nmos"), ("rom_flash_contact", "silicon-gate-nmos")],
)  # fmt: skip
def test_every_bit_of_a_word_is_told_by_its_crossing(cell, process):
    """The verdict names the bits at whose crossing a transistor works, all of which read alike, and those without."""
    question = asked(cell, process)[0]
    key, verdict = question.key, KIND.judge(question, KIND.solution(question))
    head, _, rest = verdict.decides.partition("; for ")
    assert head.startswith("The word line at X has a transistor at work for ")
    there = head.removeprefix("The word line at X has a transistor at work for ").rstrip(".").partition(", read as ")
    absent = rest.rstrip(".").partition(" it has none: ")
    for names, level in ((there[0], there[2]), (absent[0], absent[2])):
        assert {key.bits[key.names.index(name)] for name in names.split(", ") if name} <= {level}
    named = {*there[0].split(", "), *absent[0].split(", ")} - {""}
    assert named == set(key.names)
