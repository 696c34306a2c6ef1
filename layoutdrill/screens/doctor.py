"""Say what this terminal and installation offer, and what to do where something is lacking. Starts no screen."""

import os
import platform
import shutil
import sys
from collections.abc import Mapping
from importlib.metadata import PackageNotFoundError, version
from importlib.util import find_spec
from pathlib import Path

from layoutdrill import __version__
from layoutdrill.locations import cache_folder, data_folder, records_file, settings_file, shipped

NEED = (60, 20)
PARTS = (
    ("textual", ""),
    ("pillow", ""),
    ("pyyaml", ""),
    ("platformdirs", ""),
    ("gdstk", "gds"),
    ("reportlab", "print"),
)
ASIDE = "  → "


def report(environment: Mapping[str, str] | None = None, size: tuple[int, int] | None = None) -> str:
    """Return the report, one fact a line, remedies set off by an arrow."""
    env = os.environ if environment is None else environment
    shown = size or tuple(shutil.get_terminal_size((0, 0)))
    lines = [f"layoutdrill {__version__}, Python {platform.python_version()} on {platform.system()}"]
    lines += _terminal(env, (shown[0], shown[1]))
    lines += _folders()
    lines += _libraries()
    return "\n".join(lines)


def colours(env: Mapping[str, str]) -> str:
    """Say how many colours the terminal promises, from its variables (common practice)."""
    term = env.get("TERM", "")
    if "NO_COLOR" in env:
        return "grey only, as NO_COLOR asks"
    if term in ("", "dumb"):
        return "none"
    if env.get("COLORTERM", "").lower() in ("truecolor", "24bit") or term.endswith("-direct"):
        return "true colour"
    return "256" if "256" in term else "16"


def _terminal(env: Mapping[str, str], size: tuple[int, int]) -> list[str]:
    term = env.get("TERM", "")
    lines = [f"terminal: {term or 'unnamed'}, {size[0]} × {size[1]}, colours: {colours(env)}"]
    if term in ("", "dumb"):
        lines.append(ASIDE + "no pictures here; add --plain to a drill")
    elif colours(env) == "16":
        lines.append(ASIDE + "pictures come in the plainest look; if the terminal can do more, set COLORTERM=truecolor")
    if size[0] < NEED[0] or size[1] < NEED[1]:
        lines.append(ASIDE + f"the drill wants {NEED[0]} × {NEED[1]} or more; 120 × 40 shows the question beside it")
    for name, stream in (("standard input", sys.stdin), ("standard output", sys.stdout)):
        if stream is None or not stream.isatty():
            lines.append(f"{name} is no terminal")
    encoding = (getattr(sys.stdout, "encoding", "") or "unknown").lower()
    lines.append(f"text encoding: {encoding}")
    if "utf" not in encoding:
        lines.append(ASIDE + "half-blocks need UTF-8; set PYTHONUTF8=1 or a UTF-8 locale")
    return lines


def _folders() -> list[str]:
    lines = []
    for name, path in (("data", data_folder()), ("cache", cache_folder())):
        lines.append(f"{name} folder: {path} ({_state(path)})")
    for name, path in (("records", records_file()), ("settings", settings_file())):
        lines.append(f"{name}: {path} ({'there' if path.is_file() else 'not yet'})")
    for room in ("decks", "art"):
        path = shipped(room)
        lines.append(f"{room}: {path}" + ("" if path.is_dir() else " is missing"))
        if not path.is_dir():
            lines.append(ASIDE + "the installation is incomplete; install layoutdrill again")
    return lines


def _state(path: Path) -> str:
    near = next((place for place in (path, *path.parents) if place.exists()), path)
    if not os.access(near, os.W_OK):
        return "cannot be written; set LAYOUTDRILL_HOME to a folder of your own"
    return "can be written" if path.is_dir() else "made when first needed"


def _libraries() -> list[str]:
    lines = []
    for name, extra in PARTS:
        try:
            lines.append(f"{name} {version(name)}")
        except PackageNotFoundError:
            lines.append(f"{name} is not installed" + (f' (extra "{extra}", only for some commands)' if extra else ""))
            if not extra:
                lines.append(ASIDE + f"pip install {name}")
    if find_spec("textual") is None:
        lines.append(ASIDE + "without textual only --plain works")
    return lines
