"""
Processes and looks that a deck brings along: a file beside it, which goes by its stem and a digest of what it says.

So a name means the same on every machine, an edit is another name, and what was asked in one stays what it was: a copy
is kept with the records, which know it by that name.
"""

import re
from hashlib import blake2b
from pathlib import Path

from layoutdrill.errors import LayoutdrillError, Where
from layoutdrill.intake import read_bytes
from layoutdrill.locations import data_folder
from layoutdrill.outlet import write_whole

MOST_BYTES = 100_000
"""Of such a file; the longest that ships has 7,000."""
_NAME = re.compile(r"[A-Za-z0-9][A-Za-z0-9_-]{0,63}@[0-9a-f]{12}\Z")
_STEM = re.compile(r"[A-Za-z0-9][A-Za-z0-9_-]{0,63}\Z")
_BESIDE: dict[str, Path] = {}
"""Where each name was met in this run."""


def is_brought(name: str) -> bool:
    """Tell whether a name is that of a file which a deck brought."""
    return _NAME.match(name) is not None


def name_of(path: Path) -> str:
    """Return the name that a file goes by. Raises LayoutdrillError where it cannot be read or is too large."""
    if not _STEM.match(path.stem):
        raise LayoutdrillError(
            f"“{path.stem}” is no name for such a file", where=Where(str(path)), todo="use letters, figures, - and _"
        )
    name = f"{path.stem}@{blake2b(read_bytes(path, MOST_BYTES), digest_size=6).hexdigest()}"
    _BESIDE[name] = path
    return name


def file_of(name: str) -> Path:
    """Return where a file that was brought lies. Raises LayoutdrillError where nothing is left of it."""
    kept = _kept(name)
    if kept.is_file():
        return kept
    if name in _BESIDE:
        return _BESIDE[name]
    stem = name.partition("@")[0]
    raise LayoutdrillError(f'"{stem}" came with a deck, and is gone', todo="open that deck once more")


def beside_of(name: str) -> Path | None:
    """Return the file that was met under a name in this run, None for one that was not."""
    return _BESIDE.get(name)


def keep(name: str) -> None:
    """Keep a copy with the records. Raises OSError."""
    kept = _kept(name)
    if not kept.is_file():
        data = read_bytes(_BESIDE[name], MOST_BYTES)
        kept.parent.mkdir(parents=True, exist_ok=True)
        write_whole(kept, data)


def _kept(name: str) -> Path:
    return data_folder() / "brought" / f"{name}.yaml"
