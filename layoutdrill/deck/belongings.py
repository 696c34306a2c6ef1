"""Which files a deck names, and which lie beside it that nothing names: forgotten ones, most likely, or misspelt."""

from collections.abc import Iterator
from pathlib import Path

from layoutdrill.deck.model import Deck
from layoutdrill.errors import LayoutdrillError, Where
from layoutdrill.intake import read_bytes
from layoutdrill.photo.read import SUFFIX

MOST_ENTRIES = 200
"""Where a folder holds more than this, the deck stands among other things: nothing is said of them."""
MOST_BYTES = 2_000_000
_SORTS = (".png", ".jpg", ".jpeg", ".tif", ".tiff", ".gds", ".gdsii", ".gds2", ".gds.gz", ".oas", SUFFIX)


def files_of(deck: Deck, path: Path) -> tuple[Path, ...]:
    """Return the deck's file and every file that it names, each once."""
    files: dict[Path, None] = {path: None}
    for place in deck.photographs.values():
        files[place.marks] = None
    for marks in dict.fromkeys(place.marks for place in deck.photographs.values()):
        from layoutdrill.photo.read import load_marks  # noqa: PLC0415 - few decks have photographs
        from layoutdrill.reading.photograph import netlist_beside  # noqa: PLC0415 - the same

        read = load_marks(marks)
        files.update(dict.fromkeys(marks.parent / picture.file for picture in read.pictures))
        files.update(dict.fromkeys(marks.parent / region.netlist for region in read.regions if region.netlist))
        files.update(dict.fromkeys(file for file in (netlist_beside(marks),) if file is not None))
    for own in deck.layouts.values():
        files.update(dict.fromkeys(file for file in (own.file, own.netlist) if file is not None))
    files.update(dict.fromkeys(deck.brought.values()))
    return tuple(files)


def unnamed_files(deck: Deck, path: Path) -> Iterator[LayoutdrillError]:
    """Yield a warning for each picture, layout or mark file beside the deck that neither it nor a file there names."""
    named = {file.resolve() for file in files_of(deck, path)}
    own = _text(path)  # where a remark may say that a file is left out
    for folder in sorted({path.resolve().parent, *(file.parent for file in named)}):
        entries = sorted(folder.iterdir())
        if len(entries) > MOST_ENTRIES:
            continue
        loose = [entry for entry in entries if entry.name.lower().endswith(_SORTS) and entry.resolve() not in named]
        texts = [own] + [_text(entry) for entry in entries if loose and entry.suffix in (".yaml", ".yml")]
        for entry in loose:
            if not any(entry.name in text for text in texts):
                what = f"nothing names {entry.relative_to(path.resolve().parent)}"
                yield LayoutdrillError(what, where=Where(str(path)), todo="name it, or take it out of the folder")


def _text(path: Path) -> str:
    try:
        return read_bytes(path, MOST_BYTES).decode("utf-8", "replace")
    except LayoutdrillError:
        return ""
