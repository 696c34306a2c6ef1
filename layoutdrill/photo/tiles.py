"""
Large pictures as tiles: cut once, at several scales, by a process of its own; then any part is read in milliseconds.

One file a picture, in the cache folder: the tiles as JPEG one after another, an index as JSON, and where the index
begins. Level 0 is the whole scale (or half of it where memory was short), each further level half the one before.
"""

import io
import json
import os
import subprocess
import sys
from collections import OrderedDict
from collections.abc import Callable
from hashlib import sha256
from pathlib import Path
from threading import Lock
from typing import Any

from PIL import Image

from layoutdrill.errors import LayoutdrillError, Where
from layoutdrill.locations import cache_folder
from layoutdrill.photo.files import MOST_PIXELS, as_rgb, header, opened

SIDE = 512
QUALITY = 88
SMALL = 8_000_000
"""Pixels up to which a picture is simply held in memory."""
MOST_KEPT = 2_000_000_000
"""Bytes that tile files take in the cache; beyond it those used longest ago go."""
MOST_TILES = 48
"""Decoded tiles held in memory: 36 MiB."""
MAGIC = b"layoutdrill tiles 1\n"
_FOOT = 16
_GROUND = (24, 24, 26)
"""What lies beyond a picture's edge."""
Progress = Callable[[int, int], None]


def needs_tiles(path: Path) -> bool:
    """Tell whether a picture is so large that it is cut into tiles first. Errors as those of `opened`."""
    return header(path).pixels > SMALL


def tile_file(path: Path) -> Path:
    """Return where a picture's tiles are kept, by its path, size and time."""
    status = path.resolve().stat()
    key = sha256(
        f"{path.resolve()}\n{status.st_size}\n{status.st_mtime_ns}".encode("utf-8", "surrogatepass")
    ).hexdigest()
    return cache_folder() / "photographs" / f"{key[:40]}.tiles"


def cut_tiles(path: Path, progress: Progress | None = None) -> Path:
    """
    Cut a picture into tiles where that has not been done, in a process of its own, and return the tile file.

    Raises LayoutdrillError with what that process said where it cannot be done.
    """
    target = tile_file(path)
    if target.is_file():
        os.utime(target)
        return target
    try:
        target.parent.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise LayoutdrillError(
            f"no room for tiles ({error.strerror})", where=Where(str(target.parent)), todo="set LAYOUTDRILL_CACHE"
        ) from None
    command = [sys.executable, "-m", "layoutdrill.photo.cutter", str(path), str(target)]
    with subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True) as process:  # noqa: S603
        assert process.stdout is not None
        assert process.stderr is not None
        try:
            for line in process.stdout:
                done, _, total = line.partition(" ")
                if progress is not None and done.isdigit():
                    progress(int(done), int(total))
        except BaseException:
            process.kill()
            raise
        said = process.stderr.read().strip()
    if process.returncode or not target.is_file():
        what = said.splitlines()[-1] if said else f"it ended with {process.returncode}"
        raise LayoutdrillError(
            f"cannot be cut into tiles: {what[:300]}", where=Where(str(path)), todo="save it smaller"
        )
    _make_room(target)
    return target


def _make_room(newest: Path) -> None:
    """Remove the tile files used longest ago until the rest keeps within the bound."""
    files = sorted(newest.parent.glob("*.tiles"), key=lambda file: file.stat().st_mtime, reverse=True)
    total = 0
    for file in files:
        total += file.stat().st_size
        if total > MOST_KEPT and file != newest:
            file.unlink(missing_ok=True)


class Pixels:
    """The pixels of one picture, read part by part. Safe to ask from several threads."""

    width: int
    height: int

    def part(self, level: int, left: int, top: int, right: int, bottom: int) -> Image.Image:
        """Return a part of a level, in pixels of that level; ground beyond the edge."""
        raise NotImplementedError

    def size(self, level: int) -> tuple[int, int]:
        """Return the width and height of a level."""
        raise NotImplementedError

    @property
    def levels(self) -> int:
        raise NotImplementedError

    def shrink(self, level: int) -> float:
        """Return how many pixels of the picture one of a level is wide."""
        return self.width / self.size(level)[0]


class HeldPixels(Pixels):
    """A picture small enough to be held in memory, with its half, quarter …"""

    def __init__(self, image: Image.Image) -> None:
        self.width, self.height = image.size
        self._levels = [image]
        while max(self._levels[-1].size) > SIDE:
            self._levels.append(self._levels[-1].reduce(2))

    @property
    def levels(self) -> int:
        return len(self._levels)

    def size(self, level: int) -> tuple[int, int]:
        return self._levels[level].size

    def part(self, level: int, left: int, top: int, right: int, bottom: int) -> Image.Image:
        canvas = Image.new("RGB", (right - left, bottom - top), _GROUND)
        image = self._levels[level]
        box = max(left, 0), max(top, 0), min(right, image.width), min(bottom, image.height)
        if box[0] < box[2] and box[1] < box[3]:
            canvas.paste(image.crop(box), (box[0] - left, box[1] - top))
        return canvas


class TiledPixels(Pixels):
    """A picture cut into tiles."""

    def __init__(self, path: Path) -> None:
        self._path = path
        self._lock = Lock()
        self._tiles: OrderedDict[tuple[int, int, int], Image.Image] = OrderedDict()
        try:
            with path.open("rb") as file:
                self._read_index(file)
        except (OSError, ValueError, KeyError, TypeError):
            path.unlink(missing_ok=True)
            raise LayoutdrillError(
                "the tiles are damaged", where=Where(str(path)), todo="open the picture again"
            ) from None

    def _read_index(self, file: io.BufferedReader) -> None:
        if file.read(len(MAGIC)) != MAGIC:
            raise ValueError(MAGIC)
        file.seek(-_FOOT, io.SEEK_END)
        file.seek(int(file.read(_FOOT)))
        index: dict[str, Any] = json.loads(file.read()[:-_FOOT])
        self.width, self.height = index["size"]
        self._sizes = [tuple(size) for size in index["levels"]]
        self._places: dict[tuple[int, int, int], tuple[int, int]] = {
            (level, column, row): (at, length) for level, column, row, at, length in index["tiles"]
        }

    @property
    def levels(self) -> int:
        return len(self._sizes)

    def size(self, level: int) -> tuple[int, int]:
        wide, high = self._sizes[level]
        return wide, high

    def part(self, level: int, left: int, top: int, right: int, bottom: int) -> Image.Image:
        canvas = Image.new("RGB", (right - left, bottom - top), _GROUND)
        wide, high = self.size(level)
        for row in range(max(top, 0) // SIDE, -(-min(bottom, high) // SIDE)):
            for column in range(max(left, 0) // SIDE, -(-min(right, wide) // SIDE)):
                canvas.paste(self._tile(level, column, row), (column * SIDE - left, row * SIDE - top))
        return canvas

    def _bytes(self, at: int, length: int) -> bytes:
        try:
            with self._path.open("rb") as file:
                file.seek(at)
                return file.read(length)
        except OSError as error:
            what = f"the tiles are gone ({error.strerror})"
            raise LayoutdrillError(what, where=Where(str(self._path)), todo="open the picture again") from None

    def _tile(self, level: int, column: int, row: int) -> Image.Image:
        key = level, column, row
        with self._lock:
            tile = self._tiles.get(key)
            if tile is None:
                tile = Image.open(io.BytesIO(self._bytes(*self._places[key])), formats=("JPEG",)).convert("RGB")
                self._tiles[key] = tile
                while len(self._tiles) > MOST_TILES:
                    self._tiles.popitem(last=False)
            else:
                self._tiles.move_to_end(key)
            return tile


def pixels_of(path: Path, progress: Progress | None = None) -> Pixels:
    """Open a picture; a large one is cut into tiles first where that has not been done. Errors as those of `opened`."""
    if needs_tiles(path):
        return TiledPixels(cut_tiles(path, progress))
    with opened(path) as image:
        return HeldPixels(as_rgb(image))


__all__ = ["MOST_PIXELS", "HeldPixels", "Pixels", "TiledPixels", "cut_tiles", "needs_tiles", "pixels_of", "tile_file"]
