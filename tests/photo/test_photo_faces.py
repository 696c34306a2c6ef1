"""A photograph is asked about, answered, regraded and explained as a drawing is; what is not marked is not asked."""

from dataclasses import replace

import pytest

from layoutdrill.cells.entry import Port
from layoutdrill.dice import Dice
from layoutdrill.face import face_again
from layoutdrill.face.model import Light
from layoutdrill.face.photo import PhotoFace
from layoutdrill.geometry.rect import Rect
from layoutdrill.netlist.compare import compare
from layoutdrill.photo.model import Layer, Sort
from layoutdrill.photo.read import load_marks
from layoutdrill.picture.evidence import Fact
from layoutdrill.picture.looks import load_look
from layoutdrill.picture.view import View
from layoutdrill.process import load_process
from layoutdrill.question import Answer, Specimen, ask_in_look, kinds, regrade
from layoutdrill.question.targets import targets
from layoutdrill.screens.legend import COLUMNS, ROWS, sights, swatch
from layoutdrill.screens.subject import Subject
from tests.each import each
from tests.photo.specimens import specimen

LOOK = load_look("reflected-light")


def face_of(album, name, **changes):
    marks = replace(load_marks(album / f"{name}.marks.yaml"), **changes)
    return PhotoFace.of(marks, load_process(marks.process), name)


def specimen_of(face):
    region = face.region
    ports = tuple(Port(p.net, p.role, p.complement_of or None) for p in face.marks.ports)
    return Specimen(
        face.name, region.structure, region.aliases, face, face.netlist, region.boundary, ports=ports
    )  # fmt: skip


@pytest.mark.parametrize(("cell", "process"), [("nand2", "silicon-gate-cmos"), ("nor3", "silicon-gate-nmos")])
def test_marks_spell_the_circuit_that_was_photographed(album, cell, process):
    """Independent: the netlist from which the tool drew what it photographed."""
    assert compare(face_of(album, cell).netlist, specimen(cell, process).netlist).equal


ASKED = {
    "nand2": {
        "name",
        "count",
        "spot",
        "point",
        "rails",
        "same net",
        "polarity",
        "table",
        "function",
        "transcribe",
        "ratio",
        "undecided",
    },
    "nor3": {
        "name",
        "count",
        "spot",
        "point",
        "rails",
        "same net",
        "polarity",
        "table",
        "function",
        "transcribe",
        "ratio",
        "undecided",
    },
    "latch_gates": {
        "name",
        "count",
        "spot",
        "point",
        "rails",
        "same net",
        "polarity",
        "sequence",
        "ratio",
        "undecided",
    },
}


@pytest.mark.parametrize("cell", sorted(ASKED))
def test_questions_are_asked_graded_and_graded_again_from_the_text(album, cell):
    """The right answer earns all, today and from the record's text alone, with no picture at hand."""
    face = face_of(album, cell)
    own = specimen_of(face)
    asked = set()
    for name, kind in kinds().items():
        question = ask_in_look(kind, own, Dice(3), LOOK)
        if question is None:
            continue
        asked.add(name)
        right = kind.solution(question)
        assert kind.grade(question, right).credit == 1
        assert "λ" not in question.prompt
        later = regrade(name, question.key.json(), face.text(), load_process(face.process.name), right)
        assert later.credit == 1
        assert kind.grade(question, Answer()).credit == 0
    assert asked >= ASKED[cell]


def test_whether_a_photograph_decides_it_is_what_its_author_says(album):
    """Kinds and rails show where the author says so; else a stain tells the kinds, the pads the rails."""
    undecided = kinds()["undecided"]
    rights = {}
    for shows in ((), ("kind", "rails")):
        face = face_of(album, "nand2", shows=shows)
        for seed in range(12):
            question = ask_in_look(undecided, specimen_of(face), Dice(seed), LOOK)
            right = question.key.json()["right"]
            rights.setdefault((shows, question.key.json()["fact"]), set()).add(right)
            assert undecided.grade(question, Answer("this picture tells it")).correct is bool(shows)
    assert rights[(), "kind"] == {"a junction stain on the bare silicon"}
    assert rights[(), "rails"] <= {"a junction stain on the bare silicon", "tracing the rails to their pads and pins"}
    assert rights[("kind", "rails"), "kind"] == rights[("kind", "rails"), "rails"] == {"this picture tells it"}


def test_a_face_comes_back_from_its_text(album):
    face = face_of(album, "nand2")
    again = face_again(face.text(), load_process(face.process.name))
    assert (again.text(), again.box, again.layers) == (face.text(), face.box, face.layers)
    assert compare(again.extraction.netlist, face.extraction.netlist).equal


def test_what_is_marked_in_part_is_not_asked_as_if_it_were_all(album):
    """Without “complete”, nobody is asked to count or point at what may stand unmarked."""
    whole = face_of(album, "nand2")
    region = replace(whole.region, complete=frozenset())
    part = face_of(album, "nand2", regions=(region,))
    names = {target.name for target in targets(part.scene)}
    assert {"contact", "tap", "crossing", "output", "VDD"} & names == set()
    assert {"n transistor", "p transistor"} <= names
    assert {"contact", "tap", "VDD"} <= {target.name for target in targets(whole.scene)}
    count, spot = kinds()["count"], kinds()["spot"]
    for seed in range(30):
        question = count.ask(specimen_of(part), Dice(seed))
        assert question.key.json()["what"] in ("transistors", "stripes")
        told = spot.ask(specimen_of(part), Dice(seed))
        assert told.key.json()["right"] in ("transistor", "contact", "tap")


def test_what_a_die_seldom_shows_is_told_or_left(album):
    """Polarity cannot be seen on a die; the author may say that this picture shows it."""
    face = face_of(album, "nand2")
    assert not {Fact.KIND, Fact.WELL, Fact.RAILS} & face.shows(Light(LOOK))
    question = ask_in_look(kinds()["name"], specimen_of(face), Dice(1), LOOK)
    assert any("VDD is the wire" in fact for fact in question.facts)
    seen = face_of(album, "nand2", shows=("kind", "kinds apart", "rails", "well"))
    question = ask_in_look(kinds()["name"], specimen_of(seen), Dice(1), LOOK)
    assert not any("VDD is the wire" in fact for fact in question.facts)


def test_lifting_shows_the_picture_of_the_next_stage(album):
    face = face_of(album, "nand2")
    view = View(face.box, 4)
    whole, off = (face.image(view, Light(LOOK, lifted=lifted)) for lifted in (frozenset(), face.metal))
    assert face.layers == ("metal off",)
    assert whole.size == off.size == view.size(face.process)
    assert whole.tobytes() != off.tobytes()


def test_places_are_told_as_pixels_of_the_picture(album):
    """From the upper left, downwards, as any viewer of pictures counts."""
    face = face_of(album, "nand2")
    name = face.netlist.transistors[0].name
    mark = next(t for t in face.marks.transistors if t.name == name)
    x, y = face.extraction.channel(name)[0].centre
    assert face.unit.at(x, y) == f"{round(mark.at[0][0])}, {round(mark.at[0][1])} px"
    assert face.unit.read(face.unit.at(x, y)) == (x, y)


@each("turn", range(4))
@each("mirror", [False, True])
def test_turned_and_mirrored_marks_stay_on_what_they_mark(album, turn, mirror):
    """The channel of the picture as shown has the colours that it has on the picture as stored."""
    plain = face_of(album, "nand2")
    face = face_of(album, "nand2", turn=turn, mirror=mirror)
    for t in plain.netlist.transistors:
        was, now = plain.extraction.channel(t.name)[0], face.extraction.channel(t.name)[0]
        assert {was.width, was.height} == {now.width, now.height}
        a, b = (f.image(View(r, 8), Light(LOOK)).resize((1, 1)) for f, r in ((plain, was), (face, now)))
        assert all(abs(p - q) <= 6 for p, q in zip(a.getpixel((0, 0)), b.getpixel((0, 0)), strict=True))


def test_marks_of_a_missing_layer_are_told_with_their_place(album):
    marks = load_marks(album / "nand2.marks.yaml")
    wire = replace(marks.wires[0], layer=Layer.METAL_2)
    face = PhotoFace.of(replace(marks, wires=(wire,)), load_process(marks.process), "nand2")
    with pytest.raises(Exception, match=r"nand2\.marks\.yaml:\d+:\d+: silicon-gate-cmos has no metal 2"):
        _ = face.scene


def test_a_region_shows_its_own_part(album):
    """A box of one transistor: its netlist, its part of the picture, nothing of the rest."""
    marks = load_marks(album / "nand2.marks.yaml")
    t = marks.transistors[0]
    (x, y), reach = t.at[0], 60
    region = replace(marks.regions[0], name="one", outline=((x - reach, y - 20), (x + reach, y + 20)), structure="")
    face = PhotoFace.of(replace(marks, regions=(region,)), load_process(marks.process), "one")
    assert [one.name for one in face.netlist.transistors] == [t.name]
    assert face.box == Rect(round(x - reach), -round(y + 20), round(x + reach), -round(y - 20))
    assert Sort.CONTACTS.value in face.scene.complete


def test_the_legend_shows_what_is_marked_on_a_photograph(album):
    """As on a drawing each marked thing has its row: the wires, the contacts, a gate for each marked transistor."""
    face = face_of(album, "nand2")
    rows = {sight.name: sight for sight in sights(face)}
    assert {"metal", "poly", "diffusion", "contact", "gate"} <= set(rows)
    assert len(rows["contact"].places) == len(face.marks.contacts)
    assert len(rows["gate"].places) == len(face.netlist.transistors)
    piece = swatch(Subject(face, look="reflected-light"), rows["metal"].places[0])
    assert piece.image.size == (COLUMNS, ROWS * 2)
    assert len(piece.colours) > 1
