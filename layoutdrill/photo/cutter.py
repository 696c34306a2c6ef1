"""
Cut one picture into tiles, as a process of its own: `python -m layoutdrill.photo.cutter PICTURE TILES`.

Tells how far it has come on standard output, a line “done total” each. PNG that is not interlaced and TIFF in strips or
tiles are read strip by strip, in 500 MB whatever their size. Of a JPEG brightness is read at full scale and colour at
half, as the tiles keep them: 2 bytes a pixel. A progressive JPEG holds all that it is made of until its last scan,
which no reader here can do without: 6 bytes a pixel more. Another picture is unpacked whole: 10 bytes a pixel. To
all of these come 700 MB beside. Where the machine has less to give, a JPEG is read at half its scale, and another
format refused. The process holds itself to these bounds.
"""

import io
import json
import os
import sys
from collections.abc import Iterator
from pathlib import Path

from PIL import Image

from layoutdrill.errors import LayoutdrillError, Where
from layoutdrill.photo.files import as_rgb, header, opened
from layoutdrill.photo.strips import streams, strips
from layoutdrill.photo.tiles import MAGIC, QUALITY, SIDE

BYTES_A_PIXEL = 10
JPEG_BYTES_A_PIXEL, SCANS_BYTES_A_PIXEL = 2, 6
BESIDE = 700_000_000
STREAMED = 500_000_000
"""Bytes, of which the interpreter takes a good half as addresses."""
Part = tuple[tuple[int, int], Iterator[Image.Image]]
"""The size of what is cut, and its strips, each a row of tiles high."""


def main(arguments: list[str]) -> int:
    """Cut, and return the exit code."""
    source, target = Path(arguments[0]), Path(arguments[1])
    Image.MAX_IMAGE_PIXELS = None  # the bound is ours, and this process holds itself to its memory
    try:
        _cut(source, target)
    except LayoutdrillError as error:
        print(error, file=sys.stderr)  # noqa: T201 - the parent reads it
        return error.exit_code
    except MemoryError:
        print("not enough memory", file=sys.stderr)  # noqa: T201
        return 2
    return 0


def _short_of_memory(source: Path) -> bool:
    """Bound this process, and tell whether the picture must be read at half its scale; raises where that cannot be."""
    head = header(source)
    need = head.pixels * _bytes_a_pixel(source) + BESIDE
    short = _memory() < need
    if short and head.format != "JPEG":
        what = f"cutting it takes up to {need // 1_000_000:,} MB of memory, and less is free"
        todo = "close other programs, or save it as JPEG, as PNG that is not interlaced, or as TIFF"
        raise LayoutdrillError(what, where=Where(str(source)), todo=todo)
    _bound(need)
    return short


def _bytes_a_pixel(source: Path) -> int:
    with opened(source) as image:
        if not _in_two_readings(image):
            return BYTES_A_PIXEL
        return JPEG_BYTES_A_PIXEL + (SCANS_BYTES_A_PIXEL if "progressive" in image.info else 0)


def _in_two_readings(image: Image.Image) -> bool:
    """Tell whether brightness and colour of a picture can be read apart."""
    if image.format != "JPEG" or image.mode == "L":
        return image.format == "JPEG"
    stored = {layer[0] for layer in getattr(image, "layer", ())}  # red, green and blue themselves cannot
    plain = image.info.get("adobe_transform") == 0 or stored == set(b"RGB")
    return image.mode == "RGB" and not plain


def _memory() -> int:
    """Return the bytes that the machine can give, where it says so."""
    try:
        for line in Path("/proc/meminfo").read_text(encoding="ascii").splitlines():
            if line.startswith("MemAvailable:"):
                return int(line.split()[1]) * 1024
    except (OSError, ValueError, IndexError):
        pass
    return 1 << 62


def _bound(most: int) -> None:
    """Refuse to grow beyond so many bytes, where the system can hold a process to it."""
    try:
        import resource  # noqa: PLC0415 - not everywhere
    except ImportError:
        return
    _, hard = resource.getrlimit(resource.RLIMIT_AS)
    if hard == resource.RLIM_INFINITY or hard > most:
        resource.setrlimit(resource.RLIMIT_AS, (most, hard))


def _cut(source: Path, target: Path) -> None:
    written = target.with_suffix(f".{os.getpid()}.part")
    size = (head := header(source)).width, head.height
    if streams(source):
        _bound(STREAMED)
        part: Part = size, strips(source, SIDE)
    else:
        part = _read(source, half=_short_of_memory(source))
    try:
        with written.open("wb") as file:
            _write(file, part, size)
        written.replace(target)
    except OSError as error:
        raise LayoutdrillError(f"tiles cannot be written ({error.strerror})", where=Where(str(target))) from None
    finally:
        written.unlink(missing_ok=True)


def _read(source: Path, *, half: bool) -> Part:
    """Unpack a picture as it takes least memory, and return it in strips."""
    with opened(source) as image:
        if _in_two_readings(image) and not half:
            grey = image.mode == "L"
            return image.size, _jpeg(source, image.size, colour=not grey)
    return _whole(source, half=half)


def _jpeg(source: Path, size: tuple[int, int], *, colour: bool) -> Iterator[Image.Image]:
    """Yield the strips of a JPEG: its brightness is read whole, its colour at half the scale."""
    wide, high = size
    half = -(-wide // 2), -(-high // 2)
    colours = _colours(source, half) if colour else ()
    with opened(source) as image:
        image.draft("L", size)
        image.load()
        for y in range(0, high, SIDE):
            below = min(y + SIDE, high)
            light = image.crop((0, y, wide, below))
            if not colours:
                yield light.convert("RGB")
                continue
            part = 0, y // 2, half[0], -(-below // 2)
            tints = [tint.crop(part).resize((2 * half[0], 2 * (part[3] - part[1]))) for tint in colours]
            tints = [tint.crop((0, 0, *light.size)) for tint in tints]
            yield Image.merge("YCbCr", (light, *tints)).convert("RGB")


def _colours(source: Path, half: tuple[int, int]) -> tuple[Image.Image, ...]:
    """Return how blue and how red a JPEG is, at half its scale; nothing of one that cannot be read so."""
    with opened(source) as image:
        image.draft("YCbCr", (max(1, image.width // 2), max(1, image.height // 2)))
        if image.mode != "YCbCr" or image.size != half:
            raise OSError("its colour cannot be read at half the scale")
        image.load()
        return image.getchannel("Cb"), image.getchannel("Cr")


def _whole(source: Path, *, half: bool) -> Part:
    """Unpack a picture whole, and return it in strips."""
    with opened(source) as image:
        if half:
            image.draft("RGB", (max(1, image.width // 2), max(1, image.height // 2)))
        image.load()
        whole = image if image.mode == "RGB" else as_rgb(image)
    edges = range(0, whole.height, SIDE)
    return whole.size, (whole.crop((0, y, whole.width, min(y + SIDE, whole.height))) for y in edges)


class _Level:
    """One level while it is written: strips come from above, and each is halved for the next level."""

    def __init__(self, tiles: "_Tiles", number: int, width: int) -> None:
        self.tiles, self.number, self.width = tiles, number, width
        self.row = 0
        self.waiting: list[Image.Image] = []
        """Halves of strips, until they fill a row of tiles."""

    def take(self, strip: Image.Image) -> None:
        """Cut a strip of `SIDE` rows (the last may be lower) into tiles."""
        self.tiles.write(strip, self.number, self.row)
        self.row += 1

    def add(self, half: Image.Image, *, last: bool) -> Image.Image | None:
        """Take half a strip; return a whole one where it is full, or where nothing more will come."""
        self.waiting.append(half)
        if len(self.waiting) < 2 and not last:
            return None
        strip = Image.new("RGB", (self.width, sum(part.height for part in self.waiting)))
        y = 0
        for part in self.waiting:
            strip.paste(part, (0, y))
            y += part.height
        self.waiting = []
        return strip


class _Tiles:
    """The tile file: tiles one after another, and where each lies."""

    def __init__(self, file: io.BufferedWriter, total: int) -> None:
        self.file, self.total = file, total
        self.places: list[tuple[int, int, int, int, int]] = []

    def write(self, strip: Image.Image, level: int, row: int) -> None:
        for column in range(-(-strip.width // SIDE)):
            left = column * SIDE
            buffer = io.BytesIO()
            strip.crop((left, 0, min(left + SIDE, strip.width), strip.height)).save(buffer, "JPEG", quality=QUALITY)
            self.places.append((level, column, row, self.file.tell(), buffer.tell()))
            self.file.write(buffer.getvalue())
        print(len(self.places), self.total, flush=True)  # noqa: T201 - the parent reads it


def _write(file: io.BufferedWriter, part: Part, size: tuple[int, int]) -> None:
    """Write the tiles of all levels as the strips come, and the index after them."""
    cut, coming = part
    sizes = [cut]
    while max(sizes[-1]) > SIDE:
        sizes.append((-(-sizes[-1][0] // 2), -(-sizes[-1][1] // 2)))
    file.write(MAGIC)
    tiles = _Tiles(file, sum(-(-wide // SIDE) * -(-high // SIDE) for wide, high in sizes))
    levels = [_Level(tiles, number, wide) for number, (wide, _) in enumerate(sizes)]
    rows = -(-cut[1] // SIDE)
    for number, coming_strip in enumerate(coming, 1):
        strip: Image.Image | None = coming_strip
        for level, nxt in zip(levels, (*levels[1:], None), strict=True):
            if strip is None:
                break
            level.take(strip)
            strip = nxt.add(strip.reduce(2), last=number == rows) if nxt is not None else None
    at = file.tell()
    file.write(json.dumps({"size": size, "levels": sizes, "tiles": tiles.places}).encode("ascii"))
    file.write(f"{at:>16}".encode("ascii"))


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
