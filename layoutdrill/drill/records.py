"""
Keep sittings and answers in one SQLite file. Each answer is committed, and on disk, before `add_answer` returns.
Layout texts are kept once each, by their digest.
"""

import json
import sqlite3
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from datetime import UTC, datetime
from hashlib import sha256
from pathlib import Path

from layoutdrill.drill.record import (
    DAMAGE,
    AnswerRecord,
    DamagedError,
    Left,
    SittingRecord,
    Standing,
    TakenError,
    answer_of,
    sitting_of,
)
from layoutdrill.drill.store import Store
from layoutdrill.errors import LayoutdrillError, Where
from layoutdrill.locations import records_file
from layoutdrill.printable import in_one_line

_FINISH = """UPDATE sitting SET finished = ? WHERE id = ? AND finished IS NULL
    AND total <= (SELECT count(*) FROM answer WHERE answer.sitting = sitting.id)"""


class Records(Store):
    """One's sittings, answers and what was left half done."""

    def add_sitting(self, **given: str | int) -> int:
        """Write a new sitting, return its number; it began now, unless `started` says otherwise."""
        row = {"started": now()} | given
        columns = ", ".join(row)
        places = ", ".join("?" * len(row))

        def act(file: sqlite3.Connection) -> int:
            done = file.execute(
                f"INSERT INTO sitting ({columns}) VALUES ({places})",  # noqa: S608 - column names of our own
                tuple(row.values()),
            )
            return done.lastrowid or 0

        return self.write(act)

    def add_answer(self, answer: AnswerRecord) -> None:
        """
        Write an answer, and that the sitting is finished when it was the last one; on disk when this returns.

        Raises TakenError where the question has an answer already, which then counts.
        """
        digest = sha256(answer.layout.encode()).hexdigest()

        def act(file: sqlite3.Connection) -> None:
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

        self.write(act)

    def note_help(self, sitting: int, number: int, steps: int) -> None:
        """Keep how many hints of a question have been shown: they stay given, whoever leaves in between."""

        def act(file: sqlite3.Connection) -> None:
            file.execute("INSERT OR REPLACE INTO help_given VALUES (?, ?, ?)", (sitting, number, steps))

        self.write(act)

    def help_given(self, sitting: int) -> dict[int, int]:
        """Return how many hints have been shown of each question of a sitting."""

        def act(file: sqlite3.Connection) -> dict[int, int]:
            rows = file.execute("SELECT number, steps FROM help_given WHERE sitting = ?", (sitting,))
            return {int(n): int(k) for n, k in rows if isinstance(n, int) and isinstance(k, int) and k > 0}

        return self.read(act)

    def note_drafts(self, sitting: int, drafts: Mapping[int, str]) -> None:
        """Keep what was written of answers not given yet, in place of what was kept of this sitting."""

        def act(file: sqlite3.Connection) -> None:
            file.execute("DELETE FROM draft WHERE sitting = ?", (sitting,))
            rows = [(sitting, number, text) for number, text in drafts.items() if text]
            file.executemany("INSERT INTO draft VALUES (?, ?, ?)", rows)

        self.write(act)

    def drafts(self, sitting: int) -> dict[int, str]:
        """Return what was written of answers of a sitting that were not given."""

        def act(file: sqlite3.Connection) -> dict[int, str]:
            rows = file.execute("SELECT number, text FROM draft WHERE sitting = ?", (sitting,))
            return {n: text for n, text in rows if isinstance(n, int) and isinstance(text, str)}

        return self.read(act)

    def finish(self, sitting: int) -> None:
        """Mark a sitting as over, whatever is unanswered: it is not offered again."""

        def act(file: sqlite3.Connection) -> None:
            file.execute("UPDATE sitting SET finished = ? WHERE id = ?", (now(), sitting))

        self.write(act)

    def sittings(self, *, unfinished: bool = False) -> tuple[SittingRecord, ...]:
        """Return the sittings, newest first."""
        return self.sittings_where("WHERE finished IS NULL AND total > 0" if unfinished else "")

    def sittings_where(self, where: str, *values: int | str) -> tuple[SittingRecord, ...]:
        """Return the sittings for which a clause of SQL of our own holds, newest first."""
        query = f"""SELECT id, sort, deck, title, deck_text, seed, total, look, kit, version, plan, started, finished,
            (SELECT count(*) FROM answer WHERE answer.sitting = sitting.id) FROM sitting {where}
            ORDER BY id DESC"""  # noqa: S608
        return self.read(lambda file: tuple(sitting_of(row) for row in file.execute(query, values)))

    def sitting(self, number: int) -> SittingRecord:
        """Return one sitting; raises LayoutdrillError where there is none of that number."""
        matching = self.sittings_where("WHERE id = ?", number)
        if matching:
            return matching[0]
        raise LayoutdrillError(f"no sitting {number} in the records", where=Where(str(self.path)))

    def left(self) -> tuple[Left, ...]:
        """Return every sitting that was begun and can be gone on with, newest first."""
        query = """SELECT id, sort, deck, title, total, started,
            (SELECT count(*) FROM answer WHERE answer.sitting = sitting.id) AS answered
            FROM sitting WHERE finished IS NULL AND total > 0
            AND EXISTS (SELECT 1 FROM answer WHERE answer.sitting = sitting.id)
            ORDER BY id DESC"""
        rows = self.read(lambda file: file.execute(query).fetchall())
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

        def act(file: sqlite3.Connection) -> Standing:
            (answered,) = file.execute(count, (lesson,)).fetchone()
            return Standing(answered, tuple(row[0] for row in file.execute(newest, (lesson, last))))

        return self.read(act)

    def replan(self, sitting: int, plan: str) -> None:
        """Change what a sitting has still to ask; its answers stay."""

        def act(file: sqlite3.Connection) -> None:
            file.execute("UPDATE sitting SET plan = ? WHERE id = ?", (plan, sitting))

        self.write(act)

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
        return self.answers_where(where, tuple(value for _, value in wanted), sitting)

    def answers_where(
        self, where: str, values: tuple[int | str, ...], sitting: int | None = None
    ) -> tuple[AnswerRecord, ...]:
        """Return the answers for which a clause of SQL of our own holds; `sitting` as for `answers`."""
        query = f"""SELECT sitting, number, lesson, kind, cell, process, structure, drawing_seed, layout.text, question,
            given, x, y, skipped, hints, seconds, credit, verdict, at, unseen, earned, skill, aided, look,
            wear, difficulty, confidence FROM answer
            JOIN layout ON layout.digest = answer.layout {where} ORDER BY answer.id"""  # noqa: S608
        rows = self.read(lambda file: file.execute(query, values).fetchall())
        answers: list[AnswerRecord] = []
        for row in rows:
            try:
                answers.append(answer_of(row))
            except DAMAGE:
                if sitting is not None:
                    raise DamagedError(
                        f"an answer of sitting {sitting} is damaged", where=Where(str(self.path))
                    ) from None
        return tuple(answers)


def _json(value: object) -> str:
    return json.dumps(value, ensure_ascii=False, separators=(",", ":"))


def now() -> str:
    return datetime.now(UTC).isoformat(timespec="seconds")


@contextmanager
def kept_records(records: Path | None) -> Iterator[Records | None]:
    """
    Open records to read them, one's own where no file is named, and close them again; None where there are none yet, as
    to look makes no file. Raises LayoutdrillError where they cannot be read.
    """
    path = records or records_file()
    if not path.exists():
        yield None
        return
    file = Records(path)
    try:
        yield file
    finally:
        file.close()
