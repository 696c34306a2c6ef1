"""
Read one set in several Pythons, each in an environment of its own, and say whether all see the same.

`python tests/bench/two_environments.py PYTHON PYTHON …` makes an environment for each interpreter given, installs this
tree into it, lets each prepare the same set, and read and grade the set that the first one prepared. Printed are the
versions, and how many questions have the same layout, netlist, prompt and verdicts everywhere; the exit code is 1 where
they differ. Needs a package index.
"""

import json
import subprocess
import sys
import tempfile
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
DECKS = ("first-gates", "switches-and-latches")
COUNT = 10

PREPARE = """
import sys
from pathlib import Path
from layoutdrill.workshop.documents import write_set
from layoutdrill.workshop.prepare import Wanted, prepare
for deck in sys.argv[3:]:
    write_set(Path(sys.argv[1]) / f"{deck}.set", prepare(deck, Wanted(count=int(sys.argv[2]), minutes=20, seed=7)))
"""
READ = """
import json, platform, sys
from hashlib import sha256
from pathlib import Path
import PIL, textual
from layoutdrill.netlist.spice import write_spice
from layoutdrill.question import Answer, kinds
from layoutdrill.workshop.asking import graded, question_of
from layoutdrill.workshop.documents import read_set
from layoutdrill.workshop.model import Given
seen = {}
for path in sys.argv[1:]:
    made = read_set(Path(path))
    for sheet in made.sheets:
        question = question_of(made, sheet.number)
        kind = kinds()[question.kind]
        right = kind.solution(question)
        answers = [(right.text, right.point), *((letter, None) for letter in "abcd"), ("", (0, 0))]
        specimen = question.specimen
        told = [question.prompt, question.choices, write_spice(specimen.netlist), specimen.face.text()]
        for text, point in answers:
            verdict = graded(made, Given(sheet.number, text, point, False, 1.0, 1.0))
            told.append([verdict.credit, verdict.summary, verdict.right, verdict.decides, verdict.instead])
        seen[f"{made.deck} {sheet.number}"] = sha256(json.dumps(told).encode()).hexdigest()
print(json.dumps({"python": platform.python_version(), "pillow": PIL.__version__, "textual": textual.__version__,
                  "seen": seen}))
"""


def run(*command):
    """Run a command and return what it prints; whatever goes wrong ends all."""
    done = subprocess.run([str(word) for word in command], capture_output=True, text=True, check=False, cwd="/")
    if done.returncode:
        raise SystemExit(f"{command[0]}: {done.stderr[-2000:]}")
    return done.stdout


def main(pythons):
    """Make the environments, let each prepare and read, and compare."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        told, files = [], []
        for at, python in enumerate(pythons):
            place = folder / f"environment {at}"
            run(python, "-m", "venv", place)
            own = place / "bin" / "python"
            run(own, "-m", "pip", "install", "-q", "--disable-pip-version-check", ROOT)
            sets = folder / f"sets {at}"
            sets.mkdir()
            run(own, "-c", PREPARE, sets, COUNT, *DECKS)
            files.append([(sets / f"{deck}.set").read_bytes() for deck in DECKS])
            first = [folder / "sets 0" / f"{deck}.set" for deck in DECKS]
            told.append(json.loads(run(own, "-c", READ, *first)))
            versions = {key: told[-1][key] for key in ("python", "pillow", "textual")}
            print(f"{versions}: {len(told[-1]['seen'])} questions read")
        alike = [key for key in told[0]["seen"] if all(one["seen"].get(key) == told[0]["seen"][key] for one in told)]
        same_files = all(each == files[0] for each in files)
        print(f"{len(alike)} of {len(told[0]['seen'])} alike in {len(told)} environments: layout, netlist, verdicts")
        print(f"sets prepared in each: {'the same bytes' if same_files else 'they differ'}")
        return 0 if len(alike) == len(told[0]["seen"]) and same_files else 1


if __name__ == "__main__":
    if len(sys.argv) < 3:
        raise SystemExit(__doc__)
    raise SystemExit(main(sys.argv[1:]))
