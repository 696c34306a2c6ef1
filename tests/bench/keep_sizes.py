"""
Work out how large the library's structures are in each process that ships, and write it to the package's file.

Run as `python -m tests.bench.keep_sizes` when a cell or a process has changed.
"""

import json
import sys

from layoutdrill.process import process_names
from layoutdrill.question.library_sizes import FILE, digest, work_out_names, work_out_sizes


def text() -> str:
    """Return the file's text: a line for each process."""
    lines = (f"{json.dumps(name)}: {json.dumps(work_out_sizes(name))}" for name in process_names())
    names = json.dumps(work_out_names(), ensure_ascii=False)
    sizes = ",\n".join(lines)
    return f'{{"digest": "{digest()}",\n"sizes": {{\n{sizes}}},\n"other names": {names}}}\n'


def main() -> int:
    FILE.write_text(text(), "utf-8")
    print(f"wrote {FILE}")
    return 0


if __name__ == "__main__":
    sys.exit(main())
