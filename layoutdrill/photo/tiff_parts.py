"""Read a packed TIFF part by part: each strip or tile is unpacked as a small TIFF of its own (TIFF 6.0, Adobe 1992)."""

import io
import struct
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from PIL import Image

from layoutdrill.photo.files import as_rgb
from layoutdrill.value import value

_WIDE, _HIGH, _BITS, _PACKING, _OFFSETS, _ROWS, _LENGTHS, _PLANES = 256, 257, 258, 259, 273, 278, 279, 284
_TURNED = 274
_TILE_WIDE, _TILE_HIGH, _TILE_OFFSETS, _TILE_LENGTHS = 322, 323, 324, 325
_KEPT = {_BITS: "H", _PACKING: "H", 262: "H", 266: "H", 277: "H", _PLANES: "H", 317: "H", 320: "H", 338: "H", 339: "H",
         347: "s", 530: "H"}  # fmt: skip
"""What a part needs of the whole: bits, packing, colours, predictor, palette, samples, tables of JPEG, subsampling."""
_TYPES = {"H": 3, "L": 4, "s": 7}
MOST_PIXELS = 16_000_000
"""Pixels in a row of parts; larger ones give no strip that is small."""
MOST_PARTS = 500_000


@value
class Parts:
    """How a picture is cut: the size of a part, and where each lies and how long it is, row by row."""

    wide: int
    high: int
    places: tuple[tuple[int, int], ...]


def parts_of(image: Image.Image) -> Parts | None:
    """Return the strips or tiles of a TIFF; None where its colours lie apart, or a row of parts is too large."""
    tags = _tags(image)
    if (
        tags.get(_PLANES, 1) != 1
        or tags.get(_TURNED, 1) != 1
        or any(bits not in (1, 4, 8, 16) for bits in _numbers(tags.get(_BITS, 1)))
    ):
        return None
    if _TILE_OFFSETS in tags:
        wide, high = int(tags[_TILE_WIDE]), int(tags[_TILE_HIGH])
        offsets, lengths = tags[_TILE_OFFSETS], tags[_TILE_LENGTHS]
    elif _OFFSETS in tags and _LENGTHS in tags:
        wide, high = image.width, min(int(tags.get(_ROWS, image.height)), image.height)
        offsets, lengths = tags[_OFFSETS], tags[_LENGTHS]
    else:
        return None
    places = tuple(zip(_numbers(offsets), _numbers(lengths), strict=False))
    if wide < 1 or high < 1 or high * max(wide, image.width) > MOST_PIXELS or len(places) > MOST_PARTS:
        return None
    if len(places) != -(-image.width // wide) * -(-image.height // high):
        return None
    return Parts(wide, high, places)


def _tags(image: Image.Image) -> Any:
    return getattr(image, "tag_v2", {})


def _numbers(given: Any) -> tuple[int, ...]:
    return tuple(given) if isinstance(given, (tuple, list)) else (int(given),)


def rows_of_parts(path: Path, image: Image.Image, parts: Parts) -> Iterator[Image.Image]:
    """Yield the picture in RGB, a row of parts at a time. Raises OSError where a part is cut off or damaged."""
    across = -(-image.width // parts.wide)
    tiled = _TILE_OFFSETS in _tags(image)
    with path.open("rb") as file:
        for row in range(0, len(parts.places), across):
            top = row // across * parts.high
            high = min(parts.high, image.height - top)
            whole = Image.new("RGB", (image.width, high))
            for column, (offset, length) in enumerate(parts.places[row : row + across]):
                file.seek(offset)
                data = file.read(min(length, 4 * MOST_PIXELS))
                if len(data) < length:
                    raise OSError("image file is truncated")
                size = parts.wide, parts.high if tiled else high
                whole.paste(as_rgb(_unpacked(image, size, data)), (column * parts.wide, 0))
            yield whole


def _unpacked(image: Image.Image, size: tuple[int, int], data: bytes) -> Image.Image:
    with Image.open(io.BytesIO(_small(image, size, data)), formats=("TIFF",)) as part:
        if part.size != size:
            raise OSError("a part of another size")
        part.load()
        return part.copy()


def _small(image: Image.Image, size: tuple[int, int], data: bytes) -> bytes:
    """Return a TIFF of one strip: its head, the strip, and the directory after it."""
    tags = _tags(image)
    order: bytes = tags.prefix
    sign = "<" if order == b"II" else ">"
    entries: dict[int, tuple[str, Any]] = {
        _WIDE: ("L", (size[0],)), _HIGH: ("L", (size[1],)), _ROWS: ("L", (size[1],)),
        _OFFSETS: ("L", (8,)), _LENGTHS: ("L", (len(data),)),
    }  # fmt: skip
    for tag, sort in _KEPT.items():
        if tag in tags:
            entries[tag] = sort, tags[tag] if sort == "s" else _numbers(tags[tag])
    body = data + b"\0" * (len(data) % 2)
    at = 8 + len(body)
    beyond = at + 2 + 12 * len(entries) + 4
    directory, longer = struct.pack(f"{sign}H", len(entries)), b""
    for tag, (sort, values) in sorted(entries.items()):
        packed = bytes(values) if sort == "s" else struct.pack(f"{sign}{len(values)}{sort}", *values)
        directory += struct.pack(f"{sign}HHL", tag, _TYPES[sort], len(values))
        if len(packed) <= 4:
            directory += packed.ljust(4, b"\0")
        else:
            directory += struct.pack(f"{sign}L", beyond + len(longer))
            longer += packed + b"\0" * (len(packed) % 2)
    head = order + struct.pack(f"{sign}HL", 42, at)
    return head + body + directory + struct.pack(f"{sign}L", 0) + longer
