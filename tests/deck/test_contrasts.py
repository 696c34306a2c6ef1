"""Decoys: on pages, beside a mistake, and among the wrong choices."""

from dataclasses import replace

import pytest

from layoutdrill.cells import cell_names, load_cell
from layoutdrill.deck import deck_text, load_deck
from layoutdrill.deck.check import check_deck
from layoutdrill.deck.specimen import decoys_of, drawn, one_wire_away, pictured
from layoutdrill.netlist.compare import alike
from layoutdrill.process import load_process
from layoutdrill.question.lookalikes import look_alikes
from layoutdrill.question.naming import canonical_structure
from layoutdrill.recognise.whole import recognise
from tests.sampling import covering

PAGE = """\
title: Contrasts
about: One wire.
pages:
  - title: A page
    text: Two pictures.
    side by side:
      - {cell: aoi21, process: silicon-gate-cmos, seed: 3, difficulty: 0}
      - {cell: aoi21, process: silicon-gate-cmos, seed: 3, difficulty: 0, decoy: DECOY}
"""


def deck(tmp_path, decoy):
    path = tmp_path / "mine.yaml"
    path.write_text(PAGE.replace("DECOY", decoy))
    return path


def test_a_page_shows_a_cell_and_its_decoy(tmp_path):
    """Both are proved drawings of the same ports and as many transistors; the circuits differ."""
    path = deck(tmp_path, "series and parallel")
    assert check_deck(path) == []
    found = load_deck(path)
    one, other = (pictured(found, picture) for picture in found.pages[0].pictures)
    assert set(one.netlist.ports) == set(other.netlist.ports)
    assert one.netlist.count() == other.netlist.count() == 6
    assert not alike(one.netlist, other.netlist)
    assert (one.structure, other.structure) == ("AOI21", "NOR3")
    assert "not in series" in other.about


def test_a_decoy_survives_being_written(tmp_path):
    """The canonical text of a deck keeps it."""
    path = deck(tmp_path, "inputs exchanged")
    first = load_deck(path)
    path.write_text(deck_text(first))
    assert load_deck(path).pages == first.pages
    assert [picture.decoy for picture in first.pages[0].pictures] == ["", "inputs exchanged"]


@pytest.mark.parametrize(
    ("decoy", "said"),
    [
        ("inputs exchangd", 'mine.yaml:8:82: no kind of decoy "inputs exchangd"; did you mean "inputs exchanged"?'),
        ("feedback broken", "mine.yaml:8:9: no decoy “feedback broken” can be made of aoi21 in silicon-gate-cmos"),
    ],
)
def test_a_decoy_that_cannot_be_is_an_error_with_its_place(tmp_path, decoy, said):
    """A slip of the keyboard, and a kind that the cell has nothing for."""
    (error,) = check_deck(deck(tmp_path, decoy))
    assert said in str(error).replace(str(tmp_path) + "/", "")


# Source: recognition of the netlist that was read back from the drawing.
@pytest.mark.parametrize(
    ("cell", "named", "process"),
    covering(
        (cell, named, process)
        for cell, named in (("nand2", "NOR2"), ("nor3", "AOI21"), ("aoi21", "NOR3"), ("xor2_tg", "XNOR2"))
        for process in ("silicon-gate-cmos", "metal-gate-sapphire")
    ),
)
@pytest.mark.usefixtures("drawn_anew")
def test_what_was_named_is_drawn_one_wire_away(cell, named, process):
    """After a mistake the drawing beside is what was named, and its words say which wire is different."""
    specimen = drawn(load_cell(cell), process, 4, 0.3)
    beside = one_wire_away(named, specimen)
    low, high = specimen.process.supplies
    assert recognise(beside.netlist, {low: 0, high: 1}).term == named
    assert beside.structure == named
    assert beside.about.endswith(".")
    assert one_wire_away(named, specimen).face.text() == beside.face.text()


def test_what_no_wire_makes_is_not_drawn_so():
    """A NAND is not one wire from a latch; a cell of a kit has no netlist here to change."""
    specimen = drawn(load_cell("nand2"), "silicon-gate-cmos", 4, 0.3)
    assert one_wire_away("latch", specimen) is None
    assert one_wire_away("NOR2", replace(specimen, cell="nand2_1")) is None


# Source: the decoys, made by editing netlists and named by recognition, not by the table of look-alikes.
def test_what_one_wire_makes_of_a_cell_is_offered_as_a_wrong_choice():
    """A structure of equal size that one wire makes of a cell is among the seven likeliest wrong choices."""
    process = load_process("silicon-gate-cmos")
    sizes = {}
    for name in cell_names():
        if load_cell(name).fits(process):
            size = load_cell(name).netlist(process).count()
            sizes.setdefault(canonical_structure(load_cell(name).structure), set()).add(size)
    tried, missing = 0, []
    for name in ("nand2", "nor2", "nand3", "nor3", "aoi21", "oai21", "aoi22", "oai22", "xor2_tg", "xnor2_tg"):
        cell = load_cell(name)
        size = cell.netlist(process).count()
        for decoy in decoys_of(cell, process.name):
            if decoy.renamed and decoy.function_differs and size in sizes.get(decoy.term, ()):
                tried += 1
                offered = look_alikes(cell.structure, cell.aliases, name, process, size)[:7]
                if decoy.term not in offered:
                    missing.append((name, decoy.term, offered))
    assert tried >= 10
    assert not missing
