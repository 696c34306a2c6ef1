"""Measure a handout of 40 questions with its legends: pages, CPU seconds, KiB. Wanted for 20 pages: 1 s, 200 KiB."""

import time
from pathlib import Path
from tempfile import TemporaryDirectory

from layoutdrill.workshop.handout import write_handout, write_key
from layoutdrill.workshop.prepare import Wanted, prepare


def main() -> None:
    """Print a line for the sheets, one for the key."""
    made = prepare("first-gates", Wanted(count=40, minutes=0, seed=5))
    with TemporaryDirectory() as folder:
        for name, write in (("sheets", write_handout), ("key", write_key)):
            path = Path(folder) / f"{name}.pdf"
            start = time.process_time()
            pages = write(made, path)
            print(f"{name}: {pages} pages, {time.process_time() - start:.2f} s, {path.stat().st_size / 1024:.0f} KiB")


if __name__ == "__main__":
    main()
