"""
Photograph the app in terminals that show images, kitty for the graphics protocol, xterm for sixels.

`python tests/screens/shoot_fine.py` remakes art/screens/fine-*.png. Needs Xvfb, ImageMagick's `import`, kitty, xterm.
"""

import os
import shutil
import signal
import subprocess
import sys
import tempfile
import time
from contextlib import suppress
from pathlib import Path

from PIL import Image, ImageChops

ROOT = Path(__file__).resolve().parents[2]
DISPLAY = ":87"
COLUMNS, ROWS = 120, 40
APP = f"exec env TERM=xterm-256color COLORTERM=truecolor {sys.executable} -m layoutdrill drill first-gates --seed 2"
TERMINALS = {
    "kitty": [
        "kitty", "--config=NONE", "-o", "font_size=10", "-o", "remember_window_size=no",
        "-o", f"initial_window_width={COLUMNS}c", "-o", f"initial_window_height={ROWS}c",
        "-o", "hide_window_decorations=yes", "-o", "update_check_interval=0",
    ],
    "sixel": [
        "xterm", "-ti", "vt340", "-xrm", "xterm*decGraphicsID: vt340", "-xrm", "xterm*numColorRegisters: 1024",
        "-fa", "DejaVu Sans Mono", "-fs", "9", "-geometry", f"{COLUMNS}x{ROWS}+0+0", "-b", "0", "-bw", "0", "+sb",
        "-fg", "white", "-bg", "#0b0b0b",
    ],
}  # fmt: skip
"""The command of each terminal, at its own default settings but for its size; what it runs comes last."""
DRAWN = 25
"""Seconds for the app to start, ask the terminal, draw, and send the fine picture."""


def photograph(name, folder, home):
    """Run the app in one terminal, wait, and keep what stands on the screen, without the margin of the screen."""
    shutil.rmtree(home, ignore_errors=True)
    home.mkdir()
    (home / "settings.yaml").write_text("pictures: fine\n")
    own = {"DISPLAY": DISPLAY, "LAYOUTDRILL_HOME": str(home), "COLORTERM": "truecolor", "LIBGL_ALWAYS_SOFTWARE": "1"}
    away = ("TMUX", "SSH_CONNECTION", "SSH_TTY", "WAYLAND_DISPLAY")
    environment = {**{key: text for key, text in os.environ.items() if key not in away}, **own}
    run = ["-e"] if name == "sixel" else []
    number = home / "number"  # the app's, as a terminal that is ended may leave it running
    command = [*TERMINALS[name], *run, "sh", "-c", f"echo $$ > {number}; {APP}"]
    terminal = subprocess.Popen(command, env=environment, stderr=subprocess.DEVNULL)
    try:
        time.sleep(DRAWN)
        shot = home / "shot.png"
        subprocess.run(["import", "-window", "root", str(shot)], env=environment, check=True)
        with Image.open(shot) as whole:
            image = whole.convert("RGB")
        box = ImageChops.difference(image, Image.new("RGB", image.size, image.getpixel((image.width - 1, 0)))).getbbox()
        if box is None:
            raise SystemExit(f"{name}: nothing came onto the screen")
        path = folder / f"fine-{name}-{COLUMNS}x{ROWS}.png"
        image.crop(box).save(path, optimize=True)
        print(path)
    finally:
        terminal.terminate()
        terminal.wait(10)
        with suppress(ProcessLookupError, FileNotFoundError):
            os.kill(int(number.read_text()), signal.SIGTERM)


def main():
    screen = subprocess.Popen(["Xvfb", DISPLAY, "-screen", "0", "1400x900x24"], stderr=subprocess.DEVNULL)
    try:
        time.sleep(2)
        with tempfile.TemporaryDirectory() as home:
            for name in TERMINALS:
                photograph(name, ROOT / "art" / "screens", Path(home) / "home")
    finally:
        screen.terminate()
        screen.wait(10)


if __name__ == "__main__":
    main()
