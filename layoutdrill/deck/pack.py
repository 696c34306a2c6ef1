"""
Share a deck: one zip with the deck, every file that it names, and a manifest of sizes and hashes; and take one in.

Nothing of a zip is believed: names, links, sizes and hashes are checked while it is read, bounded, into a folder of its
own, where the deck is checked whole before it is installed.
"""

import json
import os
import re
import stat
import tempfile
import zipfile
import zlib
from collections.abc import Iterator
from hashlib import sha256
from pathlib import Path
from typing import Any

from layoutdrill.covers import installed_decks
from layoutdrill.deck.belongings import files_of
from layoutdrill.deck.check import check_deck
from layoutdrill.deck.model import Deck
from layoutdrill.errors import LayoutdrillError, Where
from layoutdrill.value import value

MANIFEST = "manifest.json"
FORMAT = 1
MOST_FILES = 500
MOST_BYTES = 1_000_000_000
MOST_MANIFEST = 1_000_000
ENDINGS = (
    ".yaml", ".yml", ".md", ".txt", ".png", ".jpg", ".jpeg", ".tif", ".tiff",
    ".sp", ".spi", ".spice", ".cir", ".cdl", ".net", ".ckt", ".gds", ".gdsii", ".gds2", ".gz", ".oas",
)  # fmt: skip
_PART = re.compile(r"[^/\\\x00-\x1f\x7f:*?\"<>|]{1,120}\Z")
_BLOCK = 1 << 20
_NOT_AS_TOLD = (TypeError, AttributeError)
"""What a manifest of another form than ours comes to."""


@value
class Packed:
    """What a zip holds, as its manifest says: the deck's file, and the size and SHA-256 of each file."""

    deck: str
    files: tuple[tuple[str, int, str], ...]


def pack(deck: Deck, path: Path, target: Path) -> tuple[str, ...]:
    """
    Write a deck and its files into a zip, and return their names. The same files give the same bytes.

    Raises LayoutdrillError where a file cannot be read, or the zip not be written.
    """
    folder = path.parent
    names = {file.relative_to(folder).as_posix(): file for file in files_of(deck, path)}
    listed: dict[str, dict[str, Any]] = {}
    part = target.with_name(f".{target.name}.{os.getpid()}")
    try:
        with zipfile.ZipFile(part, "w", zipfile.ZIP_DEFLATED) as out:
            for name in sorted(names):
                data = names[name].read_bytes()
                listed[name] = {"bytes": len(data), "sha256": sha256(data).hexdigest()}
                out.writestr(_entry(name), data)
            manifest = {
                "format": FORMAT, "deck": path.name, "title": deck.title, "author": deck.author,
                "licence": deck.licence, "files": listed,
            }  # fmt: skip
            out.writestr(_entry(MANIFEST), json.dumps(manifest, indent=1, ensure_ascii=False))
        part.replace(target)
    except OSError as error:
        part.unlink(missing_ok=True)
        where = Where(str(error.filename or target))
        raise LayoutdrillError(f"cannot be packed ({error.strerror})", where=where, todo="check the path") from None
    return tuple(sorted(names))


def _entry(name: str) -> zipfile.ZipInfo:
    """Return an entry without the time and the rights of the file, which are nobody's business."""
    entry = zipfile.ZipInfo(name, (1980, 1, 1, 0, 0, 0))
    entry.compress_type = zipfile.ZIP_DEFLATED
    entry.external_attr = 0o644 << 16
    return entry


def add(source: Path, kit: Path | None = None) -> Path:
    """
    Check a packed deck and install it; return its file. One of the same name that is there is replaced.

    Raises LayoutdrillError: no such packed deck, anything in it that is not as it should be, an error in the deck.
    """
    home = installed_decks()
    try:
        home.mkdir(parents=True, exist_ok=True)
        with tempfile.TemporaryDirectory(dir=home, prefix=".new-") as name:
            folder = Path(name) / "deck"
            folder.mkdir()
            packed = unpack(source, folder)
            errors = check_deck(folder / packed.deck, kit=kit)
            if errors:
                first, more = errors[0], len(errors) - 1
                where = Where(str(source), None, None)
                place = str(first.where or packed.deck).replace(f"{folder}/", "")
                also = f"; {more} more" if more else ""
                raise LayoutdrillError(f"{place}: {first.what}{also}", where=where, todo="nothing was installed")
            target = home / Path(packed.deck).stem
            old = Path(name) / "old"
            if target.exists():
                target.rename(old)
            folder.rename(target)
    except OSError as error:
        where = Where(str(error.filename or home))
        raise LayoutdrillError(f"cannot be installed ({error.strerror})", where=where, todo="free the disk") from None
    return target / packed.deck


def unpack(source: Path, folder: Path) -> Packed:
    """Unpack a deck into an empty folder, checking every name, size and hash as it goes."""
    where = Where(str(source))

    def refuse(what: str) -> LayoutdrillError:
        return LayoutdrillError(what, where=where, todo="ask its author for another; nothing was installed")

    try:
        with zipfile.ZipFile(source) as archive:
            packed = _manifest(archive, refuse)
            for name, size, digest in packed.files:
                target = folder.joinpath(*name.split("/"))
                target.parent.mkdir(parents=True, exist_ok=True)
                _write(archive, name, size, digest, target, refuse)
            return packed
    except FileNotFoundError:
        raise LayoutdrillError("no such file", where=where, todo="check the path") from None
    except (zipfile.BadZipFile, zlib.error, RuntimeError, EOFError, ValueError, LookupError, *_NOT_AS_TOLD) as error:
        raise refuse(f"this is no packed deck ({str(error)[:100] or type(error).__name__})") from None


def _manifest(archive: zipfile.ZipFile, refuse: Any) -> Packed:
    entries = archive.infolist()
    if len(entries) > MOST_FILES + 1:
        raise refuse(f"more than {MOST_FILES} files")
    names = [entry.filename for entry in entries]
    if len(set(names)) < len(names) or MANIFEST not in names:
        raise refuse("it has no manifest, or a name twice")
    if archive.getinfo(MANIFEST).file_size > MOST_MANIFEST:
        raise refuse("its manifest is too large")
    with archive.open(MANIFEST) as file:
        manifest = json.loads(file.read(MOST_MANIFEST + 1).decode("utf-8"))
    if manifest["format"] != FORMAT:
        raise refuse(f"format {manifest['format']} of packed decks is not known here")
    files = tuple((str(name), int(one["bytes"]), str(one["sha256"])) for name, one in manifest["files"].items())
    for entry in entries:
        _safe(entry, refuse)
    if {name for name, _, _ in files} != set(names) - {MANIFEST}:
        raise refuse("its manifest does not list what it holds")
    if sum(size for _, size, _ in files) > MOST_BYTES:
        raise refuse(f"larger than {MOST_BYTES // 1_000_000:,} MB")
    if manifest["deck"] not in {name for name, _, _ in files} or "/" in manifest["deck"]:
        raise refuse("it holds no deck")
    return Packed(str(manifest["deck"]), files)


def _safe(entry: zipfile.ZipInfo, refuse: Any) -> None:
    """Refuse names that lead elsewhere, links, what is locked, and files that no deck needs."""
    name = entry.filename
    parts = name.split("/")
    if len(parts) > 8 or any(not _PART.match(part) or part in (".", "..") or part.startswith(".") for part in parts):
        raise refuse(f"“{name[:80]}” is no name for a file of a deck")
    if stat.S_ISLNK(entry.external_attr >> 16) or entry.is_dir():
        raise refuse(f"“{name}” is no plain file")
    if entry.flag_bits & 1:
        raise refuse(f"“{name}” is locked by a password")
    if name != MANIFEST and not name.lower().endswith(ENDINGS):
        raise refuse(f"“{name}” is of a sort that no deck needs")


def _write(archive: zipfile.ZipFile, name: str, size: int, digest: str, target: Path, refuse: Any) -> None:
    """Unpack one file; more bytes than the manifest says, or others, are refused as they come."""
    digest_so_far, done = sha256(), 0
    with archive.open(name) as file, target.open("wb") as out:
        for block in _blocks(file):
            done += len(block)
            if done > size:
                raise refuse(f"“{name}” is larger than its manifest says")
            digest_so_far.update(block)
            out.write(block)
    if done != size or digest_so_far.hexdigest() != digest:
        raise refuse(f"“{name}” is not what its manifest says")


def _blocks(file: Any) -> Iterator[bytes]:
    while block := file.read(_BLOCK):
        yield block
