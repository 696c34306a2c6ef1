"""A sitting on a photograph from the deck to the record: asked, answered, left and gone on with, graded again later."""

import pytest

from layoutdrill.drill.again import regraded
from layoutdrill.drill.records import Records
from layoutdrill.drill.sitting import Sitting
from layoutdrill.face import face_again
from layoutdrill.face.model import Light
from layoutdrill.picture.looks import load_look
from layoutdrill.picture.view import View
from layoutdrill.process import load_process
from tests.photo.specimens import photograph

DECK = """\
title: Dies
about: A gate out of the drawer.
items:
  - photo: nand2.marks.yaml
    kinds: [point, same net, transcribe, name]
    words: Out of the drawer.
    note: As on every board.
"""


@pytest.fixture
def deck(tmp_path, monkeypatch):
    monkeypatch.setenv("LAYOUTDRILL_HOME", str(tmp_path / "home"))
    photograph(tmp_path, "nand2", stages=True)
    path = tmp_path / "dies.yaml"
    path.write_text(DECK, encoding="utf-8")
    return path


def answer(sitting, number):
    from layoutdrill.question import kinds

    question = sitting.prepare(number)
    right = kinds()[question.kind].solution(question)
    return question, sitting.submit(question, right, 3.0)


def test_a_photograph_is_drilled_left_and_gone_on_with(deck, tmp_path):
    """Half is answered, the deck's folder is another by then; the rest is asked all the same, and all regrades."""
    records = tmp_path / "home" / "records.sqlite"
    sitting = Sitting.open_deck(deck, count=4, seed=5, look="reflected-light", records=records)
    kinds = []
    for number in range(2):
        question, verdict = answer(sitting, number)
        kinds.append(question.kind)
        assert question.prompt.startswith("Out of the drawer. ")
        assert "Also photographed: metal off." in question.facts
        assert verdict.credit == 1
        assert verdict.decides.endswith("As on every board.")
    left = sitting.id
    sitting.close()
    sitting = Sitting.resume(left, records=records)
    assert sitting.answered == 2
    for number in range(2, 4):
        question, verdict = answer(sitting, number)
        kinds.append(question.kind)
        assert verdict.credit == 1
    sitting.close()
    assert sorted(kinds) == ["name", "point", "same net", "transcribe"]
    face = sitting.prepare(0).specimen.face
    view, light = View(face.box, 2), Light(load_look("reflected-light"))
    again = face_again(face.text(), load_process("silicon-gate-cmos"))
    assert again.image(view, light).tobytes() == face.image(view, light).tobytes()  # found by its hash
    (tmp_path / "nand2.png").unlink()
    file = Records(records)
    try:
        kept = file.answers(sitting=left)
        assert len(kept) == 4
        for record in kept:
            assert record.cell == "nand2/nand2"
            assert record.layout.startswith("- photograph: 1\n")
            assert regraded(record).credit == 1
            if record.kind == "point":
                assert "px" in str(record.question["place"])
    finally:
        file.close()
