"""Print how bombs are refused, and how many inputs of each fuzzer fail: python tests/bench/run.py hostile."""

import os
import resource
import subprocess
import sys
import tempfile
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[2]))

from tests.hostile.bombs import bombs, heavy, put
from tests.hostile.fuzz import FUZZERS, failures
from tests.hostile.kills import lost

KILLS = 200
COUNTS = {"decks": 5000, "GDSII": 3000, "SPICE": 3000, "equations": 5000, "records": 300, "keys": 200}


def measured(bomb, folder):
    """Run a bomb's command in a process of its own; return seconds of processor time, MB, exit code, what it said."""
    put(bomb.files, folder)
    words = [str(folder / word) if word in bomb.files or word == "o.png" else word for word in bomb.command]
    code = "import sys; from layoutdrill.cli import main; c = main(sys.argv[1:]); import os; t = os.times(); "
    code += "peak = [x.split()[1] for x in open('/proc/self/status') if x.startswith('VmHWM')][0]; "
    code += "print('PEAK', t.user + t.system, peak, file=sys.stderr); sys.exit(c)"
    try:
        done = subprocess.run(
            [sys.executable, "-c", code, *words], capture_output=True, timeout=120, check=False, text=True
        )
    except subprocess.TimeoutExpired:
        return 120.0, 0.0, -1, "over two minutes"
    said, _, told = (done.stdout + done.stderr).rpartition("PEAK ")
    seconds, peak = told.split() if said or told else ("0", "0")
    return float(seconds), int(peak) / 1024, done.returncode, said


def main(share=1.0):
    """Print both tables; `share` of the usual counts."""
    with tempfile.TemporaryDirectory() as place:
        folder = Path(place)
        for title, group in (("refused", bombs()), ("within the bounds", heavy())):
            print(f"{title:26} {'CPU s':>6} {'MB':>6} code")
            for bomb in group:
                seconds, peak, code, said = measured(bomb, folder)
                right = "" if bomb.wanted in said and code == bomb.code else "  NOT AS WANTED"
                line = said.strip().splitlines()[0][:90] if said.strip() else ""
                print(f"  {bomb.name:24} {seconds:6.2f} {peak:6.0f} {code:4}  {line}{right}", flush=True)
        for name in FUZZERS:
            count = max(1, int(COUNTS[name] * share))
            began = time.monotonic()
            found = failures(name, range(count), folder)
            print(f"{name:10} {count:6} inputs, {len(found)} failures, {time.monotonic() - began:.0f} s", flush=True)
            for seed, words in found[:5]:
                print(f"  seed {seed}: {words}")
        for plain in (True, False):
            count = max(1, int(KILLS * share))
            missing, told = lost(count, folder / f"kills-{plain}", plain=plain)
            print(f"{count} kills {'in plain mode' if plain else 'in the app'}: {told} answers told, {missing} lost")


if __name__ == "__main__":
    resource.setrlimit(resource.RLIMIT_AS, (4 << 30, 4 << 30))
    main(float(os.environ.get("SHARE", "1")))
