"""
Measure with 100,000 answers: home as a ratio to home without any, today's plan, and progress.

`python tests/bench/bench_records.py [ANSWERS]`. Home is the real command until its list stands (CPU time, in turns);
the plan and progress are CPU time in this process, once the lessons have been read, the least of three.
"""

import json
import os
import sqlite3
import sys
import tempfile
import time
from datetime import UTC, datetime, timedelta
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent))
sys.path.insert(0, str(Path(__file__).parents[2]))
from bench_start import home_ms

from layoutdrill.drill.history import look_alike_pairs, syllabus
from layoutdrill.drill.learned import progress_now
from layoutdrill.drill.records import Records
from layoutdrill.drill.today import plan_today
from layoutdrill.learning import memory

MANY = 100_000
DAYS = 900
"""A learner of two and a half years, about a hundred and ten answers a day."""
COLUMNS = (
    "sitting, number, lesson, at, kind, cell, process, structure, drawing_seed, layout, unseen, question, given,"
    " skipped, hints, seconds, credit, verdict, earned, skill, aided, look, wear, difficulty, confidence"
)


def filled(folder, count):
    """Fill the records of a home folder with `count` answers to the skills of the syllabus, ten a sitting."""
    path = Path(folder) / "records.sqlite"
    path.parent.mkdir(parents=True, exist_ok=True)
    Records(path).close()
    skills = syllabus()
    plan = json.dumps([{"cell": "nand2", "process": "silicon-gate-cmos", "structure": "NAND2"}] * 10)
    layout = "layout c\n" + "metal 0 0 100 100\n" * 80
    right = json.dumps({"right": "NAND2", "summary": "Right.", "credit": 1.0, "confused_with": ""})
    wrong = json.dumps({"right": "NAND2", "summary": "Wrong.", "credit": 0.0, "confused_with": "NOR2"})
    question = json.dumps({"prompt": "?", "choices": ["NAND2", "NOR2"], "key": {"structure": "NAND2"}})
    begun = datetime.now(UTC) - timedelta(days=DAYS)
    file = sqlite3.connect(path)
    with file:
        for number in range(count):
            sitting, at = divmod(number, 10)
            when = (begun + timedelta(days=DAYS * number / count)).isoformat(timespec="seconds")
            if not at:
                file.execute(
                    "INSERT INTO sitting (sort, deck, title, deck_text, seed, total, look, kit, version, plan, started,"
                    " finished) VALUES ('today', 'today', 'Today', '', 1, 10, '', '', '0', ?, ?, ?)",
                    (plan, when, when),
                )
            skill = skills[(number * 7) % len(skills)]
            good = number % 7 > 0
            file.execute("INSERT INTO layout VALUES (?, ?)", (str(number), f"{layout}metal {number} 0 1 1\n"))
            row = (sitting + 1, at, "", when, "name", "nand2", "silicon-gate-cmos", "NAND2", number, str(number), 1,
                   question, "a", 0, "[]", 4.0, float(good), right if good else wrong, float(good), skill.key, 0,
                   f"look {number % 5}", 0.25 * (number % 5), 0.4,
                   number % 3 + 1 if number % 5 == 0 else None)  # fmt: skip
            file.execute(f"INSERT INTO answer ({COLUMNS}) VALUES ({', '.join('?' * len(row))})", row)
    file.close()
    return path


def least_ms(act):
    times = []
    for _ in range(3):
        memory._KEPT.clear()  # as in a window that has just been opened
        begun = time.process_time()
        act()
        times.append((time.process_time() - begun) * 1000)
    return min(times)


def main(count):
    with tempfile.TemporaryDirectory() as empty, tempfile.TemporaryDirectory() as full:
        path = filled(full, count)
        now = datetime.now(UTC)
        look_alike_pairs(syllabus())
        plan_today(now, seed=1, records=path)
        print(f"{count:,} answers, {path.stat().st_size / 1e6:.0f} MB")
        print(f"today's plan {least_ms(lambda: plan_today(now, seed=1, records=path)):.0f} ms CPU (aim: 100)")

        print(f"progress {least_ms(lambda: progress_now(now, records=path)):.0f} ms CPU (aim: 1000)", flush=True)
        os.environ["PYTHONPYCACHEPREFIX"] = f"{empty}/bytecode"
        rows = [(home_ms(empty)[1], home_ms(full)[1]) for _ in range(6)][1:]
        none, many = (min(row[at] for row in rows) for at in (0, 1))
        print(f"home {none:.0f} ms without, {many:.0f} ms with: {many / none:.2f} times (aim: 1.2)")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else MANY)
