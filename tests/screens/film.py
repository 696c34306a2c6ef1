"""
Film half a minute of drill: run the app in tmux, type keys, and write what the terminal shows as a moving picture.

`python tests/screens/film.py` remakes art/readme/drill.gif. Needs tmux and a monospaced TrueType font.
"""

import sys
import tempfile
from pathlib import Path

from PIL import Image

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from tests.screens.shoot import COMMAND, HIGH, ROOT, WIDE, Terminal, painted

COLUMNS, ROWS = 100, 30
COLOURS = 160
MOST = 1_000_000
"""Bytes."""

# keys, and how long what they lead to stays, in ms
SCRIPT = (
    ((), 2600),
    (("y",), 1600),
    (("y",), 1800),
    (("y",), 1000),
    (("h",), 2200),
    (("a",), 3600),
    (("Enter",), 2200),
    (("+",), 900),
    (("Right", "Right"), 700),
    (("0",), 900),
    (("e",), 2400),
    (("Escape",), 700),
    (("b",), 3400),
    (("Enter",), 2000),
    (("c",), 3200),
    (("p",), 2200),
    (("Escape",), 1200),
)


def main(output):
    """Film, and tell how long and how large it is."""
    with tempfile.TemporaryDirectory() as home:
        terminal = Terminal(
            COLUMNS, ROWS, f"cd {home}; {COMMAND} drill contact-crossing-transistor --seed 2 --count 8",
            COLORTERM="truecolor", LAYOUTDRILL_HOME=home,
        )  # fmt: skip
        frames, times = [], []
        try:
            if not terminal.wait_for("find", 60):
                raise SystemExit("the app did not start")
            terminal.settle()
            terminal.keys("q")  # from the pages to the questions
            terminal.settle()
            for keys, stay in SCRIPT:
                terminal.keys(*keys)
                terminal.settle()
                frames.append(painted(terminal.text(colours=True), COLUMNS, ROWS))
                times.append(stay)
        finally:
            terminal.close()
    strip = Image.new("RGB", (COLUMNS * WIDE, ROWS * HIGH * len(frames)))
    for at, frame in enumerate(frames):
        strip.paste(frame, (0, at * ROWS * HIGH))
    common = strip.quantize(COLOURS, method=Image.Quantize.MAXCOVERAGE, dither=Image.Dither.NONE)
    reduced = [frame.quantize(palette=common, dither=Image.Dither.NONE) for frame in frames]
    reduced[0].save(output, save_all=True, append_images=reduced[1:], duration=times, loop=0, optimize=True)
    size = output.stat().st_size
    print(f"{output}: {len(frames)} frames, {sum(times) / 1000:g} s, {size // 1024} KiB")
    if size > MOST:
        raise SystemExit("too large: fewer frames or colours")


if __name__ == "__main__":
    main(ROOT / "art" / "readme" / "drill.gif")
