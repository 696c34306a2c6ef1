"""Read every YAML file of a checkout once, for the wheel to bring along what was read."""

from pathlib import Path

from layoutdrill.yamldoc.document import loads
from layoutdrill.yamldoc.kept import built_name, entry

FOLDERS = ("layoutdrill", "decks", "art/looks")
"""Where the files that ship lie in a checkout."""


def write_entries(root: Path, folder: Path) -> int:
    """Write the entries of all files below `root` that ship; return how many."""
    files = sorted(path for name in FOLDERS for path in (root / name).rglob("*.yaml"))
    for path in files:
        data = path.read_bytes()
        (folder / built_name(path, data)).write_bytes(entry(data, loads(data, path.name).root))
    return len(files)
