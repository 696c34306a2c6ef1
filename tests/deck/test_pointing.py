"""What a page's picture points out stands on it: places by what the extractor reads there, devices by their nets."""

import pytest

from layoutdrill.deck import deck_text, lesson_names, load_deck
from layoutdrill.deck.check import check_deck
from layoutdrill.deck.pointing import named_devices
from layoutdrill.deck.specimen import SpecimenMaker
from layoutdrill.netlist.compare import alike
from layoutdrill.recognise.whole import recognise
from tests.drawings import deck_of

PAGE = """\
title: Pointing
about: Letters.
pages:
  - title: A page
    text: A place.
    side by side:
      - {cell: nand2, SEED, turn: 3, nets: [y], point out: {A: contact, X: where missing contact}}
      - {cell: nand2, SEED, turn: TURN, closer: 2, defect: missing contact, point out: {X: defect}}
""".replace("SEED", "process: silicon-gate-cmos, seed: 4, difficulty: 0")


def deck(tmp_path, text):
    path = tmp_path / "mine.yaml"
    path.write_text(text)
    return path


@pytest.mark.parametrize("turn", [3, 5])
def test_a_defect_makes_another_circuit_and_is_pointed_at_on_both(tmp_path, turn):
    """The sound drawing has a contact at X, the faulty one none, whichever way each lies."""
    path = deck(tmp_path, PAGE.replace("TURN", str(turn)))
    assert check_deck(path) == []
    found = load_deck(path)
    maker = SpecimenMaker(found)
    sound, faulty = (maker.picture(picture) for picture in found.pages[0].pictures)
    assert not alike(sound.netlist, faulty.netlist)
    for specimen, there in ((sound, True), (faulty, False)):
        (at,) = [mark for mark in specimen.marks if mark.letter == "X"]
        assert any(joint.rect.contains(at.x, at.y) for joint in specimen.face.scene.joints) == there
    path.write_text(deck_text(found))
    assert load_deck(path).pages == found.pages


@pytest.mark.parametrize(
    ("wrong", "said"),
    [
        ("A: contct", "nothing called “contct” can be pointed out"),
        ("A: via", "no via is left on this drawing"),
        ("A: switch at q", "no transistor is a “switch at q” here"),
        ("A: defect", "no defect is drawn here"),
    ],
)
def test_what_is_not_there_is_told_with_its_place(tmp_path, wrong, said):
    (error,) = check_deck(deck(tmp_path, PAGE.replace("TURN", "0").replace("A: contact", wrong)))
    assert said in str(error)
    assert "mine.yaml:7:" in str(error)


# Source: the netlist that was read back from the drawing; a switch has no end on a supply, a driver has one.
@pytest.mark.parametrize("lesson", lesson_names())
def test_letters_on_lessons_stand_on_what_they_name(lesson):
    found = deck_of(lesson)
    maker = SpecimenMaker(found)
    for picture in (picture for page in found.pages for picture in page.pictures if picture.pointed):
        specimen = maker.picture(picture)
        at = {mark.letter: mark for mark in specimen.marks if mark.ring}
        rails = set(specimen.process.supplies)
        for letter, what in picture.pointed:
            if letter in at:
                mark = at[letter]
                here = specimen.extraction.nets_at(mark.x, mark.y)
                if what.startswith(("contact", "via")):
                    assert len({net for _, net in here if net != "substrate"}) >= 1
                    assert any(joint.rect.contains(mark.x, mark.y) for joint in specimen.face.scene.joints)
                elif what in ("resistor", "diode"):
                    bodies = [e.name for e in specimen.netlist.elements if e.kind == what]
                    assert any(r.contains(mark.x, mark.y) for e in bodies for r in specimen.extraction.channel(e))
                elif what == "crossing":
                    assert len({net for _, net in here}) >= 2
                continue
            names = {name for name, each in named_devices(specimen) if each == letter}
            ends = [{t.source, t.drain} for t in specimen.extraction.netlist.transistors if t.name in names]
            assert ends
            assert all(bool(each & rails) != what.startswith("switch") for each in ends)


def test_a_latch_whose_loop_is_cut_reads_as_something_else():
    """A static latch is a loop of two inverters (common practice); with one wire of it cut it is none."""
    found = deck_of("switches-and-stores")
    maker = SpecimenMaker(found)
    pages = [page.pictures for page in found.pages if any(picture.defect for picture in page.pictures)]
    assert len(pages) == 2  # in mask colours, then as a photograph
    for closed, cut in pages:
        assert (closed.cell, closed.seed, closed.process) == (cut.cell, cut.seed, cut.process)
        terms = [[s.term for s in recognise(maker.picture(each).netlist).structures] for each in (closed, cut)]
        assert terms[0] == ["latch"]
        assert "latch" not in terms[1]
        assert len(terms[1]) > 1  # it comes apart
