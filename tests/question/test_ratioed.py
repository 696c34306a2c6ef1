"""Questions in ratioed logic: driver and load, buried contact, rails told by loads; on a hand-made NMOS inverter."""

import pytest

from layoutdrill.dice import Dice
from layoutdrill.extract import extract
from layoutdrill.face import DrawnFace
from layoutdrill.geometry.rect import Rect
from layoutdrill.layout.model import Label, Layout
from layoutdrill.picture.evidence import Fact
from layoutdrill.process import load_process
from layoutdrill.process.terms import Mode
from layoutdrill.question import Answer, Specimen, kinds
from layoutdrill.question.sight import Sight, sights_at
from tests.question.fairness import grade, unfair

PROCESS = """
name: hand-nmos
title: silicon-gate NMOS for one test
about: Depletion loads, buried contacts, one metal.
grid: {nm: 1500, per_lambda: 2}
supplies: [VSS, VDD]
layers:
  active: {title: active, role: active}
  implant: {title: depletion implant, role: implant}
  buried: {title: buried contact, role: buried-contact}
  poly: {title: poly, role: poly}
  contact: {title: contact, role: contact}
  metal: {title: metal, role: metal}
regions:
  gate: active & poly - buried
  load: gate & implant
  driver: gate - implant
  ndiff: active - gate
conductors:
  metal: [metal]
  poly: [poly]
  ndiff:
cuts:
  - {layer: contact, upper: metal, lower: [poly, ndiff]}
  - {upper: poly, lower: [ndiff]}
transistors:
  - {kind: n, channel: driver, gate: poly, ends: ndiff, body: substrate}
  - {kind: n, mode: depletion, channel: load, gate: poly, ends: ndiff, body: substrate}
"""
SHAPES = {
    "active": [(0, 0, 8, 80)],
    "poly": [(-30, 20, 12, 24), (-4, 40, 12, 64)],
    "buried": [(-2, 36, 10, 44)],
    "implant": [(-3, 43, 11, 67)],
    "contact": [(2, 6, 6, 10), (2, 70, 6, 74), (2, 29, 6, 33), (-28, 20, -24, 24)],
    "metal": [(-40, 4, 40, 12), (-40, 68, 40, 76), (0, 27, 40, 35), (-40, 18, -22, 26)],
}
LABELS = (
    Label("VSS", "metal", 30, 8),
    Label("VDD", "metal", 30, 72),
    Label("y", "metal", 36, 31),
    Label("a", "metal", -38, 22),
)


@pytest.fixture(name="nmos", scope="module")
def _nmos(tmp_path_factory):
    path = tmp_path_factory.mktemp("process") / "hand-nmos.yaml"
    path.write_text(PROCESS)
    process = load_process(str(path))
    layout = Layout("inverter", {name: tuple(Rect(*r) for r in rects) for name, rects in SHAPES.items()}, LABELS)
    found = extract(layout, process)
    return Specimen("inverter", "inverter", (), DrawnFace(layout, process, found), found.netlist, "driver and load")


def ask(specimen, name, wanted=lambda key: True):
    kind = kinds()[name]
    questions = (kind.ask(specimen, Dice(seed)) for seed in range(200))
    return kind, next(q for q in questions if q is not None and wanted(q.key))


def test_the_drawing_is_an_inverter(nmos):
    """One driver, one depletion load whose gate is its own source (k + 1 transistors, Mead & Conway, from memory)."""
    assert sorted((t.mode, t.gate, t.ends) for t in nmos.netlist.transistors) == [
        (Mode.DEPLETION, "y", ("VDD", "y")),
        (Mode.ENHANCEMENT, "a", ("VSS", "y")),
    ]


@pytest.mark.parametrize("name", ["count", "spot", "point", "rails", "same net", "polarity"])
def test_questions_are_fair(nmos, name):
    kind = kinds()[name]
    questions = [kind.ask(nmos, Dice(seed)) for seed in range(20)]
    asked = [question for question in questions if question is not None]
    assert asked
    assert not [fault for question in asked for fault in unfair(kind, question)]


def test_one_number_where_there_is_one_kind(nmos):
    """With n transistors alone only the total is asked for."""
    kind, question = ask(nmos, "count", lambda key: key.what == "transistors")
    assert grade(kind, question, "2").correct
    assert not grade(kind, question, "1").credit


def test_driver_and_load(nmos):
    """A load is told by its gate, tied to its own source; depletion likewise, as the implant does not show."""
    for wanted, reason in (("load", "tied to its source"), ("driver", "an input"), ("depletion", "tied"),
                           ("enhancement", "gate driven by a signal")):  # fmt: skip
        kind, question = ask(nmos, "polarity", lambda key, w=wanted: key.right == w)
        assert grade(kind, question, f"{wanted}: {reason}").credit == 1
        assert grade(kind, question, wanted).credit == 0.5
        assert grade(kind, question, str(question.key.wrong)).credit == 0


def test_the_loads_tell_the_high_rail(nmos):
    _, question = ask(nmos, "rails")
    assert question.key.true == "the loads hang on VDD"
    assert not kinds()[question.kind].needs(question) & {Fact.KIND, Fact.DEPLETION}


def test_pointing_at_a_load(nmos):
    """The driver is a near miss of a load: half."""
    kind, question = ask(nmos, "point", lambda key: key.target == "load")
    assert kind.grade(question, Answer("", (4, 55))).credit == 1
    assert kind.grade(question, Answer("", (4, 22))).credit == 0.5


def test_a_buried_contact_is_a_contact(nmos):
    """Poly over diffusion is a gate unless a buried contact is marked there (common practice)."""
    scene = nmos.face.scene
    assert sights_at(scene, 4, 42) == {Sight.CONTACT}
    assert sights_at(scene, 4, 50) == {Sight.TRANSISTOR}
    assert Fact.BURIED_CONTACT in kinds()["same net"].needs(ask(nmos, "same net")[1])
