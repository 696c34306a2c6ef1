"""
Keep sittings and answers in one SQLite file. Each answer is committed, and on disk, before `add_answer` returns.

The rollback journal with full synchronisation is used rather than a write-ahead log: one file, safe on a kill, on a
full disk and on a shared folder. Layout texts are kept once each, by their digest.
"""

import json
import sqlite3
from collections.abc import Callable, Mapping
from datetime import UTC, datetime
from functools import lru_cache, partial
from hashlib import sha256
from operator import itemgetter
from pathlib import Path
from threading import RLock
from typing import Any, TypeVar

from layoutdrill.drill.schema import APPLICATION, SCHEMA, bring_up_to_date, make_tables, version_of
from layoutdrill.errors import LayoutdrillError, Where
from layoutdrill.printable import in_one_line
from layoutdrill.process import process_names
from layoutdrill.units import GridUnits
from layoutdrill.value import value

DAMAGE = (ValueError, TypeError, KeyError, AttributeError, RecursionError)
"""What reading a damaged row can raise."""
_PATIENCE = 3.0
"""Seconds to wait for another window that is writing."""

T = TypeVar("T")

_FINISH = """UPDATE sitting SET finished = ? WHERE id = ? AND finished IS NULL
    AND total <= (SELECT count(*) FROM answer WHERE answer.sitting = sitting.id)"""


@value
class SittingRecord:
    """A sitting as it was opened; `plan` is JSON, `finished` None while answers are missing."""

    id: int
    sort: str
    deck: str
    title: str
    deck_text: str
    seed: int
    total: int
    look: str
    kit: str
    version: str
    plan: str
    started: str
    finished: str | None
    answered: int


@value
class AnswerRecord:
    """
    One answer, with all that is needed to grade it again: `question` holds prompt, choices, facts, marks, key and
    boundary, `layout` the drawing's canonical text. `earned` is the credit of the answer, `credit` what was left of it
    after the hints; `unseen` tells that no earlier answer was about this very drawing. `aided` tells that hints were
    taken or help was shown; `wear` and `difficulty` lie from 0 to 1; `confidence` is from 1 (guessed) to 3 (sure), None
    where not asked.
    """

    sitting: int
    number: int
    lesson: str
    kind: str
    cell: str
    process: str
    structure: str
    drawing_seed: int | None
    layout: str
    question: Mapping[str, object]
    given: str
    point: tuple[GridUnits, GridUnits] | None
    skipped: bool
    hints: tuple[str, ...]
    seconds: float
    credit: float
    verdict: Mapping[str, object]
    at: str = ""
    unseen: bool = True
    earned: float = 0.0
    skill: str = ""
    aided: bool = False
    look: str = ""
    wear: float = 0.0
    difficulty: float = 0.0
    confidence: int | None = None


@value
class LearningRow:
    """What learning needs of an answer, without the drawing: `said` is what it was taken for, `hints` how many."""

    skill: str
    at: str
    kind: str
    process: str
    look: str
    wear: float
    earned: float
    seconds: float
    aided: bool
    hints: int
    skipped: bool
    unseen: bool
    said: str
    confidence: int | None


@value
class Left:
    """A sitting that was begun and can be gone on with."""

    id: int
    sort: str
    deck: str
    title: str
    total: int
    started: str
    answered: int


@value
class Standing:
    """What a lesson's state follows from: answers in all, and the credits of the last on unseen drawings."""

    answered: int
    credits: tuple[float, ...]


@value
class Checked:
    """How a deck that is kept for checking went once: when it was begun, how many were right of how many answered."""

    sitting: int
    deck: str
    title: str
    started: str
    right: int
    asked: int


class TakenError(LayoutdrillError):
    """The question has been answered already, most likely in another window."""


class DamagedError(LayoutdrillError):
    """A row of the records is damaged; the others are not."""


class Records:
    """An open records file. Calls may come from several threads."""

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
            self._told(self._prepare)
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

    def _prepare(self) -> None:
        file = self._file
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
            with self._transaction():
                # Another window may have made the tables while this one waited for the lock.
                if not file.execute("SELECT count(*) FROM sqlite_master").fetchone()[0]:
                    make_tables(file)
        elif version < SCHEMA:
            with self._transaction():
                bring_up_to_date(file, self.path)
        else:
            # A file that cannot be written is told before the first question, not after it. The write is tried and
            # taken back, as a commit would wait for the disk.
            file.execute("BEGIN IMMEDIATE")
            try:
                file.execute(f"PRAGMA user_version = {SCHEMA}")
            finally:
                _roll_back(file)

    def _transaction(self) -> "_Transaction":
        return _Transaction(self._file)

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

    def add_sitting(self, **given: str | int) -> int:
        """Write a new sitting, return its number; it began now, unless `started` says otherwise."""
        row = {"started": now()} | given
        columns = ", ".join(row)
        places = ", ".join("?" * len(row))

        def act() -> int:
            with self._transaction():
                done = self._file.execute(
                    f"INSERT INTO sitting ({columns}) VALUES ({places})",  # noqa: S608 - column names of our own
                    tuple(row.values()),
                )
            return done.lastrowid or 0

        return self._told(act)

    def add_answer(self, answer: AnswerRecord) -> None:
        """
        Write an answer, and that the sitting is finished when it was the last one; on disk when this returns.

        Raises TakenError where the question has an answer already, which then counts.
        """
        digest = sha256(answer.layout.encode()).hexdigest()

        def act() -> None:
            file = self._file
            with self._transaction():
                file.execute("INSERT OR IGNORE INTO layout (digest, text) VALUES (?, ?)", (digest, answer.layout))
                (before,) = file.execute("SELECT count(*) FROM answer WHERE layout = ?", (digest,)).fetchone()
                row = {
                    "sitting": answer.sitting,
                    "number": answer.number,
                    "lesson": answer.lesson,
                    "at": answer.at or now(),
                    "kind": answer.kind,
                    "cell": answer.cell,
                    "process": answer.process,
                    "structure": answer.structure,
                    "drawing_seed": answer.drawing_seed,
                    "layout": digest,
                    "unseen": int(not before),
                    "question": _json(answer.question),
                    "given": answer.given,
                    "x": answer.point[0] if answer.point else None,
                    "y": answer.point[1] if answer.point else None,
                    "skipped": int(answer.skipped),
                    "hints": _json(answer.hints),
                    "seconds": answer.seconds,
                    "credit": answer.credit,
                    "verdict": _json(answer.verdict),
                    "earned": answer.earned,
                    "skill": answer.skill,
                    "aided": int(answer.aided),
                    "look": answer.look,
                    "wear": answer.wear,
                    "difficulty": answer.difficulty,
                    "confidence": answer.confidence,
                }
                names = ", ".join(row)
                try:
                    file.execute(
                        f"INSERT INTO answer ({names}) VALUES ({', '.join('?' * len(row))})",  # noqa: S608
                        tuple(row.values()),
                    )
                except sqlite3.IntegrityError:
                    raise TakenError(f"question {answer.number + 1} was answered in another window") from None
                file.execute(_FINISH, (now(), answer.sitting))

        self._told(act)

    def note_help(self, sitting: int, number: int, steps: int) -> None:
        """Keep how many hints of a question have been shown: they stay given, whoever leaves in between."""

        def act() -> None:
            with self._transaction():
                # A table of its own, made when first needed: files without it are as good as those with it.
                self._file.execute(
                    "CREATE TABLE IF NOT EXISTS help_given "
                    "(sitting INTEGER, number INTEGER, steps INTEGER, PRIMARY KEY (sitting, number))"
                )
                self._file.execute("INSERT OR REPLACE INTO help_given VALUES (?, ?, ?)", (sitting, number, steps))

        self._told(act)

    def help_given(self, sitting: int) -> dict[int, int]:
        """Return how many hints have been shown of each question of a sitting."""

        def act() -> dict[int, int]:
            known = "SELECT count(*) FROM sqlite_master WHERE name = 'help_given'"
            if not self._file.execute(known).fetchone()[0]:
                return {}
            rows = self._file.execute("SELECT number, steps FROM help_given WHERE sitting = ?", (sitting,))
            return {int(n): int(k) for n, k in rows if isinstance(n, int) and isinstance(k, int) and k > 0}

        return self._told(act)

    def note_drafts(self, sitting: int, drafts: Mapping[int, str]) -> None:
        """Keep what was written of answers not given yet, in place of what was kept of this sitting."""

        def act() -> None:
            with self._transaction():
                # A table of its own, made when first needed: files without it are as good as those with it.
                self._file.execute(
                    "CREATE TABLE IF NOT EXISTS draft "
                    "(sitting INTEGER, number INTEGER, text TEXT, PRIMARY KEY (sitting, number))"
                )
                self._file.execute("DELETE FROM draft WHERE sitting = ?", (sitting,))
                rows = [(sitting, number, text) for number, text in drafts.items() if text]
                self._file.executemany("INSERT INTO draft VALUES (?, ?, ?)", rows)

        self._told(act)

    def drafts(self, sitting: int) -> dict[int, str]:
        """Return what was written of answers of a sitting that were not given."""

        def act() -> dict[int, str]:
            known = "SELECT count(*) FROM sqlite_master WHERE name = 'draft'"
            if not self._file.execute(known).fetchone()[0]:
                return {}
            rows = self._file.execute("SELECT number, text FROM draft WHERE sitting = ?", (sitting,))
            return {n: text for n, text in rows if isinstance(n, int) and isinstance(text, str)}

        return self._told(act)

    def finish(self, sitting: int) -> None:
        """Mark a sitting as over, whatever is unanswered: it is not offered again."""

        def act() -> None:
            with self._transaction():
                self._file.execute("UPDATE sitting SET finished = ? WHERE id = ?", (now(), sitting))

        self._told(act)

    def sittings(self, *, unfinished: bool = False) -> tuple[SittingRecord, ...]:
        """Return the sittings, newest first."""
        return self._sittings("WHERE finished IS NULL AND total > 0" if unfinished else "")

    def _sittings(self, where: str, *values: int | str) -> tuple[SittingRecord, ...]:
        query = f"""SELECT id, sort, deck, title, deck_text, seed, total, look, kit, version, plan, started, finished,
            (SELECT count(*) FROM answer WHERE answer.sitting = sitting.id) FROM sitting {where}
            ORDER BY id DESC"""  # noqa: S608
        return self._told(lambda: tuple(_sitting(row) for row in self._file.execute(query, values)))

    def sitting(self, number: int) -> SittingRecord:
        """Return one sitting; raises LayoutdrillError where there is none of that number."""
        found = self._sittings("WHERE id = ?", number)
        if found:
            return found[0]
        raise LayoutdrillError(f"no sitting {number} in the records", where=Where(str(self.path)))

    def left(self) -> tuple[Left, ...]:
        """Return every sitting that was begun and can be gone on with, newest first."""
        query = """SELECT id, sort, deck, title, total, started,
            (SELECT count(*) FROM answer WHERE answer.sitting = sitting.id) AS answered
            FROM sitting WHERE finished IS NULL AND total > 0
            AND EXISTS (SELECT 1 FROM answer WHERE answer.sitting = sitting.id)
            ORDER BY id DESC"""
        rows = self._told(lambda: self._file.execute(query).fetchall())
        return tuple(
            Left(number, sort, in_one_line(str(deck)), in_one_line(str(title)), total, started, answered)
            for number, sort, deck, title, total, started, answered in rows
        )

    def standing(self, lesson: str, last: int) -> Standing:
        """
        Return how many answers a lesson has, and the credits of its last ones on drawings not seen before.

        A question that was given up is no answer.
        """
        count = "SELECT count(*) FROM answer WHERE lesson = ?"
        newest = "SELECT credit FROM answer WHERE lesson = ? AND unseen = 1 AND skipped = 0 ORDER BY id DESC LIMIT ?"

        def act() -> Standing:
            (answered,) = self._file.execute(count, (lesson,)).fetchone()
            return Standing(answered, tuple(row[0] for row in self._file.execute(newest, (lesson, last))))

        return self._told(act)

    def learning_rows(self, most: int) -> tuple[LearningRow, ...]:
        """
        Return what learning needs of the last `most` answers of each skill, in order; damaged ones are left out, and
        so are those at a glance and those that are kept for checking: they are no practice.
        """
        columns = (
            "skill, at, kind, process, look, wear, earned, seconds, aided, hints, skipped, unseen, verdict, confidence"
        )

        def act() -> list[tuple[Any, ...]]:
            apart = [row[0] for row in self._file.execute("SELECT id FROM sitting WHERE sort IN ('glance', 'check')")]
            but = f"AND sitting NOT IN ({', '.join(map(str, apart))})" if apart else ""
            # A skill at a time, from the end: that reads so many rows and no others, however many answers there are.
            query = f"SELECT id, {columns} FROM answer WHERE skill = ? {but} ORDER BY id DESC LIMIT ?"  # noqa: S608
            rows: list[tuple[Any, ...]] = []
            skill = ""
            while found := self._file.execute("SELECT min(skill) FROM answer WHERE skill > ?", (skill,)).fetchone()[0]:
                skill = found
                rows += self._file.execute(query, (skill, most))
            return sorted(rows, key=itemgetter(0))

        found: list[LearningRow] = []
        for row in self._told(act):
            try:
                found.append(_learning(row[1:]))
            except DAMAGE:
                continue
        return tuple(found)

    def totals(self) -> tuple[int, int]:
        """Return how many answers there are that train a skill, and on how many days they were given."""
        query = "SELECT count(*), count(DISTINCT substr(at, 1, 10)) FROM answer WHERE skill != ''"
        answers, days = self._told(lambda: self._file.execute(query).fetchone())
        return int(answers), int(days)

    def last_of(self, sort: str) -> SittingRecord | None:
        """Return the newest sitting of a sort with an answer in it, None where there is none."""
        newest = """WHERE id = (SELECT max(sitting) FROM answer
            WHERE sitting IN (SELECT id FROM sitting WHERE sort = ?))"""
        return next(iter(self._sittings(newest, sort)), None)

    def checked(self) -> tuple[Checked, ...]:
        """Return how the decks kept for checking went, the oldest first."""
        query = """SELECT sitting.id, deck, title, started, sum(answer.earned >= 1 AND NOT answer.skipped), count(*)
            FROM sitting JOIN answer ON answer.sitting = sitting.id WHERE sort = 'check'
            GROUP BY sitting.id ORDER BY sitting.id"""
        rows = self._told(lambda: self._file.execute(query).fetchall())
        return tuple(
            Checked(number, in_one_line(str(deck)), in_one_line(str(title)), str(started), int(right or 0), asked)
            for number, deck, title, started, right, asked in rows
        )

    def mistakes(self, most: int, *, skill: str = "", confidence: int | None = None) -> tuple[AnswerRecord, ...]:
        """
        Return the last `most` answers that were wrong, the newest first: of a skill, or those of which one had been so
        sure. What is kept for checking is not shown.
        """
        of = "skill = ?" if confidence is None else "confidence = ?"
        where = f"""WHERE answer.id IN (SELECT id FROM answer WHERE {of} AND earned < 1 AND skipped = 0
            AND sitting NOT IN (SELECT id FROM sitting WHERE sort = 'check') ORDER BY id DESC LIMIT ?)"""  # noqa: S608
        return self._answers(where, (skill if confidence is None else confidence, most))[::-1]

    def replan(self, sitting: int, plan: str) -> None:
        """Change what a sitting has still to ask; its answers stay."""

        def act() -> None:
            with self._transaction():
                self._file.execute("UPDATE sitting SET plan = ? WHERE id = ?", (plan, sitting))

        self._told(act)

    def newest_unfinished(self) -> int:
        """Return the number of the sitting that was left last."""
        left = self.sittings(unfinished=True)
        if not left:
            raise LayoutdrillError("nothing was left unfinished", todo="start a drill")
        return left[0].id

    def answers(self, *, sitting: int | None = None, lesson: str | None = None) -> tuple[AnswerRecord, ...]:
        """
        Return answers in the order they were given; of one sitting, or of one lesson.

        A damaged one is left out, but of a sitting, which cannot be gone on with then: that raises DamagedError.
        """
        wanted = [(name, value) for name, value in (("sitting", sitting), ("lesson", lesson)) if value is not None]
        where = "WHERE " + " AND ".join(f"{name} = ?" for name, _ in wanted) if wanted else ""
        return self._answers(where, tuple(value for _, value in wanted), sitting)

    def _answers(
        self, where: str, values: tuple[int | str, ...], sitting: int | None = None
    ) -> tuple[AnswerRecord, ...]:
        query = f"""SELECT sitting, number, lesson, kind, cell, process, structure, drawing_seed, layout.text, question,
            given, x, y, skipped, hints, seconds, credit, verdict, at, unseen, earned, skill, aided, look,
            wear, difficulty, confidence FROM answer
            JOIN layout ON layout.digest = answer.layout {where} ORDER BY answer.id"""  # noqa: S608
        rows = self._told(lambda: self._file.execute(query, values).fetchall())
        found: list[AnswerRecord] = []
        for row in rows:
            try:
                found.append(_answer(row))
            except DAMAGE:
                if sitting is not None:
                    raise DamagedError(
                        f"an answer of sitting {sitting} is damaged", where=Where(str(self.path))
                    ) from None
        return tuple(found)


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


def _sitting(row: tuple[Any, ...]) -> SittingRecord:
    """
    Return a row as a record; what cannot be printed of its title is escaped. A damaged row comes without a plan, so
    that it is listed, and set aside once one tries to go on with it.
    """
    number, sort, deck, title, text, seed, total, look, kit, version, plan, started, finished, answered = row
    words = (sort, deck, title, text, look, kit, version, plan, started)
    whole = all(isinstance(word, str) for word in words) and isinstance(seed, int) and isinstance(total, int)
    sort, deck, title, text, look, kit, version, plan, started = (str(word) for word in words)
    if not whole:
        plan, seed, total = "", 0, max(1, answered)
    deck, title = in_one_line(deck), in_one_line(title)
    return SittingRecord(
        number, sort, deck, title, text, seed, total, look, kit, version, plan, started, finished, answered
    )


def _answer(row: tuple[Any, ...]) -> AnswerRecord:
    """Return a row as a record. Raises one of DAMAGE for a row that is not as it was written."""
    (sitting, number, lesson, kind, cell, process, structure, seed, layout, question) = row[:10]
    (given, x, y, skipped, hints, seconds, credit, verdict, at, unseen) = row[10:20]
    (earned, skill, aided, look, wear, difficulty, confidence) = row[20:]
    for text in (lesson, kind, cell, process, structure, layout, question, given, hints, verdict, at):
        _must(isinstance(text, str))
    asked, told, taken = json.loads(question), json.loads(verdict), json.loads(hints)
    _must(isinstance(asked["prompt"], str) and isinstance(asked["choices"], list) and isinstance(asked["key"], dict))
    _must(isinstance(told["right"], str) and isinstance(told["summary"], str) and isinstance(taken, list))
    _must((x is None) == (y is None) and process in process_names())
    return AnswerRecord(
        sitting=int(sitting),
        number=int(number),
        lesson=lesson,
        kind=kind,
        cell=in_one_line(cell),
        process=process,
        structure=in_one_line(structure),
        drawing_seed=seed,
        layout=layout,
        question=asked,
        given=in_one_line(given),
        point=None if x is None else (int(x), int(y)),
        skipped=bool(skipped),
        hints=tuple(str(step) for step in taken),
        seconds=float(seconds),
        credit=float(credit),
        verdict=told,
        at=at,
        unseen=bool(unseen),
        earned=float(earned),
        skill=in_one_line(str(skill)),
        aided=bool(aided),
        look=in_one_line(str(look)),
        wear=float(wear),
        difficulty=float(difficulty),
        confidence=None if confidence is None else int(confidence),
    )


_line = lru_cache(maxsize=512)(in_one_line)


def _learning(row: tuple[Any, ...]) -> LearningRow:
    skill, at, kind, process, look, wear, earned, seconds, aided, hints, skipped, unseen, verdict, confidence = row
    datetime.fromisoformat(at)
    said = json.loads(verdict).get("confused_with", "") if earned < 1 else ""
    return LearningRow(
        skill=_line(str(skill)),
        at=at,
        kind=str(kind),
        process=str(process),
        look=str(look),
        wear=float(wear),
        earned=float(earned),
        seconds=float(seconds),
        aided=bool(aided),
        hints=0 if hints == "[]" else len(json.loads(hints)),
        skipped=bool(skipped),
        unseen=bool(unseen),
        said=in_one_line(str(said)),
        confidence=None if confidence is None else int(confidence),
    )


def _must(holds: bool) -> None:
    if not holds:
        raise ValueError


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


def _json(value: object) -> str:
    return json.dumps(value, ensure_ascii=False, separators=(",", ":"))


def now() -> str:
    return datetime.now(UTC).isoformat(timespec="seconds")
