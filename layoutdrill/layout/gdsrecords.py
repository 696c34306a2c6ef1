"""
The records of a GDSII stream file: their numbers, and the bytes of their values.

Format: the Calma stream format, release 6.
"""

import struct
from collections.abc import Iterator
from enum import IntEnum

from layoutdrill.errors import LayoutdrillError, Where


class Record(IntEnum):
    """Record types that a layout needs; others are passed over."""

    HEADER = 0x00
    BGNLIB = 0x01
    LIBNAME = 0x02
    UNITS = 0x03
    ENDLIB = 0x04
    BGNSTR = 0x05
    STRNAME = 0x06
    ENDSTR = 0x07
    BOUNDARY = 0x08
    PATH = 0x09
    SREF = 0x0A
    AREF = 0x0B
    TEXT = 0x0C
    LAYER = 0x0D
    DATATYPE = 0x0E
    WIDTH = 0x0F
    XY = 0x10
    ENDEL = 0x11
    SNAME = 0x12
    COLROW = 0x13
    NODE = 0x15
    TEXTTYPE = 0x16
    STRING = 0x19
    STRANS = 0x1A
    MAG = 0x1B
    ANGLE = 0x1C
    PATHTYPE = 0x21
    BOX = 0x2D
    BOXTYPE = 0x2E
    BGNEXTN = 0x30
    ENDEXTN = 0x31


INT2, INT4, REAL8, ASCII, NO_DATA, BITS = 2, 3, 5, 6, 0, 1


def records(data: bytes, where: Where) -> Iterator[tuple[int, bytes, int]]:
    """Yield (type, value bytes, place in the file) up to ENDLIB. Errors: truncated, a record without a length."""
    at = 0
    size = len(data)
    last = int(Record.ENDLIB)
    while at + 4 <= size:
        length = data[at] << 8 | data[at + 1]
        if length < 4 or length % 2:
            raise LayoutdrillError(
                f"not a GDSII record at byte {at} (length {length})",
                where=where,
                todo="the file is damaged; fetch it again",
            )
        end = at + length
        if end > size:
            break
        kind = data[at + 2]
        yield kind, data[at + 4 : end], at
        if kind == last:
            return
        at = end
    raise LayoutdrillError(
        f"the GDSII file breaks off at byte {at} of {size}", where=where, todo="it is truncated; fetch it again"
    )


def record(kind: Record, sort: int, value: bytes = b"") -> bytes:
    if len(value) % 2:
        value += b"\0"
    return struct.pack(">HBB", len(value) + 4, kind, sort) + value


def real8(value: bytes, at: int = 0) -> float:
    """Read an excess-64 base-16 real of eight bytes."""
    head = value[at]
    mantissa = int.from_bytes(value[at + 1 : at + 8], "big")
    size = mantissa * 16.0 ** ((head & 0x7F) - 64 - 14)
    return -size if head & 0x80 else size


def pack_real8(number: float) -> bytes:
    """Write a positive number (or 0) as an excess-64 base-16 real."""
    if number == 0:
        return bytes(8)
    exponent = 64
    while number >= 1:
        number /= 16
        exponent += 1
    while number < 1 / 16:
        number *= 16
        exponent -= 1
    return bytes([exponent]) + round(number * (1 << 56)).to_bytes(7, "big")
