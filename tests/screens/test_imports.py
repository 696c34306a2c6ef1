"""What a fresh interpreter imports, and what the command does without a terminal."""

import os
import subprocess
import sys

from layoutdrill import __version__
from tests.hostile.terminal import Terminal

HEAVY = ("numpy", "networkx", "shapely", "gdstk", "reportlab", "aiohttp")

QUIZ = """
import sys
from layoutdrill.drill.sitting import Sitting
from layoutdrill.screens.app import BenchApp, StartRequest
from layoutdrill.screens.drill_screen import DrillScreen
from layoutdrill.screens.subject import Subject, paint
from layoutdrill.screens.viewport import snapped
sitting = Sitting.open_deck("first-gates", seed=4, count=1)
question = sitting.prepare(0)
shown = question.specimen
box = snapped(shown.face.box, shown.process.grid_per_lambda)
image = paint(Subject(shown.face), box, 1)
sitting.skip(question, 1.0)
assert image.size[0] > 10
print(*sorted(name for name in sys.modules if "." not in name or name.startswith("layoutdrill.")))
"""


def run(words, tmp_path, **env):
    return subprocess.run(
        [sys.executable, *words],
        capture_output=True,
        text=True,
        stdin=subprocess.DEVNULL,
        timeout=60,
        check=False,
        env={**os.environ, "LAYOUTDRILL_HOME": str(tmp_path), **env},
    )


def test_the_quiz_path_imports_nothing_heavy(tmp_path):
    """From opening a deck to a kept answer with its picture, only the core's libraries are loaded."""
    done = run(["-c", QUIZ], tmp_path)
    assert done.returncode == 0, done.stderr
    loaded = set(done.stdout.split())
    assert {"textual", "PIL"} <= loaded
    assert loaded.isdisjoint(HEAVY)
    arrays = ("layoutdrill.drawing.arrays", "layoutdrill.drawing.blocks", "layoutdrill.cells.author")
    assert loaded.isdisjoint(arrays)  # a deck of gates draws none


HOME = """
import sys
from layoutdrill.screens.app import BenchApp, StartRequest
from layoutdrill.screens.home_screen import HomeScreen
from layoutdrill.screens.routes import home_rows
rows, trouble = home_rows()
assert len(rows) > 20
print(*sys.modules)
"""


def test_home_is_listed_without_pictures_and_questions(tmp_path):
    """The covers of decks are read, and what was left; to draw, ask and plan is imported after that is painted."""
    done = run(["-c", HOME], tmp_path)
    assert done.returncode == 0, done.stderr
    loaded = set(done.stdout.split())
    rooms = ("drawing", "extract", "recognise", "question", "deck", "cells", "learning")
    assert {"PIL", "fsrs", *(f"layoutdrill.{room}" for room in rooms)}.isdisjoint(loaded)


SCREENLESS = """
import sys
from layoutdrill.cli import parser
from layoutdrill.completion import completion_script
from layoutdrill.screens.doctor import report
made = parser()
assert completion_script("bash", made)
assert report()
print(*sys.modules)
"""


def test_what_needs_no_screen_imports_no_screen_library(tmp_path):
    """The parser, the doctor and the completion must answer at once, also where Textual is broken."""
    done = run(["-c", SCREENLESS], tmp_path)
    assert done.returncode == 0, done.stderr
    assert {"textual", "rich"}.isdisjoint(done.stdout.split())


def test_the_version_answers_before_anything_is_imported(tmp_path):
    """`--version` loads neither Textual nor the parser."""
    script = (
        "import sys; sys.argv = ['layoutdrill', '--version']\n"
        "from layoutdrill.__main__ import run\nrun()\nprint(*sys.modules)"
    )
    done = run(["-c", script], tmp_path)
    assert done.returncode == 0, done.stderr
    told, modules = done.stdout.splitlines()
    assert told == f"layoutdrill {__version__}"
    assert {"textual", "rich", "argparse", "PIL", "yaml"}.isdisjoint(modules.split())


def test_without_a_terminal_the_app_refuses_in_one_line(tmp_path):
    """A pipe gets one line that says what to do, and exit code 2."""
    done = run(["-m", "layoutdrill", "drill", "first-gates"], tmp_path)
    assert done.returncode == 2
    assert done.stdout == ""
    assert len(done.stderr.strip().splitlines()) == 1
    assert "--plain" in done.stderr


def test_a_terminal_that_cannot_draw_is_told_so_in_one_line(tmp_path):
    """On a pty, so that the name of the terminal alone stands in the way: a dumb one has no cursor to move."""
    with Terminal(home=tmp_path, TERM="dumb") as terminal:
        assert terminal.ended() == 2
        told = terminal.seen.decode()
        assert "this terminal cannot draw" in told
        assert "--plain" in told
        assert len(told.strip().splitlines()) == 1
        assert "\x1b" not in told
