"""
A file of records that is open: found fit to be written, brought up to date, shared between threads and windows.

The rollback journal with full synchronisation is used rather than a write-ahead log: one file, safe on a kill, on a
full disk and on a shared folder.
"""

import sqlite3
from collections.abc import Callable
from functools import partial
from pathlib import Path
from threading import RLock
from typing import TypeVar

from layoutdrill.drill.schema import APPLICATION, SCHEMA, bring_up_to_date, make_tables, version_of
from layoutdrill.errors import LayoutdrillError, Where

_PATIENCE = 3.0
"""Seconds to wait for another window that is writing."""

T = TypeVar("T")


class Store:
    """A file that is open. Calls may come from several threads."""

    def __init__(self, path: Path) -> None:
        """Open or make the file. Raises LayoutdrillError: not writable, locked, damaged, or of a newer version."""
        self.path = path
        self._lock = RLock()
        self._open: sqlite3.Connection | None = None
        try:
            path.parent.mkdir(parents=True, exist_ok=True)
        except OSError as error:
            raise LayoutdrillError(
                f"the folder for records cannot be made ({error.strerror})",
                where=Where(str(path.parent)),
                todo="set LAYOUTDRILL_HOME to a folder of yours",
            ) from None
        self._open = self._told(
            lambda: sqlite3.connect(path, timeout=_PATIENCE, isolation_level=None, check_same_thread=False)
        )
        try:
            self.read(self._prepare)
        except LayoutdrillError:
            self.close()
            raise

    @property
    def _file(self) -> sqlite3.Connection:
        if self._open is None:
            raise LayoutdrillError("the records are closed", where=Where(str(self.path)))
        return self._open

    def close(self) -> None:
        with self._lock:
            if self._open is not None:
                self._open.close()
                self._open = None

    def read(self, act: Callable[[sqlite3.Connection], T]) -> T:
        """Run `act` on the file. Raises LayoutdrillError for what SQLite refuses."""
        return self._told(lambda: act(self._file))

    def write(self, act: Callable[[sqlite3.Connection], T]) -> T:
        """Run `act` in a transaction of its own: on disk as a whole when this returns, or not at all."""

        def within() -> T:
            with _Transaction(self._file):
                return act(self._file)

        return self._told(within)

    def _prepare(self, file: sqlite3.Connection) -> None:
        file.text_factory = _text
        file.execute("PRAGMA foreign_keys = ON")
        file.execute("PRAGMA synchronous = FULL")
        # The tables first: where another window is making the file, what is read after them is not older than they are.
        (tables,) = file.execute("SELECT count(*) FROM sqlite_master").fetchone()
        (application,) = file.execute("PRAGMA application_id").fetchone()
        version = version_of(file)
        if tables and application != APPLICATION:
            raise LayoutdrillError(
                "this is a database of something else", where=Where(str(self.path)), todo="choose another file"
            )
        if tables and version < 1:
            raise LayoutdrillError(
                f"the records are damaged (version {version})",
                where=Where(str(self.path)),
                todo="move the file away to start afresh",
            )
        if version > SCHEMA:
            raise LayoutdrillError(
                "these records were written by a newer layoutdrill", where=Where(str(self.path)), todo="update it"
            )
        if not tables:
            with _Transaction(file):
                # Another window may have made the tables while this one waited for the lock.
                if not file.execute("SELECT count(*) FROM sqlite_master").fetchone()[0]:
                    make_tables(file)
        elif version < SCHEMA:
            with _Transaction(file):
                bring_up_to_date(file, self.path)
        else:
            # A file that cannot be written is told before the first question, not after it. The write is tried and
            # taken back, as a commit would wait for the disk.
            file.execute("BEGIN IMMEDIATE")
            try:
                file.execute(f"PRAGMA user_version = {SCHEMA}")
            finally:
                _roll_back(file)

    def _told(self, act: Callable[[], T]) -> T:
        """Run `act`, turning what SQLite says into what to do."""
        with self._lock:
            try:
                return act()
            except sqlite3.Error as error:
                what, todo = _remedy(error)
            except UnicodeDecodeError:  # in a name of the file's own tables
                what, todo = _remedy(sqlite3.DatabaseError("malformed"))
            raise LayoutdrillError(what, where=Where(str(self.path)), todo=todo)


class _Transaction:
    """Begin, then commit or roll back. IMMEDIATE: a lock is met here, not half way through."""

    def __init__(self, file: sqlite3.Connection) -> None:
        self.file = file

    def __enter__(self) -> None:
        self.file.execute("BEGIN IMMEDIATE")

    def __exit__(self, kind: object, value: object, trace: object) -> None:
        try:
            if kind is None:
                self.file.execute("COMMIT")
        finally:
            _roll_back(self.file)


def _roll_back(file: sqlite3.Connection) -> None:
    """Take back what was not committed; on a full disk SQLite may have done so by itself."""
    if file.in_transaction:
        file.execute("ROLLBACK")


_text = partial(str, encoding="utf-8", errors="replace")
"""Bytes of the database as text; called for each field, hence no function of our own."""


def _remedy(error: sqlite3.Error) -> tuple[str, str]:
    """Say what is wrong with the records, and what to do."""
    said = str(error)
    if "locked" in said or "busy" in said:
        return "the records are in use by another program", "close the other window, then try again"
    if "readonly" in said or "read-only" in said:
        return "the records cannot be written", "make the file and its folder writable, or set LAYOUTDRILL_HOME"
    if "unable to open" in said:
        return "the records cannot be opened", "check the folder's rights, or set LAYOUTDRILL_HOME to another folder"
    if "not a database" in said or "malformed" in said:
        return (
            f"the records are damaged ({said})",
            "move the file away to start afresh; a copy may be mended by sqlite3",
        )
    if "full" in said:
        return "the disk is full", "make room, then answer again"
    return f"the records cannot be used ({said})", "check the file and its folder"
