"""
Run every test that in an everyday run takes some of its cases, with all of them: what `tests/sampling.py` leaves out.

Takes about half an hour on two cores. Prints a line for each file: cases, failures, seconds.
"""

import os
import subprocess
import sys
import time
from pathlib import Path

TESTS = Path(__file__).parents[1]


def sampled():
    """Return the files of tests that take some of their cases."""
    return sorted(path for path in TESTS.rglob("test_*.py") if "tests.sampling" in path.read_text("utf-8"))


def main():
    everything = {**os.environ, "LAYOUTDRILL_SWEEPS": "all"}
    failed = 0
    for path in sampled():
        start = time.monotonic()
        command = [sys.executable, "-m", "pytest", "-v", "--no-header", "-p", "no:cacheprovider", str(path)]
        done = subprocess.run(command, env=everything, cwd=TESTS.parent, capture_output=True, text=True, check=False)
        last = done.stdout.strip().splitlines()[-1:] or [done.stderr.strip()[-200:]]
        failed += done.returncode != 0
        print(f"{path.relative_to(TESTS)!s:45} {time.monotonic() - start:6.0f} s  {last[0]}", flush=True)
        if done.returncode:
            print(done.stdout[-3000:])
    print(f"{failed or 'no'} files with failures")
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main())
