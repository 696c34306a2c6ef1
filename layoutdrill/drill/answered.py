"""What learning, progress and the next sitting look up among the answers. Nothing is written here."""

import sqlite3
from operator import itemgetter
from typing import Any

from layoutdrill.drill.record import DAMAGE, AnswerRecord, Checked, LearningRow, SittingRecord, learning_of
from layoutdrill.drill.records import Records
from layoutdrill.printable import in_one_line


def learning_rows(records: Records, most: int) -> tuple[LearningRow, ...]:
    """
    Return what learning needs of the last `most` answers of each skill, in order; damaged ones are left out, and
    so are those at a glance and those that are kept for checking: they are no practice.
    """
    columns = (
        "skill, at, kind, process, look, wear, earned, seconds, aided, hints, skipped, unseen, verdict, confidence"
    )

    def act(file: sqlite3.Connection) -> list[tuple[Any, ...]]:
        apart = [row[0] for row in file.execute("SELECT id FROM sitting WHERE sort IN ('glance', 'check')")]
        but = f"AND sitting NOT IN ({', '.join(map(str, apart))})" if apart else ""
        # A skill at a time, from the end: that reads so many rows and no others, however many answers there are.
        query = f"SELECT id, {columns} FROM answer WHERE skill = ? {but} ORDER BY id DESC LIMIT ?"  # noqa: S608
        rows: list[tuple[Any, ...]] = []
        skill = ""
        while learned := file.execute("SELECT min(skill) FROM answer WHERE skill > ?", (skill,)).fetchone()[0]:
            skill = learned
            rows += file.execute(query, (skill, most))
        return sorted(rows, key=itemgetter(0))

    learned: list[LearningRow] = []
    for row in records.read(act):
        try:
            learned.append(learning_of(row[1:]))
        except DAMAGE:
            continue
    return tuple(learned)


def totals(records: Records) -> tuple[int, int]:
    """Return how many answers there are that train a skill, checks apart, and on how many days they were given."""
    query = """SELECT count(*), count(DISTINCT substr(at, 1, 10)) FROM answer WHERE skill != ''
        AND sitting NOT IN (SELECT id FROM sitting WHERE sort = 'check')"""
    answers, days = records.read(lambda file: file.execute(query).fetchone())
    return int(answers), int(days)


def last_of(records: Records, sort: str) -> SittingRecord | None:
    """Return the newest sitting of a sort with an answer in it, None where there is none."""
    newest = """WHERE id = (SELECT max(sitting) FROM answer
        WHERE sitting IN (SELECT id FROM sitting WHERE sort = ?))"""
    return next(iter(records.sittings_where(newest, sort)), None)


def checked_in(records: Records) -> tuple[Checked, ...]:
    """Return how the decks kept for checking went, the oldest first."""
    query = """SELECT sitting.id, deck, title, started, sum(answer.earned >= 1 AND NOT answer.skipped), count(*)
        FROM sitting JOIN answer ON answer.sitting = sitting.id WHERE sort = 'check'
        GROUP BY sitting.id ORDER BY sitting.id"""
    rows = records.read(lambda file: file.execute(query).fetchall())
    return tuple(
        Checked(number, in_one_line(str(deck)), in_one_line(str(title)), str(started), int(right or 0), asked)
        for number, deck, title, started, right, asked in rows
    )


def mistakes(
    records: Records, most: int, *, skill: str = "", confidence: int | None = None
) -> tuple[AnswerRecord, ...]:
    """
    Return the last `most` answers that were wrong, the newest first: of a skill, or those of which one had been so
    sure. What is kept for checking is not shown.
    """
    of = "skill = ?" if confidence is None else "confidence = ?"
    where = f"""WHERE answer.id IN (SELECT id FROM answer WHERE {of} AND earned < 1 AND skipped = 0
        AND sitting NOT IN (SELECT id FROM sitting WHERE sort = 'check') ORDER BY id DESC LIMIT ?)"""  # noqa: S608
    return records.answers_where(where, (skill if confidence is None else confidence, most))[::-1]
