"""The scenario's photographs: what was read from them by eye is what was drawn; and together they are small."""

import pytest

from layoutdrill.cells import load_cell
from layoutdrill.deck import load_deck
from layoutdrill.face.photo import PhotoFace
from layoutdrill.locations import shipped
from layoutdrill.netlist.compare import compare
from layoutdrill.photo.joining import joined
from layoutdrill.photo.read import load_marks
from layoutdrill.process import load_process

FOLDER = shipped("decks") / "buoy"


@pytest.mark.parametrize(
    ("file", "region", "cell", "ports"),
    [
        ("lamp-gate", "lamp_gate", "aoi21", True),
        ("message-flag", "message_flag", "sr_nor", False),  # named by the reader: q and qn, s and r may be exchanged
    ],
)
def test_what_was_marked_through_the_app_is_what_was_photographed(file, region, cell, ports):
    """Independent: the library's circuit, which the tool drew and photographed; the marks never saw it."""
    marks = load_marks(FOLDER / f"{file}.marks.yaml")
    process = load_process(marks.process)
    face = PhotoFace.of(marks, process, region)
    assert compare(face.netlist, load_cell(cell).netlist(process), ports=ports).equal
    assert not face.extraction.findings
    for picture in marks.pictures:
        assert joined(marks, picture).residual < 1


def test_the_pictures_are_small_and_asked_about():
    deck = load_deck("buoy-and-beacon")
    assert set(deck.photographs) == {"lamp-gate/lamp_gate", "message-flag/message_flag"}
    assert sum(path.stat().st_size for path in FOLDER.iterdir()) < 2_000_000
