"""
Defects: each kind changes what it should, the symptom is that of an independent simulator, and what is asked is fair.

The levels are compared with ngspice (an independent circuit simulator, level-1 models, one operating point a row).
"""

import pytest

from layoutdrill.dice import Dice
from layoutdrill.extract import extract
from layoutdrill.face import Light
from layoutdrill.geometry.rect import Rect
from layoutdrill.netlist.compare import Merge, compare
from layoutdrill.netlist.merge import merge_fingers
from layoutdrill.picture.looks import load_look
from layoutdrill.picture.view import View
from layoutdrill.prove.faults import UNSEEN, DefectKind, defects
from layoutdrill.question import Answer, kinds
from layoutdrill.question.circuit import pins_of, rows_of
from layoutdrill.question.fault import column_of
from tests.sampling import WHOLE
from tests.simulate.test_ngspice import NGSPICE, SUPPLY, solve

HAS = {
    "metal-gate-cmos": set(DefectKind),
    "metal-gate-sapphire": set(DefectKind) - {DefectKind.SPIKE},
    "silicon-gate-cmos": {
        DefectKind.OPEN,
        DefectKind.CONTACT,
        DefectKind.BRIDGE,
        DefectKind.CORROSION,
        DefectKind.SPIKE,
    },
}
"""The kinds that a process can have: a spike needs silicon below the junction, a window a metal gate."""


def of_kind(specimen, kind, count=4):
    found = defects(specimen.face.layout, specimen.process, specimen.extraction, kind, Dice(1))
    return [defect for defect, _ in zip(found, range(count), strict=False)]


@pytest.mark.parametrize("process", HAS)
def test_each_process_has_its_defects(drawn, process):
    """Each kind that a process can have is put into some cell, changes few squares, and makes it another circuit."""
    made = set()
    for cell in ("nand2", "aoi21"):
        specimen = drawn(cell, process, 1)
        sound = specimen.face.layout.flattened()
        for kind in DefectKind:
            for defect in of_kind(specimen, kind, 12 if WHOLE else 5):
                assert defect.layout.shapes != sound.shapes
                assert defect.layout.labels == sound.labels
                read = extract(defect.layout, specimen.process)
                if not compare(specimen.netlist, read.netlist, ports=False, merge=Merge.FINGERS).equal:
                    made.add(kind)
    assert made == HAS[process]


@pytest.mark.skipif(NGSPICE is None, reason="not run: ngspice is not installed")
@pytest.mark.parametrize(("process", "cell"), [("metal-gate-cmos", "nand2"), ("silicon-gate-cmos", "nor2")])
def test_the_symptom_is_that_of_ngspice(drawn, process, cell, tmp_path):
    """Where our simulation gives 0 or 1 after a defect, ngspice finds the same side of the middle."""
    specimen = drawn(cell, process, 1)
    pins = pins_of(specimen)
    rows = [row for row, _ in rows_of(specimen, pins, "y")]
    compared, seen = 0, set()
    for kind in DefectKind:
        for number, defect in enumerate(of_kind(specimen, kind, 3)):
            read = extract(defect.layout, specimen.process)
            column = column_of(read, specimen, pins)
            if column is None or "y" not in read.netlist.nets:
                continue
            volts = solve(merge_fingers(read.netlist), rows, tmp_path)
            for r, level in enumerate(column):
                if level in "01" and f"y_{r}" in volts:
                    assert (volts[f"y_{r}"] > SUPPLY / 2) == (level == "1"), (kind, number, r, column)
                    compared += 1
                    seen.add(kind)
    assert compared > 20
    assert len(seen) >= 3


def test_what_no_picture_shows_is_told_and_not_drawn(drawn):
    """A spike or pinhole is told with the question, and the picture is that of the sound die."""
    kind = kinds()["fault"]
    specimen = drawn("nand2", "metal-gate-cmos", 1)
    told = 0
    for seed in range(12 if WHOLE else 7):
        question = kind.ask(specimen, Dice(seed))
        if question.key.kind in UNSEEN and question.key.what in ("does", "symptom"):
            told += 1
            assert any("At X" in fact for fact in question.facts)
            assert question.specimen.face.layout.shapes == specimen.face.layout.flattened().shapes
        assert question.key.what != "find" or question.key.kind not in UNSEEN
    assert told


def test_the_sound_die_earns_half(drawn):
    """The right place on the sound die is half an answer, and a place that is neither is none."""
    kind = kinds()["fault"]
    specimen = drawn("nor2", "metal-gate-sapphire", 1)
    questions = [kind.ask(specimen, Dice(seed)) for seed in range(12 if WHOLE else 6)]
    two = [q for q in questions if q.key.twin is not None]
    assert two
    for question in two[:4]:
        assert kind.judge(question, Answer("", question.key.twin.centre)).credit == 0.5
        assert kind.judge(question, Answer("", question.key.place.centre)).credit == 1
        wrong = kind.judge(question, Answer("", question.specimen.face.box[:2]))
        assert wrong.credit == 0
        assert wrong.instead


def test_a_defect_is_seen(drawn):
    """In reflected light the picture of a faulty die differs from the sound one at the defect, and nowhere far off."""
    kind, look = kinds()["fault"], load_look("reflected-light")
    specimen = drawn("nand2", "metal-gate-cmos", 1)
    seen = set()
    for seed in range(24):
        question = kind._find(specimen, Dice(seed))
        if question.key.twin is None or question.key.kind in seen:
            continue
        seen.add(question.key.kind)
        face, light = question.specimen.face, Light(look, 1, 0.0)
        pictures = []
        for area in (question.key.place, question.key.twin):
            region = area.grown(6 * specimen.process.grid_per_lambda)
            pictures.append(face.image(View(Rect(*region), 6), light))
        pairs = zip(*(picture.convert("L").tobytes() for picture in pictures), strict=True)
        assert sum(abs(a - b) > 25 for a, b in pairs) > 20, question.key.kind
    assert len(seen) >= 4
