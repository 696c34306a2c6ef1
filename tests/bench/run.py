"""Run every benchmark, or those named, and print their tables: `python tests/bench/run.py [extract compare …]`.

Each benchmark is a file `bench_NAME.py` beside this one whose `main()` prints a table. Each runs in an interpreter of
its own, so that one benchmark's memory is not charged to the next.
"""

import os
import platform
import subprocess
import sys
from pathlib import Path

HERE = Path(__file__).parent


def main(names: list[str]) -> int:
    """Run the benchmarks; return how many failed."""
    known = {path.stem.removeprefix("bench_"): path for path in sorted(HERE.glob("bench_*.py"))}
    unknown = [name for name in names if name not in known]
    if unknown:
        print(f"no benchmark {', '.join(unknown)}; there are: {', '.join(known)}", file=sys.stderr)
        return 2
    print(
        f"{platform.python_implementation()} {platform.python_version()}, {platform.machine()}, {os.cpu_count()} cores"
    )
    failed = 0
    for name in names or known:
        print(f"\n## {name}", flush=True)
        failed += subprocess.run([sys.executable, str(known[name])], check=False).returncode != 0
    return failed


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
