"""
Own netlists are read as an old hand would: named as a whole, parts counted, the same in every order of lines and names.

What each is, is said beside it where it is built; a third is of published circuits, named there.
"""

from collections import Counter
from functools import cache
from random import Random

from layoutdrill.reading.slips import Scene, slips_in
from layoutdrill.recognise.outline import outline, outline_lines
from layoutdrill.recognise.terms import UNKNOWN, canonical, family, term
from layoutdrill.recognise.whole import recognise, seen
from layoutdrill.simulate.supplies import find_supplies
from tests.each import each
from tests.reading.netlists import all_cases, shuffled
from tests.sampling import WHOLE, spread

CASES = {case.name: case for case in all_cases()}
NOT_COUNTED = {"slices", "logic_unit"}


@cache
def scene(name):
    """Return a case under meaningless names and what is recognised in it, once for all tests."""
    netlist, _ = CASES[name].anonymous()
    return Scene(*seen(netlist, find_supplies(netlist)))


def reading(name):
    return scene(name).recognition


@each("name", CASES)
def test_the_whole_is_named_and_its_parts_counted(name):
    """From transistors under meaningless names alone."""
    case, found = CASES[name], reading(name)
    assert found.heading == case.head
    if name not in NOT_COUNTED:
        counts = Counter(s.term for s in found.all())
        assert {t: counts[t] for t in case.parts} == case.parts


@each("name", CASES)
def test_nothing_known_is_headed_unknown_and_nothing_is_lost(name):
    """Every transistor is in one outermost structure, and the heading names what there is."""
    found = reading(name)
    assert UNKNOWN not in found.heading
    told = Counter(t for s in found.structures for t in s.transistors)
    assert set(told) | set(found.leftover) == {t.name for t in found.netlist.transistors}
    assert max(told.values()) == 1


@each("name", spread(CASES, 50))
def test_every_order_of_lines_and_names_reads_the_same(name):
    """Two shuffles of lines, ends and names give one reading, but for the names."""
    case = CASES[name]
    readings = set()
    shuffles = [shuffled(case.netlist, Random(seed)) for seed in range(3 if WHOLE else 1)]
    read = [(reading(name), case.anonymous()[1]), *((recognise(netlist), names) for netlist, names in shuffles)]
    for found, names in read:
        back = {new: old for old, new in names.items()}
        terms = sorted((s.term, len(s.transistors)) for s in found.all())
        roles = sorted((back[p.net], str(p.role)) for p in found.ports)
        readings.add((found.heading, tuple(terms), tuple(roles)))
    assert len(readings) == 1


@each("name", CASES)
def test_right_circuits_are_not_accused(name):
    """Tri-state pads, open drains, keepers and bootstrap capacitors among them."""
    assert slips_in(scene(name)) == ()


def test_identical_parts_are_told_once_with_their_number():
    """The outline of a RAM, from the top, to a depth."""
    entries = outline(reading("ram_8x8_cmos").structures)
    assert outline_lines(entries, 1)[0].startswith("8 × 8 static RAM (518 transistors): 8 words of 8 bits")
    lines = outline_lines(entries, 2)
    for words in ("64 × static RAM cell (6 transistors each)", "8 × write driver", "8 × precharge", "3-to-8 decoder"):
        assert any(line.strip().startswith(words) for line in lines), words
    assert len(lines) < 10


def test_every_name_of_a_block_is_a_term():
    """What heads a reading, without its size, is a word that an answer may give."""
    for name in CASES:
        for s in reading(name).all():
            if s.term != UNKNOWN:
                assert canonical(family(s.term)) is not None, s.term
                assert term(s.term)
