"""Answers of another day: rows as a sitting writes them, of a skill, dated, without drawing anything."""

from datetime import UTC, datetime, timedelta

from layoutdrill.drill.record import AnswerRecord
from layoutdrill.drill.records import Records

LAYOUT = "layout inverter\nmetal 0 0 100 100\n"


def answer(sitting, number, *, skill, at, right=True, said="", **more):
    """Return a record of one answer to a question that names a gate."""
    fields = {
        "lesson": "",
        "kind": "name",
        "cell": "nand2",
        "process": "silicon-gate-cmos",
        "structure": "NAND2",
        "drawing_seed": number,
        "layout": f"{LAYOUT}metal {sitting} {number} 1 1\n",
        "question": {"prompt": "?", "choices": ["NAND2", "NOR2"], "key": {"structure": "NAND2"}},
        "given": "a" if right else "b",
        "point": None,
        "skipped": False,
        "hints": (),
        "seconds": 4.0,
        "credit": float(right),
        "earned": float(right),
        "verdict": {"right": "NAND2", "summary": ".", "credit": float(right), "confused_with": said},
        "at": at.isoformat(timespec="seconds"),
        "skill": skill,
    }
    return AnswerRecord(sitting, number, **(fields | more))


def write(path, rows, *, sort="deck"):
    """Write answers, given as the fields of `answer` beyond sitting and number, into one sitting; return its number."""
    records = Records(path)
    try:
        sitting = records.add_sitting(
            sort=sort,
            deck="d",
            title="D",
            deck_text="",
            seed=1,
            total=len(rows),
            look="",
            kit="",
            version="0",
            plan="[]",
        )
        for number, row in enumerate(rows):
            records.add_answer(answer(sitting, number, **row))
    finally:
        records.close()
    return sitting


def mastered(path, skills, now=None):
    """Write what makes skills mastered: right, in time, unaided, on three days, a week apart, in four looks."""
    now = now or datetime.now(UTC)
    rows = [
        {"skill": skill, "at": now - timedelta(days=days), "look": f"look {days}", "kind": kind}
        for days in (20, 18, 10, 1)
        for skill, kind in skills
    ]
    write(path, rows)
