"""
Files of earlier versions open, keep all, and are copied aside first.

`data/records-schema-1.sqlite` was written by the program as it was at schema 1: a deck answered to its end, a lesson
and a practice left in the middle, a placement without an answer; right, wrong, skipped and hinted answers.
"""

import json
import shutil
import sqlite3
from contextlib import closing
from pathlib import Path

import pytest

from layoutdrill.drill import schema
from layoutdrill.drill.again import regraded
from layoutdrill.drill.records import Records
from layoutdrill.drill.sitting import Sitting
from layoutdrill.errors import LayoutdrillError

FIRST = Path(__file__).parent / "data" / "records-schema-1.sqlite"


def rows(path, columns="*", table="answer"):
    with closing(sqlite3.connect(path)) as file:
        return file.execute(f"SELECT {columns} FROM {table} ORDER BY 1").fetchall()


@pytest.fixture
def old(tmp_path):
    return Path(shutil.copy(FIRST, tmp_path / "records.sqlite"))


def test_an_old_file_keeps_all_and_a_copy_of_it_as_it_was(old):
    """Every row of the old tables, and the very bytes of the old file beside it."""
    columns = [row[1] for row in rows(FIRST, table="pragma_table_info('answer')")]
    Records(old).close()
    assert rows(old, ", ".join(columns)) == rows(FIRST)
    for table in ("sitting", "layout"):
        assert rows(old, table=table) == rows(FIRST, table=table)
    assert old.with_name("records-schema-1.sqlite").read_bytes() == FIRST.read_bytes()
    with closing(sqlite3.connect(old)) as file:
        assert schema.version_of(file) == schema.SCHEMA


def test_an_old_file_becomes_what_a_new_one_is(old, tmp_path):
    """The same tables, columns and indexes as in a file made today."""
    Records(old).close()
    Records(tmp_path / "new.sqlite").close()
    for table in ("answer", "sitting", "layout", "help_given", "draft"):
        info = f"pragma_table_info('{table}')"
        assert sorted(row[1:] for row in rows(old, table=info)) == sorted(
            row[1:] for row in rows(tmp_path / "new.sqlite", table=info)
        )
    named = ("type, name", "sqlite_master")
    assert sorted(rows(old, *named)) == sorted(rows(tmp_path / "new.sqlite", *named))


def test_what_was_earned_before_hints_is_known_again(old):
    """The one right answer with a hint (0.9 of the credit) had earned all; nothing else has changed."""
    records = Records(old)
    told = [(answer.credit, answer.earned, answer.hints) for answer in records.answers()]
    assert (0.9, 1.0, ("words",)) in told
    assert [pair for pair in told if pair[0] != pair[1]] == [(0.9, 1.0, ("words",))]


def test_every_old_answer_is_graded_as_it_was(old):
    """From its own layout and key, whatever the engine draws today."""
    answers = [answer for answer in Records(old).answers() if not answer.skipped]
    assert len(answers) == 10
    assert [regraded(answer).credit for answer in answers] == [answer.earned for answer in answers]


def test_what_old_answers_tell_of_how_they_were_asked(old):
    """Help and difficulty from the plan, hints from the answer; the skill is not known yet."""
    told = [(a.number, a.aided, a.difficulty, a.look, a.skill, a.confidence) for a in Records(old).answers(sitting=1)]
    assert [aided for _, aided, *_ in told] == [False, False, False, True, False, False]
    assert told[0] == (0, False, 0.1, "", "", None)
    assert all(a.aided and a.look == "stick-colours" for a in Records(old).answers(sitting=2))  # a lesson, with help


def test_an_old_sitting_goes_on(old):
    """The lesson that was left in the middle asks its third question."""
    with Sitting.resume(2, records=old) as sitting:
        assert (sitting.position, sitting.total, sitting.deck_name) == (2, 4, "under-the-microscope")


@pytest.mark.parametrize("half_done", [True, False])
def test_what_was_half_done_before_its_tables_had_a_version_stays(old, half_done):
    """Files of version 3 have hints taken and words written where someone left so; both kinds open and keep all."""
    Records(old).close()
    with closing(sqlite3.connect(old)) as file, file:
        file.execute("INSERT INTO help_given VALUES (2, 2, 1)")
        file.execute("INSERT INTO draft VALUES (2, 2, 'NAN')")
        if not half_done:
            file.executescript("DROP TABLE help_given; DROP TABLE draft")
        file.execute("PRAGMA user_version = 3")
    records = Records(old)
    assert (records.help_given(2), records.drafts(2)) == (({2: 1}, {2: "NAN"}) if half_done else ({}, {}))
    records.note_help(2, 3, 2)
    assert records.help_given(2)[3] == 2


def test_a_file_is_brought_up_to_date_once(old):
    """Opening again makes no other copy; another old file of the same name does not replace the first copy."""
    for _ in range(2):
        Records(old).close()
    assert len(list(old.parent.glob("records-schema-1*"))) == 1
    shutil.copy(FIRST, old)
    Records(old).close()
    assert sorted(path.name for path in old.parent.glob("records-schema-1*")) == [
        "records-schema-1-1.sqlite",
        "records-schema-1.sqlite",
    ]


def test_nothing_changes_where_no_copy_can_be_made(old, monkeypatch):
    """A full disk: the message says what to do, and the file is byte for byte as it was."""

    def full(_):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(schema.os, "fsync", full)
    with pytest.raises(LayoutdrillError, match=r"no copy of them can be made .No space left.*make room"):
        Records(old)
    assert old.read_bytes() == FIRST.read_bytes()
    assert [path.name for path in old.parent.iterdir()] == ["records.sqlite"]


def test_a_migration_that_fails_leaves_the_old_file(old, monkeypatch):
    """Half a migration is none."""

    def fails(file):
        file.execute("ALTER TABLE answer ADD COLUMN half TEXT")
        raise sqlite3.OperationalError("disk I/O error")

    monkeypatch.setattr(schema, "MIGRATIONS", {**schema.MIGRATIONS, 1: fails})
    with pytest.raises(LayoutdrillError, match="disk I/O error"):
        Records(old)
    assert rows(old) == rows(FIRST)


def test_a_damaged_row_does_not_stop_the_others(old):
    """Its verdict is no JSON: it is passed over, the others are brought up to date."""
    with closing(sqlite3.connect(old)) as file, file:
        file.execute("UPDATE answer SET verdict = '{' WHERE id = 4")
    records = Records(old)
    assert len(records.answers()) == len(rows(FIRST)) - 1


def test_there_is_a_way_from_every_version():
    """Each version below this one has its step, and the plan of a stored sitting is JSON still."""
    assert sorted(schema.MIGRATIONS) == list(range(1, schema.SCHEMA))
    assert all(json.loads(plan) for (_, plan) in rows(FIRST, "id, plan", "sitting"))
