"""
The tables of a records file, and how a file of an earlier version becomes one of this.

A file says its version in `user_version`. Opening an older one copies it aside first (`records.sqlite` becomes
`records-schema-1.sqlite` beside it), then brings it up to date in one transaction: it is of the new version as a whole
or still of the old one. A new version is one more entry in `MIGRATIONS`, and the tables of a new file say the same.
"""

import json
import os
import sqlite3
from collections.abc import Callable, Mapping
from pathlib import Path

from layoutdrill.errors import LayoutdrillError, Where

APPLICATION = 0x6C647231
"""Tells our files from other SQLite files."""

SCHEMA = 4

TABLES = """
CREATE TABLE sitting (
    id INTEGER PRIMARY KEY, sort TEXT NOT NULL, deck TEXT NOT NULL, title TEXT NOT NULL, deck_text TEXT NOT NULL,
    seed INTEGER NOT NULL, total INTEGER NOT NULL, look TEXT NOT NULL, kit TEXT NOT NULL, version TEXT NOT NULL,
    plan TEXT NOT NULL, started TEXT NOT NULL, finished TEXT
);
CREATE TABLE layout (digest TEXT PRIMARY KEY, text TEXT NOT NULL);
CREATE TABLE answer (
    id INTEGER PRIMARY KEY, sitting INTEGER NOT NULL REFERENCES sitting (id), number INTEGER NOT NULL,
    lesson TEXT NOT NULL, at TEXT NOT NULL, kind TEXT NOT NULL, cell TEXT NOT NULL, process TEXT NOT NULL,
    structure TEXT NOT NULL, drawing_seed INTEGER, layout TEXT NOT NULL REFERENCES layout (digest),
    unseen INTEGER NOT NULL, question TEXT NOT NULL, given TEXT NOT NULL, x INTEGER, y INTEGER,
    skipped INTEGER NOT NULL, hints TEXT NOT NULL, seconds REAL NOT NULL, credit REAL NOT NULL, verdict TEXT NOT NULL,
    earned REAL NOT NULL DEFAULT 0, skill TEXT NOT NULL DEFAULT '', aided INTEGER NOT NULL DEFAULT 0,
    look TEXT NOT NULL DEFAULT '', wear REAL NOT NULL DEFAULT 0, difficulty REAL NOT NULL DEFAULT 0, confidence INTEGER,
    UNIQUE (sitting, number)
);
CREATE TABLE help_given (sitting INTEGER, number INTEGER, steps INTEGER, PRIMARY KEY (sitting, number));
CREATE TABLE draft (sitting INTEGER, number INTEGER, text TEXT, PRIMARY KEY (sitting, number));
CREATE INDEX answer_lesson ON answer (lesson, unseen, id, credit);
CREATE INDEX answer_layout ON answer (layout);
CREATE INDEX answer_skill ON answer (skill, id);
CREATE INDEX sitting_left ON sitting (id) WHERE finished IS NULL
"""


def make_tables(file: sqlite3.Connection) -> None:
    """Make the tables of a new file, within the transaction that is open."""
    for statement in TABLES.split(";"):
        file.execute(statement)
    file.execute(f"PRAGMA application_id = {APPLICATION}")
    file.execute(f"PRAGMA user_version = {SCHEMA}")


def bring_up_to_date(file: sqlite3.Connection, path: Path) -> None:
    """
    Bring a file of an earlier version to this one; the file as it was is copied aside first.

    To be called within an immediate transaction, which keeps every other writer out while the copy is made.
    Raises LayoutdrillError where no copy can be made: nothing has been changed then.
    """
    version = version_of(file)
    if version >= SCHEMA:
        return  # another window was first
    copy_aside(path, version)
    for step in range(version, SCHEMA):
        MIGRATIONS[step](file)
    file.execute(f"PRAGMA user_version = {SCHEMA}")


def version_of(file: sqlite3.Connection) -> int:
    (version,) = file.execute("PRAGMA user_version").fetchone()
    return int(version)


def copy_aside(path: Path, version: int) -> Path:
    """Copy a records file beside itself, on disk when this returns; a copy that is there already is never replaced."""
    for number in range(1000):
        kept = path.with_name(f"{path.stem}-schema-{version}{f'-{number}' if number else ''}{path.suffix}")
        try:
            with kept.open("xb") as copy:
                copy.write(path.read_bytes())
                copy.flush()
                os.fsync(copy.fileno())
        except FileExistsError:
            continue
        except OSError as error:
            kept.unlink(missing_ok=True)
            what = f"the records are of an earlier version, and no copy of them can be made ({error.strerror})"
            raise LayoutdrillError(what, where=Where(str(kept)), todo="make room, or the folder writable") from None
        return kept
    raise LayoutdrillError("there are a thousand copies of the records", where=Where(str(path)), todo="move some away")


def _what_was_earned(file: sqlite3.Connection) -> None:
    """
    From 1 to 2: the credit before the cost of hints has a column of its own. Version 1 kept it only in the verdict's
    words, which began with “Right:” where the answer was fully right.
    """
    file.execute("ALTER TABLE answer ADD COLUMN earned REAL NOT NULL DEFAULT 0")
    for number, credit, skipped, verdict in file.execute("SELECT id, credit, skipped, verdict FROM answer").fetchall():
        earned = 0.0 if skipped else max(credit, _earned(verdict))
        file.execute("UPDATE answer SET earned = ? WHERE id = ?", (earned, number))
    file.execute("DROP INDEX IF EXISTS answer_lesson")
    file.execute("CREATE INDEX answer_lesson ON answer (lesson, unseen, id, credit)")
    file.execute("CREATE INDEX sitting_left ON sitting (id) WHERE finished IS NULL")


def _earned(verdict: str) -> float:
    try:
        graded = json.loads(verdict)
        return float(graded.get("earned", str(graded["summary"]).startswith("Right:")))
    except (ValueError, TypeError, KeyError, AttributeError, RecursionError):  # a damaged row is left as it is
        return 0.0


def _what_was_practised(file: sqlite3.Connection) -> None:
    """
    From 2 to 3: the skill that a question practised, and how it was shown: aids, look, wear, difficulty; and how sure
    the learner was. Of old answers only the hints and the plan of their sitting tell something.
    """
    for column in (
        "skill TEXT NOT NULL DEFAULT ''",
        "aided INTEGER NOT NULL DEFAULT 0",
        "look TEXT NOT NULL DEFAULT ''",
        "wear REAL NOT NULL DEFAULT 0",
        "difficulty REAL NOT NULL DEFAULT 0",
        "confidence INTEGER",
    ):
        file.execute(f"ALTER TABLE answer ADD COLUMN {column}")
    file.execute("CREATE INDEX answer_skill ON answer (skill, id)")
    for sitting, plan, look in file.execute("SELECT id, plan, look FROM sitting").fetchall():
        for number, (help_shown, difficulty) in enumerate(_planned(plan)):
            file.execute(
                "UPDATE answer SET aided = ?, difficulty = ?, look = ? WHERE sitting = ? AND number = ?",
                (help_shown, difficulty, look, sitting, number),
            )
    file.execute("UPDATE answer SET aided = 1 WHERE hints <> '[]'")


def _planned(plan: str) -> list[tuple[int, float]]:
    """Return for each question of a plan whether help was shown from the start, and the difficulty."""
    try:
        return [(int(bool(draw["help"])), float(draw["difficulty"])) for draw in json.loads(plan)]
    except (ValueError, TypeError, KeyError, RecursionError):  # a damaged plan tells nothing
        return []


def _what_is_half_done(file: sqlite3.Connection) -> None:
    """From 3 to 4: the hints taken and the words written of what has no answer yet; some files of 3 have them."""
    for table, what in (("help_given", "steps INTEGER"), ("draft", "text TEXT")):
        columns = f"sitting INTEGER, number INTEGER, {what}, PRIMARY KEY (sitting, number)"
        file.execute(f"CREATE TABLE IF NOT EXISTS {table} ({columns})")


MIGRATIONS: Mapping[int, Callable[[sqlite3.Connection], None]] = {
    1: _what_was_earned,
    2: _what_was_practised,
    3: _what_is_half_done,
}
"""What brings a file from each version to the next."""
