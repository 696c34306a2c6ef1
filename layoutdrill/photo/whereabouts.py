"""Remember where pictures lie, by their hash, so that an old answer is seen on its photograph again."""

from contextlib import suppress
from pathlib import Path

from layoutdrill.locations import data_folder
from layoutdrill.photo.model import Picture

LONGEST = 4096


def _note(sha256: str) -> Path:
    return data_folder() / "photographs" / sha256


def remember(picture: Picture, path: Path) -> None:
    """Note where a picture lies; where that cannot be written, nothing is lost but a picture behind an old answer."""
    if not picture.sha256:
        return
    note, status = _note(picture.sha256), str(path.resolve())
    with suppress(OSError, UnicodeError):
        if not note.is_file() or note.read_text(encoding="utf-8") != status:
            note.parent.mkdir(parents=True, exist_ok=True)
            note.write_text(status, encoding="utf-8")


def whereabouts(picture: Picture, folder: Path) -> Path:
    """Return the path of a picture: beside its marks, or where it was seen last."""
    beside = folder / picture.file
    if beside.is_file() or not picture.sha256:
        return beside
    with suppress(OSError, UnicodeError, ValueError):
        seen = Path(_note(picture.sha256).read_text(encoding="utf-8")[:LONGEST])
        if seen.is_file():
            return seen
    return beside
