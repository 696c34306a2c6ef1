"""Each kind that photographs are promised is asked on a marked photograph and answered by keys, rightly and wrongly."""

from functools import cache

import pytest
from textual.widgets import Static

from layoutdrill.cells.entry import Port
from layoutdrill.dice import Dice
from layoutdrill.face.photo import PhotoFace
from layoutdrill.photo.read import load_marks
from layoutdrill.picture.looks import load_look
from layoutdrill.process import load_process
from layoutdrill.question import Specimen, ask_in_look, kinds
from layoutdrill.screens.app import BenchApp, StartRequest
from tests.sampling import ROTATED, WHOLE
from tests.screens.test_drill_screen import settled
from tests.screens.test_every_kind import EveryKind, by_keys, given

KINDS = (
    "name", "spot", "point", "rails", "same net", "polarity", "count", "function", "table", "sequence", "transcribe",
    "undecided",
)  # fmt: skip
WAYS = ("name", "table", "point", "function", "count", "transcribe")
"""A letter, a grid, a place, an equation, a number, a list: one kind for each way in which an answer is given."""
LATCHES = ("sequence",)


@pytest.fixture(autouse=True)
def _own_home(tmp_path, monkeypatch):
    monkeypatch.setenv("LAYOUTDRILL_HOME", str(tmp_path))


class OnPhotographs(EveryKind):
    """A sitting of one question of each kind, about a marked photograph."""

    def __init__(self, album, names):
        self.album = album
        super().__init__(names)

    def prepare(self, index):
        name = self.names[index]
        specimen = specimen_of(self.album, "latch_gates" if name in LATCHES else "nand2")
        look = load_look("reflected-light")
        questions = (ask_in_look(kinds()[name], specimen, Dice(seed), look) for seed in range(20))
        asked = next(question for question in questions if question is not None)
        return self.made.setdefault(index, asked)  # several threads may prepare one


@cache
def specimen_of(album, name):
    """Return what is asked about, read once for all kinds."""
    marks = load_marks(album / f"{name}.marks.yaml")
    face = PhotoFace.of(marks, load_process(marks.process), name)
    ports = tuple(Port(p.net, p.role, p.complement_of or None) for p in face.marks.ports)
    region = face.region
    return Specimen(name, region.structure, region.aliases, face, face.netlist, region.boundary, ports=ports)


@pytest.mark.parametrize("right", [True, False], ids=["right", "wrong"])
async def test_each_kind_on_a_photograph_by_keys(album, right):
    """
    The right answer earns all, a wrong one less: each way of answering once over both, in a whole sweep each kind in
    both. That all of them are asked and graded on photographs is in `test_photo_faces`.
    """
    names = KINDS if WHOLE else WAYS[(right + ROTATED) % 2 :: 2]
    sitting = OnPhotographs(album, names)
    app = BenchApp(StartRequest(sitting=sitting))
    async with app.run_test(size=(120, 40)) as pilot:
        for question, answer in given(sitting, right=right):
            await settled(app, pilot)
            assert app.screen.asked is question
            await by_keys(app, pilot, question, answer)
            await settled(app, pilot)
            assert app.screen.phase == "judged", f"{question.kind}: {answer.text!r} was not handed in"
            assert app.screen.query_one("#said", Static).content
            await pilot.press("enter")
        await settled(app, pilot)
    assert {name: credit == 1 for name, credit in sitting.credits.items()} == dict.fromkeys(names, right)
