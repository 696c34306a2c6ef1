"""
Draw the screens as pictures: run the app in tmux at several sizes, type keys, and paint what the terminal shows.

`python tests/screens/shoot.py` remakes art/screens/*.png. Needs tmux and a monospaced TrueType font.
"""

import itertools
import os
import re
import subprocess
import sys
import time
from pathlib import Path

from PIL import Image, ImageDraw, ImageFont

ROOT = Path(__file__).resolve().parents[2]
FONTS = (
    "/usr/share/fonts/truetype/dejavu/DejaVuSansMono.ttf",
    "/usr/share/fonts/TTF/DejaVuSansMono.ttf",
    "/Library/Fonts/DejaVuSansMono.ttf",
)
WIDE, HIGH = 8, 16
COUNTER = itertools.count()
UNDER_WAY = ("drawing and proving", "reading …")
BASE = [(0, 0, 0), (170, 0, 0), (0, 170, 0), (170, 85, 0), (0, 0, 170), (170, 0, 170), (0, 170, 170), (170, 170, 170)]
BRIGHT = [(min(255, r + 85), min(255, g + 85), min(255, b + 85)) for r, g, b in BASE]


def font():
    for path in (os.environ.get("LAYOUTDRILL_FONT", ""), *FONTS):
        if path and Path(path).is_file():
            return ImageFont.truetype(path, 13)
    raise SystemExit("no DejaVu Sans Mono found; set LAYOUTDRILL_FONT to a monospaced TrueType font")


def colour_256(index):
    if index < 16:
        return (BASE + BRIGHT)[index]
    if index >= 232:
        return (8 + 10 * (index - 232),) * 3
    index -= 16
    steps = (0, 95, 135, 175, 215, 255)
    return steps[index // 36], steps[index // 6 % 6], steps[index % 6]


class Pen:
    """The state of colours while reading escape sequences."""

    def __init__(self):
        self.reset()

    def reset(self):
        self.ink, self.ground, self.bold, self.reverse, self.under = (204, 204, 204), (0, 0, 0), False, False, False

    def read(self, codes):
        codes = [int(c or 0) for c in codes.replace(":", ";").split(";")]
        while codes:
            code = codes.pop(0)
            if code == 0:
                self.reset()
            elif code == 1:
                self.bold = True
            elif code == 22:
                self.bold = False
            elif code == 4:
                self.under = True
            elif code == 24:
                self.under = False
            elif code in (7, 27):
                self.reverse = code == 7
            elif 30 <= code <= 37:
                self.ink = BASE[code - 30]
            elif 90 <= code <= 97:
                self.ink = BRIGHT[code - 90]
            elif 40 <= code <= 47:
                self.ground = BASE[code - 40]
            elif 100 <= code <= 107:
                self.ground = BRIGHT[code - 100]
            elif code == 39:
                self.ink = (204, 204, 204)
            elif code == 49:
                self.ground = (0, 0, 0)
            elif code in (38, 48):
                if codes.pop(0) == 2:
                    colour = tuple(codes[:3])
                    del codes[:3]
                else:
                    colour = colour_256(codes.pop(0))
                if code == 38:
                    self.ink = colour
                else:
                    self.ground = colour


def cells_of(text):
    """Read captured lines into rows of (letter, ink, ground, bold, underlined)."""
    rows, pen = [], Pen()
    for captured in text.split("\n"):
        row, at = [], 0
        while at < len(captured):
            found = re.compile(r"\x1b\[([0-9;:]*)m|\x1b\][^\x1b\x07]*(?:\x1b\\|\x07)|\x1b[()].|\x0f|\x0e").match(
                captured, at
            )
            if found:
                if found.group(1) is not None:
                    pen.read(found.group(1))
                at = found.end()
                continue
            ink, ground = (pen.ground, pen.ink) if pen.reverse else (pen.ink, pen.ground)
            row.append((captured[at], ink, ground, pen.bold, pen.under))
            at += 1
        rows.append(row)
    return rows


def painted(text, columns, rows):
    """Paint captured text; half-blocks are painted as rectangles, as a good terminal does."""
    face = font()
    image = Image.new("RGB", (columns * WIDE, rows * HIGH))
    draw = ImageDraw.Draw(image)
    for y, row in enumerate(cells_of(text)[:rows]):
        for x, (letter, ink, ground, bold, under) in enumerate(row[:columns]):
            box = (x * WIDE, y * HIGH, x * WIDE + WIDE - 1, y * HIGH + HIGH - 1)
            draw.rectangle(box, fill=ground)
            if letter == "█":
                draw.rectangle(box, fill=ink)
            elif letter == "▀":
                draw.rectangle((box[0], box[1], box[2], box[1] + HIGH // 2 - 1), fill=ink)
            elif letter == "▄":
                draw.rectangle((box[0], box[1] + HIGH // 2, box[2], box[3]), fill=ink)
            elif letter != " ":
                draw.text((box[0], box[1]), letter, font=face, fill=ink)
                if bold:
                    draw.text((box[0] + 1, box[1]), letter, font=face, fill=ink)
            if under:
                draw.line((box[0], box[3] - 1, box[2], box[3] - 1), fill=ink)
    return image


class Terminal:
    """A tmux session of its own, on its own socket."""

    def __init__(self, columns, rows, command, **env):
        self.columns, self.rows = columns, rows
        self.socket = f"layoutdrill-{os.getpid()}-{next(COUNTER)}"  # one that ends must not take the next along
        settings = [part for key, value in env.items() for part in ("-e", f"{key}={value}")]
        self.run("-f", "/dev/null", "new-session", "-d", "-x", str(columns), "-y", str(rows), *settings, command)

    def run(self, *words):
        return subprocess.run(["tmux", "-L", self.socket, *words], capture_output=True, text=True, check=False).stdout

    def keys(self, *keys, wait=0.4):
        for key in keys:
            self.run("send-keys", key)
            time.sleep(0.08)
        time.sleep(wait)

    def click(self, column, row, wait=0.4):
        """Press and release the left button on a cell (from 0)."""
        for end in ("M", "m"):
            self.run("send-keys", "-l", f"\x1b[<0;{column + 1};{row + 1}{end}")
        time.sleep(wait)

    def resize(self, columns, rows, wait=0.5):
        self.columns, self.rows = columns, rows
        self.run("resize-window", "-x", str(columns), "-y", str(rows))
        time.sleep(wait)

    def text(self, *, colours=False):
        return self.run("capture-pane", "-p", *(["-e", "-N"] if colours else []))

    def wait_for(self, words, seconds=10):
        end = time.monotonic() + seconds
        while time.monotonic() < end:
            if words in self.text():
                return True
            time.sleep(0.1)
        return False

    def settle(self, seconds=20):
        """Wait until the screen has been still for half a second."""
        end, last, still = time.monotonic() + seconds, None, 0
        while time.monotonic() < end and still < 5:
            time.sleep(0.1)
            now = self.text(colours=True)
            still = still + 1 if now == last and not any(word in now for word in UNDER_WAY) else 0
            last = now

    def shoot(self, path):
        image = painted(self.text(colours=True), self.columns, self.rows)
        image.quantize(256, method=Image.Quantize.MAXCOVERAGE, dither=Image.Dither.NONE).save(path, optimize=True)

    def close(self):
        self.run("kill-server")


COMMAND = f"{sys.executable} -m layoutdrill"
NETLIST = """* a key-matrix row driver, as traced from the die
.subckt row_driver a b c y VDD VSS
MN1 x a VSS VSS nmos L=2u W=4u
MN2 y b x VSS nmos L=2u W=4u
MN3 y c VSS VSS nmos L=2u W=4u
MP1 z a VDD VDD pmos L=2u W=8u
MP2 z b VDD VDD pmos L=2u W=8u
MP3 y c z VDD pmos L=2u W=8u
.ends
"""

# name, columns, rows, theme, prefix of the command, its words, keys
SCENES = (
    ("home-80x24", 80, 24, "lamp", "", "", ()),
    ("home-120x40-daylight", 120, 40, "daylight", "", "", ()),
    ("lesson-build-up-80x24", 80, 24, "daylight", "", "drill under-the-microscope --seed 2", ("n", "n", "n")),
    ("lesson-build-up-120x40", 120, 40, "lamp", "", "drill under-the-microscope --seed 2", ("n", "n", "n", "n")),
    ("lesson-contrast-120x40", 120, 40, "lamp", "", "drill contact-crossing-transistor --seed 2", ("n",)),
    ("lesson-arrays-80x24", 80, 24, "lamp", "", "drill arrays --seed 2", ("n", "n", "n")),
    ("lesson-arrays-120x40", 120, 40, "lamp", "", "drill arrays --seed 2", ()),
    ("page-alone-80x24", 80, 24, "lamp", "", "drill before-the-microscope --seed 2", ()),
    ("compare-parts-80x24", 80, 24, "lamp", "", "drill before-the-microscope --seed 2", ("q",)),
    ("question-80x24", 80, 24, "lamp", "", "drill first-gates --seed 2", ()),
    ("question-120x40", 120, 40, "lamp", "", "drill first-gates --seed 2", ()),
    ("question-120x40-daylight", 120, 40, "daylight", "", "drill first-gates --seed 2", ()),
    ("question-200x60", 200, 60, "lamp", "", "drill switches-and-latches --seed 2", ()),
    ("question-typed-80x24", 80, 24, "lamp", "", "drill first-gates --seed 4", ("5",)),
    ("verdict-80x24", 80, 24, "lamp", "", "drill first-gates --seed 2", ("a",)),
    ("verdict-120x40", 120, 40, "lamp", "", "drill first-gates --seed 2", ("a",)),
    ("closer-120x40", 120, 40, "lamp", "", "drill first-gates --seed 2", ("+", "+", "x", "Right", "Right", "Up")),
    ("side-by-side-120x40", 120, 40, "lamp", "", "drill first-gates --seed 2", ("a", "s")),
    ("explain-120x40", 120, 40, "lamp", "", "", ("explain", "NETLIST")),
    ("help-120x40", 120, 40, "lamp", "", "drill first-gates --seed 2", ("?",)),
    ("grey-120x40", 120, 40, "lamp", "NO_COLOR=1", "drill first-gates --seed 2", ()),
    ("sixteen-colours-120x40", 120, 40, "lamp", "TERM=xterm-16color COLORTERM=", "drill first-gates --seed 2", ()),
    ("legend-100x30", 100, 30, "lamp", "", "drill first-gates --seed 2", ("e",)),
    ("mask-colours-100x30", 100, 30, "lamp", "", "drill first-gates --seed 2", ("y", "y")),
    ("words-80x24", 80, 24, "lamp", "", "drill first-gates --seed 2", ("F5", "v", "i")),
    ("find-80x24", 80, 24, "lamp", "", "", ("C-p", "n", "a", "n", "d")),
    ("rails-page-80x24", 80, 24, "lamp", "", "drill rails --seed 2", ("n",)),
    ("taps-page-80x24", 80, 24, "lamp", "", "drill rails --seed 2", ("n",) * 5),
    ("inverter-page-80x24", 80, 24, "lamp", "", "drill inverter --seed 2", ("n",)),
    ("microscope-page-120x40", 120, 40, "lamp", "", "drill under-the-microscope --seed 2", ("n",) * 6),
    ("ring-80x24", 80, 24, "lamp", "", "drill contact-crossing-transistor --seed 2 --count 8", ("q", "a")),
    ("far-80x24", 80, 24, "lamp", "", "drill contact-crossing-transistor --seed 2 --count 8", ("q", "+", "+", "Right")),
    ("jumped-80x24", 80, 24, "lamp", "", "drill contact-crossing-transistor --seed 2 --count 8", ("q", "+", "+", "j")),
    ("look-back-100x30", 100, 30, "lamp", "", "drill first-gates --seed 2", ("a", "Enter", "F6")),
    ("ended-100x30", 100, 30, "lamp", "", "drill rails --seed 2 --count 1", ("q", "Escape", "g", "Enter")),
    ("look-again-100x30", 100, 30, "lamp", "", "drill rails --seed 2 --count 1", ("q", "Escape", "g", "Enter", "r")),
    ("crosshair-100x30", 100, 30, "lamp", "", "drill inverter --seed 2", ("q", "x")),
    ("survey-120x40", 120, 40, "lamp", "", "survey begin message_buffer --process metal-gate-sapphire --seed 3", ()),
    ("too-small", 50, 15, "lamp", "", "drill first-gates --seed 2", ()),
)


def scene(folder, home, name, columns, rows, theme, prefix, words, keys):
    """Run the app, press the keys, paint the screen."""
    for old in home.glob("*"):
        old.unlink()
    (home / "settings.yaml").write_text(f"theme: {theme}\n")
    (home / "row-driver.sp").write_text(NETLIST)
    terminal = Terminal(
        columns, rows, f"cd {home}; env {prefix} {COMMAND} {words}", COLORTERM="truecolor", LAYOUTDRILL_HOME=home
    )
    try:
        if not terminal.wait_for("find" if name != "too-small" else "Make it", 40):
            raise SystemExit(f"{name}: the app did not start")
        if not words:
            terminal.wait_for("Syllabus", 20)
        terminal.settle()
        for key in keys:
            if key == "explain":
                terminal.keys("End", "Up", "Up", "Up", "Enter")
                terminal.wait_for("a file of your own")
            elif key == "NETLIST":
                terminal.run("send-keys", "-l", "row-driver.sp")
                terminal.keys("Enter")
            else:
                terminal.keys(key)
            terminal.settle()
        terminal.shoot(folder / f"{name}.png")
    finally:
        terminal.close()


def main(wanted):
    import tempfile

    folder = ROOT / "art" / "screens"
    folder.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory() as home:
        for each in SCENES:
            if not wanted or each[0] in wanted:
                scene(folder, Path(home), *each)
                print(folder / f"{each[0]}.png")


if __name__ == "__main__":
    main(sys.argv[1:])
