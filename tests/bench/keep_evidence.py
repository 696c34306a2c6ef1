"""
Work out what each look that ships shows of each process that ships, and write it to the package's file.

Run as `python -m tests.bench.keep_evidence` when a look, a process or the drawing of pictures has changed.
"""

import json
import sys

from layoutdrill.picture.evidence import work_out
from layoutdrill.picture.evidence_kept import FILE, digest
from layoutdrill.picture.looks import load_look, look_names
from layoutdrill.process import load_process, process_names


def row(process_name: str, look_name: str) -> str:
    """Return the line of a process and a look."""
    process, look = load_process(process_name), load_look(look_name)
    shows = sorted(fact.value for fact in work_out(look, process))
    return json.dumps({"process": process_name, "look": look_name, "digest": digest(look, process), "shows": shows})


def text() -> str:
    """Return the file's text: a line for each look and process."""
    rows = [row(process, look) for process in process_names() for look in look_names()]
    return "[\n" + ",\n".join(rows) + "\n]\n"


def main() -> int:
    FILE.write_text(text(), "utf-8")
    print(f"wrote {FILE}")
    return 0


if __name__ == "__main__":
    sys.exit(main())
