"""
Keep what each look shows of each process that ships, so that a learner need not wait for it to be worked out.

An entry is found by a digest of all that the result rests on: the look, the layers, regions, transistors and films of
the process, and the source of the modules that draw. Whatever has changed since, or is an author's own, has no entry,
and is worked out anew. `python -m tests.bench.keep_evidence` writes the file.
"""

import json
from functools import cache
from hashlib import blake2b
from pathlib import Path

from layoutdrill.locations import PACKAGE
from layoutdrill.picture.looks import Look
from layoutdrill.process import Process
from layoutdrill.process.films import load_films

FILE = Path(__file__).with_name("evidence.json")

ENGINE = (
    "picture/aid.py",
    "picture/camera.py",
    "picture/colour.py",
    "picture/corners.py",
    "picture/die.py",
    "picture/dirt.py",
    "picture/evidence.py",
    "picture/grain.py",
    "picture/ground.py",
    "picture/layers.py",
    "picture/lens.py",
    "picture/looks.py",
    "picture/masks.py",
    "picture/materials.py",
    "picture/microscope.py",
    "picture/objectives.py",
    "picture/optics.py",
    "picture/painted.py",
    "picture/palette.py",
    "picture/pen.py",
    "picture/perception.py",
    "picture/relief.py",
    "picture/render.py",
    "picture/shot.py",
    "picture/slopes.py",
    "picture/spread.py",
    "picture/stages.py",
    "picture/surface.py",
    "picture/view.py",
    "picture/wear.py",
    "process/expression.py",
    "process/films.py",
    "process/terms.py",
)
"""The modules that a picture comes from, in the package's folder."""


def digest(look: Look, process: Process) -> str:
    """Return the digest of all that the facts shown rest on, "" where the package's source is not at hand."""
    engine = _engine()
    if not engine:
        return ""
    shown = (look.style.value, look.ground, look.paints, sorted(look.settings.items()))
    layers = [(name, layer.role) for name, layer in process.layers.items()]
    rules = (process.grid_nm, process.grid_per_lambda, list(process.regions.items()), process.transistors)
    text = repr((engine, shown, layers, rules, load_films(process)))
    return blake2b(text.encode(), digest_size=12).hexdigest()


@cache
def _engine() -> str:
    summed = blake2b(digest_size=12)
    for name in ENGINE:
        try:
            text = (PACKAGE / name).read_bytes()
        except OSError:
            return ""
        summed.update(text.replace(b"\r\n", b"\n"))
    return summed.hexdigest()


@cache
def _entries() -> dict[str, tuple[str, ...]]:
    """Return the facts by digest; a file that is missing or damaged has none."""
    try:
        rows = json.loads(FILE.read_text("utf-8"))
        return {str(row["digest"]): tuple(str(fact) for fact in row["shows"]) for row in rows}
    except (OSError, ValueError, KeyError, TypeError):
        return {}


def kept(look: Look, process: Process) -> tuple[str, ...] | None:
    """Return the facts (by their values) that were worked out for this very look and process, None where none were."""
    return _entries().get(digest(look, process))
