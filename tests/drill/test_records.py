"""Records survive what happens to programs and files, and say what is wrong in plain words."""

import os
import signal
import sqlite3
import stat
import subprocess
import sys
import threading
from pathlib import Path

import pytest

from layoutdrill.drill.record import AID, AnswerRecord, learning_of
from layoutdrill.drill.records import Records
from layoutdrill.drill.schema import SCHEMA
from layoutdrill.errors import LayoutdrillError
from layoutdrill.question import HintStep


def answer(sitting, number, layout="layout a\nmetal 0 0 1 1\n", **more):
    given = {
        "lesson": "",
        "kind": "name",
        "cell": "nand2",
        "process": "silicon-gate-cmos",
        "structure": "NAND2",
        "drawing_seed": 1,
    }
    given |= {
        "question": {"prompt": "?", "key": {}, "choices": []},
        "given": "a",
        "point": None,
        "skipped": False,
        "hints": (),
    }
    given |= {"seconds": 1.0, "credit": 1.0, "verdict": {"right": "NAND2", "summary": "Right."}} | more
    return AnswerRecord(sitting=sitting, number=number, layout=layout, **given)


def begun(records, total=3):
    return records.add_sitting(
        sort="deck", deck="d", title="t", deck_text="", seed=1, total=total, look="", kit="", version="0", plan="[]"
    )


def test_what_was_written_comes_back(tmp_path):
    """Every field, texts in any script among them."""
    records = Records(tmp_path / "deep" / "r.sqlite")
    sitting = begun(records)
    told = answer(
        sitting,
        0,
        given="λ “a”",
        point=(3, -4),
        hints=("rails",),
        question={"prompt": "?", "key": {"n": [1, "é"]}, "choices": []},
    )
    records.add_answer(told)
    (found,) = Records(tmp_path / "deep" / "r.sqlite").answers(sitting=sitting)
    assert found.at
    assert (found.given, found.point, found.hints, found.question) == (
        told.given,
        told.point,
        told.hints,
        told.question,
    )
    assert found.layout == told.layout


def test_a_layout_is_kept_once_and_known_again(tmp_path):
    """Two answers about one drawing share its text; only the first is about an unseen drawing."""
    records = Records(tmp_path / "r")
    sitting = begun(records)
    records.add_answer(answer(sitting, 0))
    records.add_answer(answer(sitting, 1))
    records.add_answer(answer(sitting, 2, layout="layout b\n"))
    assert [found.unseen for found in records.answers()] == [True, False, True]
    with sqlite3.connect(tmp_path / "r") as file:
        assert file.execute("SELECT count(*) FROM layout").fetchone() == (2,)
    file.close()
    assert records.sitting(sitting).finished


CHILD = """
import sys
from pathlib import Path
sys.path.insert(0, {folder!r})
import conftest
from layoutdrill.deck.specimen import SpecimenMaker
from layoutdrill.drill.sitting import Sitting
SpecimenMaker.specimen = conftest.fake_specimen
sitting = Sitting.open_deck("first-gates", count=200, seed=1, records=Path({path!r}))
for number in range(200):
    sitting.skip(sitting.prepare(number), 0.1)
    print(number, flush=True)
"""


# Source: SQLite's own documentation of atomic commit: what COMMIT returned from survives the death of the process.
@pytest.mark.parametrize("after", [0, 23])
def test_nothing_is_lost_when_the_program_is_killed(tmp_path, after):
    """Killed without warning (SIGKILL) after answer N was confirmed: N answers are there, and the sitting goes on."""
    path = tmp_path / "r.sqlite"
    script = CHILD.format(folder=str(Path(__file__).parent), path=str(path))
    child = subprocess.Popen([sys.executable, "-c", script], stdout=subprocess.PIPE, text=True)
    confirmed = -1
    while confirmed < after:
        confirmed = int(child.stdout.readline())
    os.kill(child.pid, signal.SIGKILL)
    confirmed = max([confirmed, *(int(line) for line in child.stdout.read().split() if line.isdigit())])
    child.wait()
    child.stdout.close()
    records = Records(path)
    (left,) = records.sittings(unfinished=True)
    numbers = [found.number for found in records.answers(sitting=left.id)]
    assert numbers == list(range(len(numbers)))
    assert len(numbers) in (confirmed + 1, confirmed + 2)
    with sqlite3.connect(path) as file:
        assert file.execute("PRAGMA integrity_check").fetchone() == ("ok",)
    file.close()


def test_a_locked_file_is_told_and_nothing_is_half_written(tmp_path, monkeypatch):
    """Another program holds the lock for longer than the patience: an error, and the answer can be given again."""
    monkeypatch.setattr("layoutdrill.drill.store._PATIENCE", 0.05)
    records = Records(tmp_path / "r")
    sitting = begun(records)
    other = sqlite3.connect(tmp_path / "r", isolation_level=None)
    other.execute("BEGIN EXCLUSIVE")
    with pytest.raises(LayoutdrillError, match="in use by another program; close the other window"):
        records.add_answer(answer(sitting, 0))
    with pytest.raises(LayoutdrillError, match="in use by another program"):
        Records(tmp_path / "r")
    other.execute("ROLLBACK")
    other.close()
    records.add_answer(answer(sitting, 0))
    assert len(records.answers()) == 1


@pytest.mark.parametrize(
    "content", [b"this is no database, but long enough to look at" * 40, b"SQLite format 3\x00" + b"\xff" * 4000]
)
def test_a_damaged_file_is_told_and_left_as_it_is(tmp_path, content):
    """The error says what to do; the file is not touched."""
    path = tmp_path / "r"
    path.write_bytes(content)
    with pytest.raises(LayoutdrillError) as caught:
        Records(path)
    assert caught.value.where.file == str(path)
    assert "move the file away" in caught.value.todo
    assert path.read_bytes() == content


def test_a_file_cut_short_is_told(tmp_path):
    """Half of a real file: the damage is met when it is opened or read, never a traceback."""
    path = tmp_path / "r"
    records = Records(path)
    sitting = begun(records, 60)
    for number in range(60):
        records.add_answer(answer(sitting, number, layout=f"layout {number}\n" + "metal 0 0 1 1\n" * 200))
    records.close()
    path.write_bytes(path.read_bytes()[: path.stat().st_size // 2])
    with pytest.raises(LayoutdrillError, match="damaged"):
        Records(path).answers()


def test_a_newer_file_and_a_foreign_one_are_refused(tmp_path):
    """Neither is written to."""
    Records(tmp_path / "new").close()
    with sqlite3.connect(tmp_path / "new") as file:
        file.execute(f"PRAGMA user_version = {SCHEMA + 1}")
    file.close()
    with pytest.raises(LayoutdrillError, match="written by a newer layoutdrill; update it"):
        Records(tmp_path / "new")
    with sqlite3.connect(tmp_path / "other") as file:
        file.execute("CREATE TABLE x (y)")
    file.close()
    with pytest.raises(LayoutdrillError, match="a database of something else; choose another file"):
        Records(tmp_path / "other")


@pytest.mark.skipif(os.geteuid() == 0, reason="root may write anywhere, so a read-only folder cannot be tried")
def test_a_folder_that_cannot_be_written_is_told(tmp_path):
    """Before the first question, not after it."""
    tmp_path.chmod(stat.S_IRUSR | stat.S_IXUSR)
    try:
        with pytest.raises(LayoutdrillError, match="LAYOUTDRILL_HOME"):
            Records(tmp_path / "deep" / "r")
    finally:
        tmp_path.chmod(stat.S_IRWXU)


def test_a_read_only_file_is_told_before_the_first_question(tmp_path, monkeypatch):
    """Opened as SQLite opens a file without the right to write, also for root."""
    Records(tmp_path / "r").close()
    real = sqlite3.connect

    def read_only(path, **more):
        return real(f"file:{path}?mode=ro", uri=True, **more)

    monkeypatch.setattr("layoutdrill.drill.records.sqlite3.connect", read_only)
    with pytest.raises(LayoutdrillError, match="the records cannot be written; make the file and its folder writable"):
        Records(tmp_path / "r")


def test_a_folder_in_place_of_the_file_is_told(tmp_path):
    """And a file in place of the folder."""
    with pytest.raises(LayoutdrillError, match="cannot be opened"):
        Records(tmp_path)
    (tmp_path / "file").write_text("")
    with pytest.raises(LayoutdrillError, match="the folder for records cannot be made"):
        Records(tmp_path / "file" / "r")


def test_two_windows_and_several_threads_share_one_file(tmp_path):
    """Forty answers written by four threads over two connections are all there."""
    files = [Records(tmp_path / "r"), Records(tmp_path / "r")]
    sitting = begun(files[0], 40)

    def write(part):
        for number in range(part, 40, 4):
            files[part % 2].add_answer(answer(sitting, number))

    threads = [threading.Thread(target=write, args=(part,)) for part in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert sorted(found.number for found in files[0].answers()) == list(range(40))


def test_everything_that_was_begun_and_left_is_listed(tmp_path):
    """Newest first, several of one deck too; a sitting without an answer is no loss."""
    records = Records(tmp_path / "r")
    for deck in ("d", "d", "e", "d", "f"):
        more = {"title": deck, "deck_text": "", "seed": 1, "look": "", "kit": "", "version": "0", "plan": "[]"}
        number = records.add_sitting(sort="deck", deck=deck, total=2, **more)
        if number != 4:
            records.add_answer(answer(number, 0))
    records.add_answer(answer(5, 1))
    assert [(left.id, left.deck, left.answered, left.total) for left in records.left()] == [
        (3, "e", 1, 2),
        (2, "d", 1, 2),
        (1, "d", 1, 2),
    ]


def test_a_lessons_standing_is_of_its_last_unseen(tmp_path):
    """Answers in all, and the credits of the newest on drawings that were new then, newest first."""
    records = Records(tmp_path / "r")
    sitting = begun(records, 20)
    for number in range(8):
        layout = f"layout {max(0, number - 1)}"  # the second is of the first's drawing
        records.add_answer(answer(sitting, number, layout, lesson="x", credit=number / 10))
    assert (records.standing("x", 3).answered, records.standing("x", 3).credits) == (8, (0.7, 0.6, 0.5))
    assert records.standing("x", 20).credits == (0.7, 0.6, 0.5, 0.4, 0.3, 0.2, 0.0)
    assert records.standing("y", 3).answered == 0


def test_many_windows_may_make_the_file_at_once(tmp_path):
    """Whoever comes first makes it; nobody finds it half made."""
    for number in range(12):
        path, faults = tmp_path / str(number), []
        gate = threading.Barrier(6)

        def open_it(path=path, faults=faults, gate=gate):
            gate.wait()
            try:
                Records(path).close()
            except LayoutdrillError as error:
                faults.append(str(error))

        threads = [threading.Thread(target=open_it) for _ in range(6)]
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join()
        assert faults == []


def test_help_that_nobody_asked_for_is_no_mistake():
    """
    Pictures seen small have the tracing aid: an answer given with it is helped, neither right alone nor wrong; what was
    asked for besides counts as hints.
    """
    row = ("see: contact", "2026-01-02T03:04:05+00:00", "spot", "p", "", 0.0, 1.0, 5.0, 0)

    def learned(hints):
        return learning_of((*row, hints, 0, 1, "{}", None))

    assert HintStep.AID == AID
    assert [(learned(h).aided, learned(h).hints) for h in ("[]", '["tracing aid"]', '["tracing aid","rails"]')] == [
        (False, 0), (True, 0), (True, 1),
    ]  # fmt: skip
