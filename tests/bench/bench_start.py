"""
Measure the app as a user meets it: the real command in a pseudo-terminal, timed from outside.

Start: `--version`; first paint and first question of a drill, warm and with no bytecode (a fresh cache folder, as on
the first run after an installation); the list of home. Frames: CPU time and bytes written for one pan, photographic
look. Times are medians; CPU times are the least of several runs, as other work on the machine only adds to them. The
ratio is that CPU time by that of `import textual.app` alone, which ran in between: it holds on any machine.

`ratio` prints the ratios alone, `die` what a pan costs on a whole die.
"""

import fcntl
import os
import pty
import select
import struct
import subprocess
import sys
import tempfile
import termios
import time
from contextlib import suppress
from statistics import median

DECK = "first-gates"


class Child:
    """The command in a pseudo-terminal of a given size."""

    def __init__(self, words, columns, rows, **env):
        self.began = time.perf_counter()
        self.pid, self.file = pty.fork()
        if not self.pid:
            settings = {**os.environ, "TERM": "xterm-256color", "COLORTERM": "truecolor", **env}
            settings.pop("NO_COLOR", None)
            settings.pop("PYTHONDONTWRITEBYTECODE", None)
            os.execvpe(sys.executable, [sys.executable, "-m", "layoutdrill", *words], settings)
        fcntl.ioctl(self.file, termios.TIOCSWINSZ, struct.pack("HHHH", rows, columns, 0, 0))
        self.seen = bytearray()

    def read(self, seconds):
        """Read what comes within the time; return how many bytes."""
        end, got = time.perf_counter() + seconds, 0
        while (left := end - time.perf_counter()) > 0:
            if not select.select([self.file], [], [], min(left, 0.002))[0]:
                continue
            try:
                part = os.read(self.file, 1 << 16)
            except OSError:
                break
            got += len(part)
            self.seen += part
        return got

    def until(self, *words, seconds=30):
        """Return the ms from the start until all the words have been written."""
        end = time.perf_counter() + seconds
        while time.perf_counter() < end:
            self.read(0.002)
            if all(word.encode() in self.seen for word in words):
                return (time.perf_counter() - self.began) * 1000
        raise SystemExit(f"{words} never came")

    def cpu_ms(self):
        return (
            time.clock_gettime(~self.pid << 3 | 2) * 1000
        )  # the clock of that process, as clock_getcpuclockid(3) names it

    def write(self, keys):
        os.write(self.file, keys)

    def close(self):
        self.write(b"\x11")
        self.read(0.3)
        with suppress(ProcessLookupError):
            os.kill(self.pid, 9)
        os.waitpid(self.pid, 0)
        os.close(self.file)


def library_cpu_ms():
    """Return the CPU time of the terminal library's import, the interpreter with it."""
    command = [sys.executable, "-c", "import textual.app"]
    pid = os.posix_spawn(
        sys.executable, command, {k: v for k, v in os.environ.items() if k != "PYTHONDONTWRITEBYTECODE"}
    )
    used = os.wait4(pid, 0)[2]
    return (used.ru_utime + used.ru_stime) * 1000


def ratios(home, runs=8):
    """Print the CPU time of the first question and of home as ratios to the library's import, all three in turns."""
    rows = []
    for seed in range(1, runs + 2):
        # One question: no other is prepared in the background while we look away.
        drill = Child(["drill", DECK, "--count", "1", "--seed", str(seed)], 120, 40, LAYOUTDRILL_HOME=home)
        drill.until("hint", "▀")
        question = drill.cpu_ms()
        drill.close()
        rows.append((library_cpu_ms(), question, home_ms(home)[1]))
    library, question, listed = (min(row[at] for row in rows[1:]) for at in range(3))
    print(f"{'import textual.app (CPU ms), least':44} {library:12.0f}")
    print(f"{'first question (CPU ms), least; ratio':44} {question:12.0f} {question / library:6.2f} {'1.5':>10}")
    print(f"{'home (CPU ms), least; ratio':44} {listed:12.0f} {listed / library:6.2f}")


def version_ms():
    start = time.perf_counter()
    subprocess.run([sys.executable, "-m", "layoutdrill", "--version"], check=True, capture_output=True)
    return (time.perf_counter() - start) * 1000


def start_ms(home, seed, **env):
    child = Child(["drill", DECK, "--seed", str(seed)], 120, 40, LAYOUTDRILL_HOME=home, **env)
    paint = child.until("1 of")
    question = child.until("hint", "▀")
    cpu = child.cpu_ms()
    child.close()
    return paint, question, cpu


def home_ms(home, *words):
    """Return the ms and the CPU ms until the list of home stands: one of its headings, or the words, can be read."""
    child = Child([], 120, 40, LAYOUTDRILL_HOME=home)
    listed = child.until(*(words or ("Syllabus",)))
    cpu = child.cpu_ms()
    child.close()
    return listed, cpu


def frame(home, columns, rows, pans=40, words=("drill", DECK, "--seed", "4"), first=b""):
    """
    Return CPU ms and KiB of one pan at 6 half-pixels per λ, or of a whole die as close as that leads; `first` are keys
    that leave the line of text where the question begins in one.
    """
    child = Child([*words], columns, rows, LAYOUTDRILL_HOME=home)
    child.until("hint", "▀")
    child.write(first)
    child.read(0.5)
    for _ in range(6):
        child.write(b"+")
        child.read(0.4)
    sums = []
    for way, back in ((b"\x1b[C", b"\x1b[D"), (b"\x1b[B", b"\x1b[A")):
        cpu, got = child.cpu_ms(), 0
        for at in range(pans):
            child.write(way if at // 3 % 2 else back)
            got += child.read(0.08)
        sums.append(((child.cpu_ms() - cpu) / pans, got / pans / 1024))
    child.close()
    if not max(s[1] for s in sums):
        raise SystemExit(f"no picture was moved: {' '.join(words)} begins otherwise than thought")
    return max(s[0] for s in sums), max(s[1] for s in sums)


DIE = ("survey", "begin", "message_buffer", "--process", "metal-gate-sapphire", "--seed", "3")
"""A sitting that begins with a question on a whole die."""


def die_frames(home):
    """Print what a pan costs on a whole die, beside the same goals."""
    for columns, rows, most, size in ((120, 40, 12, 200), (200, 60, 25, 450)):
        cpu, kib = frame(home, columns, rows, words=DIE, first=b"\x1b")
        name = f"one pan on a whole die at {columns}×{rows}"
        print(f"{name + ' (CPU ms)':44} {cpu:12.1f} {most:10}")
        print(f"{name + ' (KiB)':44} {kib:12.0f} {size:10}")


def tell(how, found, aim):
    """Print medians; the CPU time says what the machine's other work cannot blur."""
    print(f"{'first paint, ' + how + ' (ms)':44} {median(f[0] for f in found):12.0f} {'':>10}")
    print(f"{'first question with its picture, ' + how + ' (ms)':44} {median(f[1] for f in found):12.0f} {aim:10}")
    print(f"{'  of that CPU (ms), least':44} {min(f[2] for f in found):12.0f} {'':>10}")


def main():
    with tempfile.TemporaryDirectory() as folder:
        os.environ["PYTHONPYCACHEPREFIX"] = folder + "/bytecode"  # our own, so that warm is warm
        print(f"{'what':44} {'reached':>12} {'aim':>10}")
        print(f"{'--version, warm (ms)':44} {median(version_ms() for _ in range(7)):12.0f} {60:10}")
        ratios(folder)
        warm = [start_ms(folder, seed) for seed in range(1, 8)][1:]
        tell("warm", warm, 350)
        found = [home_ms(folder) for _ in range(6)][1:]
        print(f"{'home with its list, warm (ms)':44} {median(f[0] for f in found):12.0f} {'':>10}")
        print(f"{'  of that CPU (ms), least':44} {min(f[1] for f in found):12.0f} {'':>10}")
        cold = []
        for seed in range(1, 4):
            with tempfile.TemporaryDirectory() as cache:
                cold.append(start_ms(folder, seed, PYTHONPYCACHEPREFIX=cache))
        tell("no bytecode", cold, 1200)
        for columns, rows, most, size in ((120, 40, 12, 200), (200, 60, 25, 450)):
            cpu, kib = frame(folder, columns, rows)
            name = f"one pan at {columns}×{rows}"
            print(f"{name + ' (CPU ms)':44} {cpu:12.1f} {most:10}")
            print(f"{name + ' (KiB)':44} {kib:12.0f} {size:10}")


if __name__ == "__main__":
    if sys.argv[1:] == ["ratio"]:
        with tempfile.TemporaryDirectory() as folder:
            os.environ["PYTHONPYCACHEPREFIX"] = folder + "/bytecode"
            ratios(folder)
    elif sys.argv[1:] == ["die"]:
        with tempfile.TemporaryDirectory() as folder:
            die_frames(folder)
    else:
        main()
