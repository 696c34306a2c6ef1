"""What skills and confusions are called."""

import pytest

from layoutdrill.learning.wording import confusion_name, named, pair_name


@pytest.mark.parametrize(
    ("key", "name"),
    [
        ("see: n and p", "n or p"),
        ("see: contact", "contacts"),
        ("name: AOI", "recognise an AOI"),
        ("name: ROM plane", "recognise a ROM plane"),
        ("name: SR latch", "recognise an SR latch"),
        ("name: XOR", "recognise an XOR"),
        ("name: cross-coupled inverters", "recognise cross-coupled inverters"),
        ("work out: NAND", "work out a NAND"),
        ("write: NOR", "the netlist of a NOR"),
    ],
)
def test_a_skill_is_named_in_plain_words(key, name):
    """As one would say it, with its article."""
    assert named(key) == name


@pytest.mark.parametrize(
    ("group", "true", "said", "words"),
    [
        ("see", "n and p", "p", "n taken for p"),
        ("see", "loads", "driver", "load taken for driver"),
        ("see", "contact", "crossing", "contacts taken for crossings"),
        ("see", "layers", "metal", "another layer taken for metal"),
        ("name", "NOR", "NAND", "NOR taken for NAND"),
    ],
)
def test_a_confusion_says_what_was_taken_for_what(group, true, said, words):
    """Of two things only the other one can have been meant."""
    assert confusion_name(group, true, said) == words


def test_a_pair_is_named_by_both():
    """In the order of the alphabet, whichever was asked."""
    assert pair_name("name", "NOR", "NAND") == pair_name("name", "NAND", "NOR") == "NAND or NOR"
