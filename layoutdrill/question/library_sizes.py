"""
Keep how large the library's structures are in each process that ships, and by what other names its cells go.

Both need every cell of the library built; a question of a name needs little else. What is kept holds for the very
bytes of the library's and the processes' files; where these are others, it is worked out anew.
`python -m tests.bench.keep_sizes` writes the file.
"""

import json
from functools import cache
from hashlib import blake2b
from pathlib import Path
from typing import Any

from layoutdrill.cells.library import DATA as CELLS
from layoutdrill.cells.library import library
from layoutdrill.process import load_process, process_names
from layoutdrill.process.load import DATA as PROCESSES
from layoutdrill.question.naming import canonical_structure

FILE = Path(__file__).with_name("library_sizes.json")


def sizes(process: str) -> dict[str, int]:
    """Return the structures that a shipped process can build, each with its smallest transistor count; else none."""
    if process not in process_names():
        return {}
    known = _kept().get("sizes", {}).get(process)
    return known if known is not None else work_out_sizes(process)


@cache
def other_names() -> tuple[tuple[str, tuple[str, ...]], ...]:
    """Return the structure and the canonical aliases of each cell that has any, in the order of the library."""
    known = _kept().get("other names")
    return tuple((structure, tuple(names)) for structure, names in known) if known is not None else work_out_names()


@cache
def work_out_sizes(process: str) -> dict[str, int]:
    made = load_process(process)
    found: dict[str, int] = {}
    for cell in library().values():
        if cell.fits(made):
            count, name = cell.netlist(made).count(), canonical_structure(cell.structure)
            found[name] = min(count, found.get(name, count))
    return found


@cache
def work_out_names() -> tuple[tuple[str, tuple[str, ...]], ...]:
    rows = ((cell.structure, tuple(map(canonical_structure, cell.aliases))) for cell in library().values())
    return tuple(row for row in rows if row[1])


def digest() -> str:
    """Return the digest of the files that the sizes rest on."""
    summed = blake2b(digest_size=12)
    for path in (*sorted(CELLS.glob("*.yaml")), *sorted(PROCESSES.glob("*.yaml"))):
        summed.update(path.read_bytes().replace(b"\r\n", b"\n"))
    return summed.hexdigest()


@cache
def _kept() -> dict[str, Any]:
    """Return what is kept of the files as they are; nothing where the file is missing, damaged or of other files."""
    try:
        told: dict[str, Any] = json.loads(FILE.read_text("utf-8"))
        return told if told["digest"] == digest() else {}
    except (OSError, ValueError, KeyError, TypeError):
        return {}
