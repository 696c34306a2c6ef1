"""A process and a look of an author's own, as files beside a deck: read, proved, packed, kept; and what is refused."""

import re
from pathlib import Path

import pytest

from layoutdrill.brought import is_brought
from layoutdrill.deck import deck_text
from layoutdrill.deck.belongings import MOST_ENTRIES, files_of
from layoutdrill.deck.check import check_deck, deck_warnings
from layoutdrill.deck.files import load_deck, read_file
from layoutdrill.deck.read import read_deck
from layoutdrill.drill.again import regraded
from layoutdrill.drill.plan import plan
from layoutdrill.drill.records import Records
from layoutdrill.drill.sitting import Sitting
from layoutdrill.picture.degrees import DEGREES
from layoutdrill.picture.looks import load_look
from layoutdrill.process import load_process
from layoutdrill.process.films import load_films
from layoutdrill.process.load import DATA
from layoutdrill.yamldoc import loads

DECK = """title: t
about: a
processes: harbour.yaml
look: lamp.yaml
items:
  - cells: inverter
    kinds: count
    wear: [tidy, 0.4]
    stage: [whole, metal off]
    light: [reflected, dark field]
"""
LOOK = "name: lamp\ntitle: old lamp\nabout: a lamp\nstyle: reflected\nsettings: {warmth: 0.8}\n"


@pytest.fixture
def path(tmp_path):
    """A deck with its process, that of a board with narrower metal, and its look."""
    text = (DATA / "silicon-gate-nmos.yaml").read_text("utf-8").replace("title: silicon-gate NMOS", "title: harbour")
    (tmp_path / "harbour.yaml").write_text(text, "utf-8")
    (tmp_path / "lamp.yaml").write_text(LOOK, "utf-8")
    path = tmp_path / "d.yaml"
    path.write_text(DECK, "utf-8")
    return path


def test_files_beside_a_deck_are_its_process_and_its_look(path, monkeypatch):
    """They go by what they say; the deck is proved in them, written and read again from anywhere, and packed whole."""
    monkeypatch.setenv("LAYOUTDRILL_HOME", str(path.parent / "home"))
    assert check_deck(path) == []
    deck = load_deck(path)
    (process,) = deck.items[0].processes
    assert re.fullmatch("harbour@[0-9a-f]{12}", process)
    assert is_brought(process)
    assert load_process(process).title.startswith("harbour")
    assert load_films(load_process(process)).places
    assert load_look(deck.look).settings == {"warmth": 0.8}
    assert {file.name for file in files_of(deck, path)} == {"d.yaml", "harbour.yaml", "lamp.yaml"}
    again, errors = read_deck(loads(deck_text(deck), "d"), "d", Path("/"))
    assert errors == []
    assert deck_text(again) == deck_text(deck)


def test_an_edit_is_another_process(path):
    """What was drawn in the old one is not said of the new one."""
    before = load_deck(path).items[0].processes
    beside = path.parent / "harbour.yaml"
    beside.write_text(beside.read_text("utf-8").replace("title: harbour", "title: quay"), "utf-8")
    (after,) = load_deck(path).items[0].processes
    assert after not in before
    assert load_process(after).title.startswith("quay")


def test_several_looks_wears_and_stages_are_taken_in_turn(path):
    """A light is the look of a microscope that has it; of four questions two have each."""
    deck = load_deck(path)
    draws = plan(deck, 4, 1, lambda cell: cell)
    assert sorted((d.stage, d.look, d.wear) for d in draws) == [
        ("metal off", "dark-field", 0.4), ("metal off", "dark-field", 0.4),
        ("whole", "reflected-light", DEGREES["tidy"]), ("whole", "reflected-light", DEGREES["tidy"]),
    ]  # fmt: skip


def test_answers_outlive_the_deck_and_its_process(path, monkeypatch):
    """A sitting can be gone on with and graded again without the deck's folder: a copy is kept with the records."""
    records = path.parent / "home" / "r.sqlite"
    monkeypatch.setenv("LAYOUTDRILL_HOME", str(records.parent))
    with Sitting.open_deck(path, count=2, seed=1, records=records) as sitting:
        question = sitting.prepare(0)
        assert question.specimen.stage
        verdict = sitting.submit(question, sitting.accept(question, "2"), 1.0)
        number = sitting.id
    for file in path.parent.glob("*.yaml"):
        file.unlink()
    with Sitting.resume(number, records=records) as sitting:
        assert sitting.prepare(1).specimen.process.title.startswith("harbour")
    kept = Records(records)
    (answer,) = kept.answers(sitting=number)
    kept.close()
    assert regraded(answer).credit == verdict.credit


DOUBLING = "regions:\n  r0: active | poly\n" + "".join(f"  r{n}: r{n - 1} | r{n - 1}\n" for n in range(1, 60))


@pytest.mark.parametrize(
    ("what", "words"),
    [
        ("../harbour.yaml", "lies outside the deck's folder"),
        ("/etc/passwd.yaml", "lies outside the deck's folder"),
        ("link.yaml", "lies outside the deck's folder"),
        ("nowhere.yaml", "no file nowhere.yaml"),
        ("large.yaml", "larger than 100,000 bytes"),
        ("deep.yaml", "more than 100 names and signs"),
        ("doubling.yaml", "written out, this region has more than 1,000 layers"),
        ("undrawn.yaml", "says not how cells are drawn"),
        ("two words.yaml", "is no name for such a file"),
        ("lamp.yaml", 'no field "style" here'),
        ("fine.yaml", "2000000 is out of range"),
        ("silicon-gate-nmoss", "no process to draw in"),
        ("harbour@0123456789ab", "came with a deck, and is gone"),
    ],
)
def test_what_no_process_beside_a_deck_may_be(what, words, path, monkeypatch):
    """Elsewhere, endless, exploding, or no process that cells are drawn in; told with a place in a moment."""
    folder = path.parent
    monkeypatch.setenv("LAYOUTDRILL_HOME", str(folder / "home"))
    text = (folder / "harbour.yaml").read_text("utf-8")
    (folder.parent / "harbour.yaml").write_text(text, "utf-8")
    (folder / "link.yaml").symlink_to(folder.parent / "harbour.yaml")
    (folder / "large.yaml").write_text(text + "# x\n" * 30_000, "utf-8")
    (folder / "deep.yaml").write_text(text.replace("active & poly -", "(" * 5000 + "active & poly -"), "utf-8")
    (folder / "doubling.yaml").write_text(text.replace("regions:\n", DOUBLING), "utf-8")
    (folder / "undrawn.yaml").write_text(text.partition("\ndrawing:")[0] + "\n", "utf-8")
    (folder / "two words.yaml").write_text(text, "utf-8")
    (folder / "fine.yaml").write_text(text.replace("per_lambda: 2", "per_lambda: 2000000"), "utf-8")
    path.write_text(DECK.replace("harbour.yaml", what), "utf-8")
    _, errors = read_file(path)
    assert errors
    assert words in str(errors[0])
    assert errors[0].where is not None


def test_a_stage_goes_with_a_light_and_with_its_processes(path):
    """No drawn look shows one, and metal gates are never taken down to poly."""
    for old, new, words in (
        ("light: [reflected, dark field]", "look: ink", "a drawn look shows no stage"),
        ("light: [reflected, dark field]", "light: candle", 'no light "candle"'),
        ("stage: [whole, metal off]", "stage: dawn", 'no stage in each of these processes "dawn"'),
        ("wear: [tidy, 0.4]", "look: lamp.yaml", "a light is a look"),
    ):
        path.write_text(DECK.replace(old, new), "utf-8")
        _, errors = read_file(path)
        assert [words in str(error) for error in errors] == [True], errors


def test_files_that_nothing_names_are_warned_of(path):
    """Forgotten, or misspelt; what a deck, another deck or a mark file there names is not."""
    folder = path.parent
    for name in ("lost.png", "other.png", "lost.gds", "marked.jpg"):
        (folder / name).write_bytes(b"x")
    (folder / "other.yaml").write_text("photo: other.png\n", "utf-8")
    (folder / "lost.marks.yaml").write_text('- picture: {file: "marked.jpg"}\n', "utf-8")
    told = [str(warning) for warning in deck_warnings(path)]
    assert [text.partition("nothing names ")[2].partition(";")[0] for text in told] == [
        "lost.gds", "lost.marks.yaml", "lost.png",
    ]  # fmt: skip
    for number in range(MOST_ENTRIES):
        (folder / f"{number}.txt").touch()
    assert deck_warnings(path) == []
