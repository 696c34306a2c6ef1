"""
Measure home with none and with many answers: CPU time of the real command until its list stands, in turns, and what
reading the records takes of it. The ratio holds on any machine.
"""

import json
import os
import sqlite3
import sys
import tempfile
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent))
from bench_start import home_ms

from layoutdrill.deck import lesson_names, load_deck
from layoutdrill.drill.records import Records

MANY = 20_000
LISTED = "Find a defect"
"""Of lesson 19: it stands on home wherever the cursor begins."""
CELLS = (("nand2", "NAND2"), ("nor2", "NOR2"), ("inverter", "inverter"), ("xor2_tg", "XOR2"), ("latch_static", "latch"))


def filled(folder, count):
    """Fill the records of a home folder with answers on drawings of usual size, twelve a sitting, some left over."""
    path = Path(folder) / "records.sqlite"
    path.parent.mkdir(parents=True, exist_ok=True)
    Records(path).close()
    file = sqlite3.connect(path)
    lessons = lesson_names()
    plan = json.dumps([{"cell": "nand2", "kind": "name"}] * 12)
    layout = "layout c\n" + "metal 0 0 100 100\n" * 80
    verdict = json.dumps({"right": "NAND2", "summary": "Right.", "credit": 1.0, "confused_with": ""})
    question = json.dumps({"prompt": "?", "choices": ["NAND2", "NOR2"], "key": {"structure": "NAND2"}})
    with file:
        for number in range(count):
            sitting, at = divmod(number, 12)
            lesson = lessons[sitting % (len(lessons) + 1)] if sitting % (len(lessons) + 1) < len(lessons) else ""
            when = f"20{10 + sitting // 400:02d}-{1 + sitting % 12:02d}-{1 + sitting % 28:02d}T10:{at:02d}:00+00:00"
            if at == 11 and sitting % 17 == 3:
                continue  # one that was left: its last question is open
            if not at:
                over = None if sitting % 17 == 3 else when
                file.execute(
                    "INSERT INTO sitting (sort, deck, title, deck_text, seed, total, look, kit, version, plan, started,"
                    " finished) VALUES (?, ?, ?, '', 1, 12, '', '', '0', ?, ?, ?)",
                    ("lesson" if lesson else "deck", lesson or "gates", lesson or "Gates", plan, when, over),
                )
            cell, structure = CELLS[number % len(CELLS)]
            file.execute("INSERT INTO layout VALUES (?, ?)", (str(number), layout + f"metal {number} 0 1 1\n"))
            names = (
                "sitting, number, lesson, at, kind, cell, process, structure, drawing_seed, layout, unseen, question,"
                " given, skipped, hints, seconds, credit, verdict, earned"
            )
            row = (sitting + 1, at, lesson, when, "name", cell, "silicon-gate-cmos", structure, number, str(number))
            row += (1, question, "a", 0, "[]", 4.0, float(number % 5 > 0), verdict, float(number % 5 > 0))
            file.execute(f"INSERT INTO answer ({names}) VALUES ({', '.join('?' * 19)})", row)
    file.close()
    return path


def reading_ms(folder):
    """Return the CPU ms that reading the records takes of home."""
    os.environ["LAYOUTDRILL_HOME"] = str(folder)
    from layoutdrill.screens.shelf import home_rows

    for name in lesson_names():
        load_deck(name)
    times = []
    for _ in range(5):
        begun = time.process_time()
        home_rows()
        times.append((time.process_time() - begun) * 1000)
    return min(times)


def main():
    with tempfile.TemporaryDirectory() as empty, tempfile.TemporaryDirectory() as full:
        os.environ["PYTHONPYCACHEPREFIX"] = empty + "/bytecode"
        filled(full, MANY)
        print(f"{'what':44} {'none':>10} {f'{MANY:,}':>10}")
        print(f"{'rows of home, read in this process (CPU ms)':44} {reading_ms(empty):10.1f} {reading_ms(full):10.1f}")
        rows = [(home_ms(empty, LISTED)[1], home_ms(full, LISTED)[1]) for _ in range(8)][1:]
        none, many = (min(row[at] for row in rows) for at in (0, 1))
        print(
            f"{'home, the real command (CPU ms), least':44} {none:10.0f} {many:10.0f} {many - none:+10.0f} (aim: +20)"
        )


if __name__ == "__main__":
    main()
