"""A process of an author's own, as a file beside a photograph: read, asked in, packed, kept; and what is refused."""

import zipfile

import pytest

from layoutdrill.brought import is_brought
from layoutdrill.cli import main
from layoutdrill.deck.check import check_deck
from layoutdrill.deck.files import load_deck
from layoutdrill.deck.pack import pack
from layoutdrill.drill.again import regraded
from layoutdrill.drill.records import Records
from layoutdrill.drill.sitting import Sitting
from layoutdrill.face.marked import Conductors
from layoutdrill.photo.model import Layer
from layoutdrill.photo.read import load_marks, marks_of_text, read_file
from layoutdrill.photo.write import marks_text
from layoutdrill.process import load_process, process_names
from layoutdrill.process.load import DATA
from layoutdrill.question import kinds
from tests.each import each
from tests.photo.specimens import photograph

DECK = "title: Dies\nabout: out of a drawer\nitems:\n  - {photo: inverter.marks.yaml, kinds: [count, transcribe]}\n"


@pytest.fixture
def folder(tmp_path, monkeypatch):
    """A photograph that names the process beside it, and a deck on it."""
    monkeypatch.setenv("LAYOUTDRILL_HOME", str(tmp_path / "home"))
    own = (DATA / "silicon-gate-nmos.yaml").read_text("utf-8").replace("title: silicon-gate NMOS", "title: harbour")
    (tmp_path / "harbour.yaml").write_text(own, "utf-8")
    marks = photograph(tmp_path, "inverter", "silicon-gate-nmos")
    marks.write_text(marks.read_text("utf-8").replace('"silicon-gate-nmos"', "harbour.yaml"), "utf-8")
    (tmp_path / "dies.yaml").write_text(DECK, "utf-8")
    return tmp_path


def test_a_process_beside_a_photograph_is_read_packed_and_kept(folder):
    """As beside a deck: by what it says, in the zip, and a copy with the records when folder and deck are gone."""
    marks = load_marks(folder / "inverter.marks.yaml")
    assert is_brought(marks.process)
    assert load_process(marks.process).title.startswith("harbour")
    assert marks_of_text(marks_text(marks), "again").process == marks.process
    assert check_deck(folder / "dies.yaml") == []
    deck = load_deck(folder / "dies.yaml")
    pack(deck, folder / "dies.yaml", folder / "dies.zip")
    with zipfile.ZipFile(folder / "dies.zip") as packed:
        assert "harbour.yaml" in packed.namelist()
    records = folder / "home" / "r.sqlite"
    with Sitting.open_deck(folder / "dies.yaml", count=2, seed=1, records=records) as sitting:
        question = sitting.prepare(0)
        assert question.specimen.process.name == marks.process
        verdict = sitting.submit(question, kinds()[question.kind].solution(question), 1.0)
        number = sitting.id
    for file in (*folder.glob("*.yaml"), folder / "inverter.png"):
        file.unlink()
    kept = Records(records)
    (answer,) = kept.answers(sitting=number)
    kept.close()
    assert regraded(answer).credit == verdict.credit == 1


@pytest.mark.parametrize(
    ("what", "words"),
    [
        ("../harbour.yaml", "is no file beside this one"),
        ("link.yaml", "leads out of this folder"),
        ("nowhere.yaml", "no file nowhere.yaml beside the marks"),
        ("broken.yaml", "broken.yaml:1:1: "),
        ("silicon-gate-nmoss", "did you mean"),
        ("harbour@0123456789ab", "came with a deck, and is gone"),
    ],
)
def test_what_no_process_beside_a_photograph_may_be(folder, what, words, tmp_path_factory):
    """Elsewhere, missing, damaged or unknown: told with a place."""
    away = tmp_path_factory.mktemp("away") / "harbour.yaml"
    away.write_text((folder / "harbour.yaml").read_text("utf-8"), "utf-8")
    (folder / "link.yaml").symlink_to(away)
    (folder / "broken.yaml").write_text("layers: none\n", "utf-8")
    path = folder / "inverter.marks.yaml"
    path.write_text(path.read_text("utf-8").replace("harbour.yaml", what), "utf-8")
    (error, *_) = read_file(path)[1]
    assert words in str(error)
    assert ".yaml:" in str(error)


@pytest.mark.parametrize(("word", "missing"), [("process", "no process"), ("scale", "no scale"), ("picture", "no pic")])
def test_what_is_taken_back_is_missing(folder, word, missing):
    """A setting that was undone leaves the file without it, which is told."""
    lines = (folder / "inverter.marks.yaml").read_text("utf-8").splitlines()
    (setting,) = (line for line in lines if line.startswith(f"- {word}:"))
    head = [line for line in lines if line.startswith(("- photograph", "- process", "- scale", "- picture"))]
    path = folder / "other.marks.yaml"
    path.write_text("\n".join([*(line for line in head if line != setting), setting, "- undo: 1"]) + "\n", "utf-8")
    assert any(missing in str(error) for error in read_file(path)[1])


def test_marking_begins_in_a_process_beside_the_photograph(folder, monkeypatch, capsys):
    """`mark lamp.png --process DIR/harbour.yaml` writes the file's name; without a terminal it ends there."""
    (folder / "lamp.png").write_bytes((folder / "inverter.png").read_bytes())
    assert main(["mark", str(folder / "lamp.png"), "--process", str(folder / "harbour.yaml")]) == 2
    assert "terminal" in capsys.readouterr().err
    assert 'process: "harbour.yaml"' in (folder / "lamp.marks.yaml").read_text("utf-8")
    assert load_process(load_marks(folder / "lamp.marks.yaml").process).title.startswith("harbour")


@each("name", process_names())
def test_what_a_process_has_can_be_marked(name):
    """Metal and diffusion on every die; poly, a second metal and taps where a mask or a region of it is."""
    process = load_process(name)
    layers = Conductors(process).layers
    roles = {layer.role for layer in process.layers.values()}
    assert {Layer.METAL, Layer.DIFFUSION} <= set(layers)
    assert (Layer.POLY in layers) == ("poly" in roles)
    assert (Layer.METAL_2 in layers) == ("metal-2" in roles)
    assert (Layer.TAP in layers) == any(cut.layer is None and "tap" in cut.upper for cut in process.cuts)
    for layer in layers:
        conductor = Conductors(process).of(layer, process.transistors[0].kind, process.supplies[0])
        mask = Conductors(process).mask(conductor, process.transistors[0].kind)
        assert layer is not Layer.POLY or process.layers[mask].role == "poly"


# Source: a NAND2 has a switch for each input between output and high rail (any textbook of CMOS).
def test_a_netlist_beside_the_marks_is_held_against_them_and_packed(tmp_path, monkeypatch):
    """Under the marks' own name, though no region names it: equal is silent, a missing transistor is an error."""
    monkeypatch.setenv("LAYOUTDRILL_HOME", str(tmp_path / "home"))
    photograph(tmp_path, "nand2", "silicon-gate-cmos")
    deck = tmp_path / "dies.yaml"
    deck.write_text(DECK.replace("inverter", "nand2"), "utf-8")
    assert main(["extract", str(tmp_path / "nand2.marks.yaml"), "-o", str(tmp_path / "nand2.sp")]) == 0
    assert check_deck(deck) == []
    pack(load_deck(deck), deck, tmp_path / "dies.zip")
    with zipfile.ZipFile(tmp_path / "dies.zip") as packed:
        assert "nand2.sp" in packed.namelist()
    lines = (tmp_path / "nand2.sp").read_text("utf-8").splitlines(keepends=True)
    lost = next(line for line in lines if line.startswith("M"))
    (tmp_path / "nand2.sp").write_text("".join(line for line in lines if line != lost), "utf-8")
    (error,) = check_deck(deck)
    assert error.what.startswith("nand2.sp differs: ")
    assert "is not in nand2.sp" in error.what
