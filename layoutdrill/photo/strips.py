"""
Read a large picture from the top downwards, a strip at a time, where its format lets one: PNG and most TIFF.

A strip of a PNG is decoded as a small PNG of its own: the row above it, as it was decoded, and then its rows as they
stand in the file, for each row may be told by its difference to the one above (PNG specification, W3C 2003, 9.2).
"""

import io
import struct
import zlib
from collections.abc import Iterator
from pathlib import Path
from typing import Any, BinaryIO

from PIL import Image, ImageFile

from layoutdrill.photo.files import as_rgb, opened
from layoutdrill.photo.tiff_parts import parts_of, rows_of_parts

_SIGNATURE = b"\x89PNG\r\n\x1a\n"
_CHANNELS = {0: 1, 2: 3, 3: 1, 4: 2, 6: 4}
"""Bytes a pixel of each colour type, at 8 bits."""
_PIECE = 1 << 20


def streams(path: Path) -> bool:
    """Tell whether a picture can be read strip by strip. Errors as those of `opened`."""
    with opened(path) as image:
        if image.format == "PNG":
            return _plain_png(path)
        return image.format == "TIFF" and (_as_it_lies(image) or parts_of(image) is not None)


def _as_it_lies(image: Image.Image) -> bool:
    """Tell whether the rows of a TIFF lie in the file unpacked and whole."""
    parts = _parts(image)
    return bool(parts) and all(
        packing == "raw" and left == 0 and right == image.width for packing, (left, _, right, _), *_ in parts
    )


def _parts(image: Image.Image) -> list[Any]:
    """Return where the parts of a file lie: how each is packed, its box, its place, and what else is to be known."""
    return list(image.tile) if isinstance(image, ImageFile.ImageFile) else []


def strips(path: Path, rows: int) -> Iterator[Image.Image]:
    """Yield the picture in RGB, so many rows at a time; the last strip may be lower. Errors as those of `opened`."""
    with opened(path) as image:
        if image.format == "PNG":
            pieces = _png(path, rows)
        elif not _as_it_lies(image) and (parts := parts_of(image)) is not None:
            pieces = rows_of_parts(path, image, parts)
        else:
            pieces = _tiff(path, image)
        yield from _of_height(pieces, image.width, rows)


def _of_height(pieces: Iterator[Image.Image], width: int, rows: int) -> Iterator[Image.Image]:
    """Join and cut pieces of any height into strips of one."""
    strip, filled = Image.new("RGB", (width, rows)), 0
    for piece in pieces:
        at = 0
        while at < piece.height:
            taken = min(rows - filled, piece.height - at)
            strip.paste(piece.crop((0, at, width, at + taken)), (0, filled))
            at, filled = at + taken, filled + taken
            if filled == rows:
                yield strip
                strip, filled = Image.new("RGB", (width, rows)), 0
    if filled:
        yield strip.crop((0, 0, width, filled))


def _tiff(path: Path, image: Image.Image) -> Iterator[Image.Image]:
    """Yield the rows of an uncompressed TIFF as they lie in the file, so many at a time: a strip may be all of it."""
    parts = sorted(_parts(image), key=lambda part: part[1][1])
    with path.open("rb") as file:
        for _, (left, top, right, bottom), offset, how in parts:
            raw, stride, *_ = how if isinstance(how, tuple) else (how, 0)
            size = right - left, bottom - top
            file.seek(offset)
            row = stride or len(Image.new(image.mode, (size[0], 1)).tobytes())
            rows = max(1, _PIECE // row)
            for y in range(0, size[1], rows):
                high = min(rows, size[1] - y)
                data = file.read(row * high)
                if len(data) < row * high:
                    raise OSError("image file is truncated")
                yield as_rgb(Image.frombytes(image.mode, (size[0], high), data, "raw", raw, stride, 1))


def _plain_png(path: Path) -> bool:
    with path.open("rb") as file:
        head = file.read(33)
    if head[:8] != _SIGNATURE or len(head) < 33:
        return False
    depth, colour, _, _, interlaced = struct.unpack(">BBBBB", head[24:29])
    return depth == 8 and colour in _CHANNELS and not interlaced


def _png(path: Path, rows: int) -> Iterator[Image.Image]:
    """Yield the strips of a PNG of 8 bits that is not interlaced."""
    with path.open("rb") as file:
        head = file.read(33)
        wide, high, _, colour = struct.unpack(">IIBB", head[16:26])
        stride = 1 + wide * _CHANNELS[colour]
        aside = bytearray()  # palette and transparent colour, which each small picture needs too
        above, waiting, done = b"", bytearray(), 0
        for data in _inflated(file, aside):
            waiting += data
            while len(waiting) >= stride * min(rows, high - done) and done < high:
                count = min(rows, high - done)
                packed = above + bytes(waiting[: stride * count])
                del waiting[: stride * count]
                extra = 1 if above else 0
                small = io.BytesIO(_small(head, count + extra, bytes(aside), packed))
                with Image.open(small, formats=("PNG",)) as piece:
                    piece.load()
                    above = b"\0" + piece.crop((0, count + extra - 1, wide, count + extra)).tobytes()
                    yield as_rgb(piece.crop((0, extra, wide, count + extra)))
                done += count
            if done == high:
                return  # whatever else is packed there
        if done < high:
            raise OSError("image file is truncated")


def _inflated(file: BinaryIO, aside: bytearray) -> Iterator[bytes]:
    """Yield the rows' bytes as they are unpacked, never more than a piece at a time; keep what stands beside them."""
    unpacker = zlib.decompressobj()
    while len(head := file.read(8)) == 8:
        length, name = struct.unpack(">I4s", head)
        if name == b"IEND":
            return
        if name in (b"PLTE", b"tRNS") and length <= 1024:
            aside += head + file.read(length + 4)
        elif name == b"IDAT":
            check = zlib.crc32(name)
            while length:
                block = file.read(min(length, _PIECE))
                if not block:
                    raise OSError("image file is truncated")
                length -= len(block)
                check = zlib.crc32(block, check)
                while block:
                    try:
                        yield unpacker.decompress(block, _PIECE)
                    except zlib.error as error:
                        raise OSError(f"broken PNG file ({error})") from None
                    block = unpacker.unconsumed_tail
            if file.read(4) != struct.pack(">I", check):
                raise OSError("broken PNG file (its check sum is another)")
        else:
            file.seek(length + 4, io.SEEK_CUR)


def _small(head: bytes, high: int, aside: bytes, rows: bytes) -> bytes:
    """Return a PNG of so many rows as they stood in a larger one."""
    size = head[16:20] + struct.pack(">I", high) + head[24:29]
    return b"".join(
        (_SIGNATURE, _chunk(b"IHDR", size), aside, _chunk(b"IDAT", zlib.compress(rows, 0)), _chunk(b"IEND", b""))
    )


def _chunk(name: bytes, data: bytes) -> bytes:
    return struct.pack(">I", len(data)) + name + data + struct.pack(">I", zlib.crc32(data, zlib.crc32(name)))
