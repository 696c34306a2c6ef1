"""Typed names: the trade's aliases, slips of the keyboard, and what must never be taken for right."""

import pytest

from layoutdrill.cells.library import library
from layoutdrill.question.naming import canonical_structure, distance, read_name, same_structure, widened
from layoutdrill.recognise.terms import family
from tests.each import each


@each(
    ("typed", "term"),
    [
        ("NOT", "inverter"),
        ("not gate", "inverter"),
        ("2-input NAND", "NAND2"),
        ("nand 2", "NAND2"),
        ("three-input nor gate", "NOR3"),
        ("TG", "transmission gate"),
        ("pass gate", "transmission gate"),
        ("bilateral switch", "transmission gate"),
        ("clocked inverter", "tri-state inverter"),
        ("three-state inverter", "tri-state inverter"),
        ("transparent latch", "latch"),
        ("D flip-flop", "register bit"),
        ("master-slave", "register bit"),
        ("SRAM cell", "static RAM cell"),
        ("bit cell", "static RAM cell"),
        ("and-or-invert 21", "AOI21"),
        ("mux", "2:1 multiplexer"),
        ("exclusive or", "XOR2"),
    ],
)
def test_aliases_of_the_trade(typed, term):
    """Aliases in common use name the canonical term (common practice; textbook homes: Weste & Harris, Rabaey)."""
    assert read_name(typed).term == term


@pytest.mark.parametrize(
    ("typed", "term"),
    [
        ("invertor", "inverter"),
        ("transmision gate", "transmission gate"),
        ("nadn2", "NAND2"),
        ("ltach", "latch"),
        ("multiplexor", "2:1 multiplexer"),
        ("schmit trigger", "Schmitt inverter"),
        ("flipflop", "register bit"),
    ],
)
def test_small_slips_are_forgiven(typed, term):
    """One slip in a short word, two in a long one."""
    assert read_name(typed).term == term


@pytest.mark.parametrize("typed", ["NAND3", "NAND22", "AND2", "NOR2", "NAND"])
def test_another_structure_is_never_a_slip(typed):
    """However near the spelling, a name that means something else keeps its meaning."""
    assert read_name(typed, "NAND2", ("nand", "2-input nand")).term != "NAND2"


def test_an_ambiguous_slip_is_asked_again():
    """“nad2” is one slip from AND2 and from NAND2, so it is neither."""
    assert set(read_name("nad2").near) == {"AND2", "NAND2"}
    assert not read_name("nad2").term


def test_nonsense_is_nothing():
    for typed in ("foo", "???", "xyzzy gate"):
        reading = read_name(typed)
        assert not reading.term
        assert not reading.near


def test_wide_words_are_not_synonyms():
    """A single device is a pass transistor, not a transmission gate; a dynamic latch is more than a latch."""
    assert not same_structure("pass transistor", "transmission gate")
    assert not same_structure("latch", "flip-flop")
    assert same_structure("D flip-flop", "register bit")
    assert "latch" in widened("dynamic latch")
    assert "complex gate" in widened("AOI21")


def test_a_cell_brings_its_own_words():
    """A full name that a cell lists is right for it; a bare family or a wider word stays what it is."""
    own = ("lamp gate", "NOR2", "nand", "complex gate")
    assert read_name("lamp gate", "lamp driver", own).term == "lamp driver"
    assert read_name("2-input nor", "lamp driver", own).term == "lamp driver"
    assert read_name("nand", "lamp driver", own).term == "NAND"
    assert read_name("complex gate", "AOI21", own).term == "complex gate"
    assert canonical_structure("lamp driver") == "lamp driver"


def test_every_name_in_the_library_is_understood():
    """Each cell's structure and aliases, typed, are taken for that structure or for a wider word that is true of it."""
    for cell in library().values():
        right = canonical_structure(cell.structure)
        for word in (cell.structure, *cell.aliases):
            read = read_name(word, cell.structure, cell.aliases).term
            assert same_structure(read, right) or read == family(right) or family(read) in widened(right), (
                cell.name,
                word,
            )


@pytest.mark.parametrize(
    ("one", "other", "slips"), [("", "abc", 3), ("nand", "nand", 0), ("nand", "nadn", 1), ("kitten", "sitting", 3)]
)
def test_distance(one, other, slips):
    """Optimal string alignment distance; kitten and sitting are the textbook pair (Levenshtein distance 3)."""
    assert distance(one, other) == slips == distance(other, one)
