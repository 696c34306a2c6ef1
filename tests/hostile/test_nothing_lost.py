"""Answers are kept whatever happens to results, windows and disks; silent losses are told."""

import json
import resource
import sqlite3
from contextlib import contextmanager

import pytest

from layoutdrill.deck.read import read_deck
from layoutdrill.drill.again import Effort, answer_record
from layoutdrill.drill.record import DamagedError, TakenError
from layoutdrill.drill.records import Records
from layoutdrill.drill.results import Results
from layoutdrill.drill.sitting import Sitting
from layoutdrill.drill.unfinished import unfinished
from layoutdrill.errors import LayoutdrillError
from layoutdrill.extract import extract
from layoutdrill.extract.model import FindingKind
from layoutdrill.geometry.rect import Rect
from layoutdrill.layout.gdswrite import write_gdsii
from layoutdrill.layout.model import Layout
from layoutdrill.outlet import write_whole
from layoutdrill.picture.layers import box_of, layout_digest
from layoutdrill.process import load_process
from layoutdrill.question import Answer, Verdict
from layoutdrill.screens.settings import Settings, save_settings
from layoutdrill.yamldoc import loads
from layoutdrill.yamldoc.kept import keep
from tests.hostile.fuzz import said, whole_records

UNDRIVEN = ".subckt u a y vdd vss\nM1 y n7 vss vss nmos\nM2 y a vdd vdd pmos\n.ends\n"
TWO_RAILS = (
    ".subckt u a y vdd vcc vss\nM1 y a vss vss nmos\nM2 y a vdd vdd pmos\n"
    "M3 z a vss vss nmos\nM4 z a vcc vcc pmos\n.ends\n"
)


def opened(folder, **more):
    return Sitting.open_deck("first-gates", count=2, seed=4, records=folder / "r.sqlite", **more)


def answered(sitting, number=0):
    question = sitting.prepare(number)
    return sitting.skip(question, 1.0)


def test_results_that_cannot_be_written_are_a_remark_after_the_answer_is_kept(tmp_path):
    """The sitting goes on; the answer is in the records."""
    with opened(tmp_path) as sitting:
        sitting.results = Results(tmp_path / "out.jsonl")
        (tmp_path / "out.jsonl").unlink()
        (tmp_path / "out.jsonl").mkdir()
        answered(sitting)
        (remark,) = sitting.remarks()
        assert remark.startswith("Your answer is kept, but results cannot be written")
        assert sitting.remarks() == ()
        answered(sitting, 1)
        assert sitting.position is None
        assert len(sitting.records.answers(sitting=sitting.id)) == 2


def test_results_never_go_into_another_sort_of_file(tmp_path):
    """Least of all into the records."""
    Records(tmp_path / "r.sqlite").close()
    with pytest.raises(LayoutdrillError, match="something else than results"):
        Results(tmp_path / "r.sqlite")
    (tmp_path / "old.jsonl").write_text(json.dumps({"deck": "d"}) + "\n")
    assert Results(tmp_path / "old.jsonl")


def test_a_sitting_in_two_windows_goes_on_in_both(tmp_path):
    """The first answer counts; the other window says so and goes on; the last answer ends the sitting for both."""
    with opened(tmp_path) as one, Sitting.resume(1, records=tmp_path / "r.sqlite") as other:
        answered(one)
        answered(other)
        (remark,) = other.remarks()
        assert "answered in another window" in remark
        assert other.position == 1
        answered(other, 1)
        assert [a.number for a in other.records.answers(sitting=1)] == [0, 1]
    assert unfinished(tmp_path / "r.sqlite") == ()


def test_an_answer_is_taken_once(tmp_path):
    """The database decides, not a window's memory."""
    with opened(tmp_path) as sitting:
        answered(sitting)
        (kept,) = sitting.records.answers()
        with pytest.raises(TakenError):
            sitting.records.add_answer(kept)
        assert len(sitting.records.answers()) == 1


def test_after_a_full_disk_the_next_start_is_clean(tmp_path):
    """SQLite rolls back by itself on a full disk; here max_page_count stands for it (SQLite's own documentation)."""
    with opened(tmp_path) as sitting:
        question = sitting.prepare(0)
        file = sitting.records._file
        pages = file.execute("PRAGMA page_count").fetchone()[0]
        file.execute(f"PRAGMA max_page_count = {pages}")
        fields = {"sort": "deck", "deck": "d", "title": "t" * 9000, "deck_text": "", "seed": 1, "total": 1, "look": ""}
        with pytest.raises(LayoutdrillError, match="disk is full"):
            sitting.records.add_sitting(**fields, kit="", version="0", plan="[]")
        assert not file.in_transaction
        file.execute("PRAGMA max_page_count = 100000")
        assert sitting.skip(question, 1.0).summary == "Skipped."
    Records(tmp_path / "r.sqlite").close()


def test_a_damaged_sitting_is_set_aside_and_told(tmp_path):
    """The others can be gone on with."""
    path = tmp_path / "r.sqlite"
    whole_records(path)
    with sqlite3.connect(path) as file:
        file.execute("UPDATE sitting SET plan = '[{' WHERE id = 3")
        file.execute("UPDATE answer SET verdict = '{\"right\": 7}' WHERE sitting = 2")
    file.close()
    for number in (3, 2):
        with pytest.raises(DamagedError, match=r"damaged.*set aside"):
            Sitting.resume(number, records=path)
    assert [sitting.id for sitting in unfinished(path)] == [1]
    Sitting.resume(1, records=path).close()


def test_raw_and_undecodable_answers_are_kept_as_text(tmp_path):
    """A lone surrogate cannot be written to a database; its escape can."""
    with opened(tmp_path) as sitting:
        question = sitting.prepare(0)
        record = answer_record(
            question, Answer("1\ud800\x1b"), Verdict(0, "Wrong.", "x", ""), Effort(1.0, earned=0.0), sitting=1, number=0
        )
        sitting.records.add_answer(record)
        (kept,) = sitting.records.answers()
        assert kept.given == "1\\ud800\\u001b"


def test_diffusion_without_an_implant_is_a_finding(tmp_path):
    """A strip from rail to rail that no implant covers is read as nothing, and told; the exit code says so too."""
    process = load_process("open-130nm")
    layout = Layout("c", {"diffusion": (Rect(0, 0, 300, 3000),), "metal1": (Rect(0, 0, 900, 300),)})
    (finding,) = [f for f in extract(layout, process).findings if f.kind is FindingKind.UNDOPED]
    assert finding.place == Rect(0, 0, 300, 3000)
    path = tmp_path / "c.gds"
    path.write_bytes(write_gdsii(layout, process))
    code, told = said("extract", path)
    assert code == 1
    assert "undoped diffusion" in told
    assert "the netlist lacks what could not be read in 1 place" in told


def test_a_gate_that_half_crosses_is_told_by_the_exit_code(tmp_path):
    """Poly that ends within the diffusion makes no transistor."""
    process = load_process("open-130nm")
    shapes = {"diffusion": (Rect(0, 0, 1500, 600),), "nplus": (Rect(-100, -100, 1600, 700),)}
    layout = Layout("c", {**shapes, "poly": (Rect(600, 300, 750, 900),)})
    path = tmp_path / "c.gds"
    path.write_bytes(write_gdsii(layout, process))
    code, told = said("extract", path)
    assert code == 1
    assert "partial gate" in told


@pytest.mark.parametrize(
    ("what", "words"),
    [
        ("VDD = !(a*b)", "“VDD” is a supply"),
        ("y = !(a*b); gnd = !y", "“gnd” is a supply"),
        ("u.sp", "u.sp:2:1: net n7, the gate of M1, is driven by nothing"),
        ("v.sp", "vcc and vdd are supplies of their own"),
    ],
)
def test_what_cannot_be_drawn_as_it_is_meant_is_refused(what, words, tmp_path, monkeypatch):
    """A supply as an output, a gate without a driver, two rails of one level that a drawing would join."""
    monkeypatch.chdir(tmp_path)
    (tmp_path / "u.sp").write_text(UNDRIVEN)
    (tmp_path / "v.sp").write_text(TWO_RAILS)
    code, told = said("draw", what, "-o", "o.png")
    assert code == 2
    assert words in told
    assert not (tmp_path / "o.png").exists()


@contextmanager
def full_disk(room):
    """Let no file grow beyond `room` bytes, as a disk that is full; what was written so far stays."""
    before = resource.getrlimit(resource.RLIMIT_FSIZE)
    resource.setrlimit(resource.RLIMIT_FSIZE, (room, before[1]))
    try:
        yield
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, before)


def test_a_full_disk_leaves_no_half_files(tmp_path, monkeypatch):
    """In the cache, of settings, of a set: what stood there still stands, and nothing lies beside it."""
    monkeypatch.setenv("LAYOUTDRILL_CACHE", str(tmp_path / "cache"))
    monkeypatch.setenv("LAYOUTDRILL_HOME", str(tmp_path / "home"))
    path, data = tmp_path / "big.yaml", b"- x\n" * 3000
    keep(path, data, loads(data, "big.yaml").root)
    save_settings(Settings())
    before = {file: file.read_bytes() for file in tmp_path.rglob("*") if file.is_file()}
    with full_disk(20):
        keep(path, data + b"- y\n", loads(data + b"- y\n", "big.yaml").root)
        with pytest.raises(LayoutdrillError, match="settings cannot be saved"):
            save_settings(Settings(theme="daylight"))
        with pytest.raises(OSError, match="too large"):
            write_whole(tmp_path / "new", bytes(21))
    assert {file: file.read_bytes() for file in tmp_path.rglob("*") if file.is_file()} == before
    assert len(before) == 2


def test_what_is_kept_of_a_layout_is_never_another_s():
    """Layouts come and go, and take each other's place in memory: what is kept is of what a layout says."""
    digests = set()
    for wide in range(1, 201):
        layout = Layout("c", {"metal": (Rect(0, 0, wide, 4),)})
        assert box_of(layout) == Rect(0, 0, wide, 4)
        digests.add(layout_digest(layout))
        del layout
    assert len(digests) == 200


def test_a_deck_names_processes_and_reads_no_file_by_them():
    """A path is fine on the command line, where the user gives it; from somebody's deck it is no process."""
    text = "title: t\nabout: a\nprocesses: [/etc/hostname]\nitems: [{cells: [nand2]}]\n"
    _, errors = read_deck(loads(text, "d.yaml"), "d")
    assert [str(error).partition("; ")[0] for error in errors] == ['d.yaml:3:13: no process to draw in "/etc/hostname"']


def test_bytes_that_are_no_text_are_told_with_their_line(tmp_path):
    """In a netlist as in a deck."""
    path = tmp_path / "b.sp"
    path.write_bytes(b"* t\nM1 a b c nmos\n\xff\xfe\n")
    code, told = said("explain", path)
    assert code == 2
    assert "b.sp:3:1: this is no text" in told
