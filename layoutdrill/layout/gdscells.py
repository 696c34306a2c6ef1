"""Read a GDSII stream into its cells: elements with their raw numbers, before any process gives them a meaning."""

import struct
import zlib
from dataclasses import field
from pathlib import Path
from typing import NamedTuple

from layoutdrill.errors import LayoutdrillError, Where
from layoutdrill.intake import read_bytes
from layoutdrill.layout.gdsrecords import Record, real8, records
from layoutdrill.printable import in_one_line
from layoutdrill.value import mutable, value

MAX_BYTES = 64_000_000
"""A file is no larger than this, nor what a gzipped one unpacks to."""
MAX_ELEMENTS = 500_000
"""Shapes, texts and references in a file."""

Point = tuple[int, int]


class Shape(NamedTuple):
    """
    A boundary or box (`points` its corners, the first not repeated) or a path's centre line, with its layer numbers.

    `ends` is how far a path goes past its first and last point, in half database units.
    """

    layer: tuple[int, int]
    points: tuple[Point, ...]
    path: bool = False
    width: int = 0
    ends: tuple[int, int] = (0, 0)


@value
class Text:
    layer: tuple[int, int]
    at: Point
    text: str


@value
class Reference:
    """A placed cell; an array has `columns` × `rows` copies, `step` apart along each."""

    cell: str
    at: Point
    mirrored: bool
    turns: int
    columns: int = 1
    rows: int = 1
    column_step: Point = (0, 0)
    row_step: Point = (0, 0)


@mutable
class GdsCell:
    name: str
    shapes: list[Shape] = field(default_factory=list)
    texts: list[Text] = field(default_factory=list)
    references: list[Reference] = field(default_factory=list)


@value
class Library:
    """The cells of a file by name, in its order, and the size of a database unit in nm."""

    cells: dict[str, GdsCell]
    unit_nm: float
    where: Where

    def tops(self) -> tuple[str, ...]:
        """Return the cells that no other cell places."""
        placed = {r.cell for cell in self.cells.values() for r in cell.references}
        return tuple(name for name in self.cells if name not in placed)


def read_library(source: Path | bytes, file: str | None = None) -> Library:
    """Read a file or its bytes. Errors: missing, not GDSII, truncated, an element without what it needs."""
    shown = file or (str(source) if isinstance(source, Path) else "GDSII data")
    where = Where(shown)
    data = source if isinstance(source, bytes) else read_bytes(source, MAX_BYTES, name=shown, todo="give a .gds file")
    if data[:2] == b"\x1f\x8b":
        data = _unzipped(data, where)
    if len(data) < 4 or data[2:4] != b"\x00\x02":
        what = "an empty file" if not data else "not a GDSII stream file: it does not start with a HEADER record"
        raise LayoutdrillError(what, where=where, todo="give a .gds file")
    elements = data.count(_ENDEL_RECORD)  # at once, for reading so many would take long
    if elements > MAX_ELEMENTS:
        what = f"about {elements:,} elements, where {MAX_ELEMENTS:,} are read at most"
        raise LayoutdrillError(what, where=where, todo="write out the cells that you need")
    return _Reader(data, where).library()


def _unzipped(data: bytes, where: Where) -> bytes:
    """Return all members of a gzip file, one after the other (RFC 1952, 2.2); zeros that pad it are passed over."""
    parts: list[bytes] = []
    room = MAX_BYTES
    while data:
        unpacker = zlib.decompressobj(wbits=31)
        try:
            parts.append(unpacker.decompress(data, room + 1))
        except zlib.error as error:
            raise LayoutdrillError(f"a damaged gzip file: {error}", where=where, todo="fetch it again") from None
        room -= len(parts[-1])
        if room < 0:
            raise LayoutdrillError(f"over {MAX_BYTES:,} bytes when unpacked", where=where, todo="read a smaller file")
        if not unpacker.eof:
            raise LayoutdrillError("a gzip file that breaks off", where=where, todo="fetch it again")
        data = unpacker.unused_data.lstrip(b"\0")
    return b"".join(parts)


class _Reader:
    """One pass over the records."""

    def __init__(self, data: bytes, where: Where) -> None:
        self.data = data
        self.where = where
        self.cells: dict[str, GdsCell] = {}
        self.unit_nm = 0.0
        self.cell: GdsCell | None = None

    def library(self) -> Library:
        element: dict[int, bytes] | None = None
        kind = start = 0
        for record, content, at in records(self.data, self.where):
            if element is not None:
                if record == _ENDEL:
                    self.element(kind, element, start)
                    element = None
                elif record in _OUTSIDE:
                    self.fail("an element without its end", start)
                else:
                    element[record] = content
            elif record in _ELEMENTS:
                if self.cell is None:
                    self.fail("an element outside any cell", at)
                element, kind, start = {}, record, at
            elif record == Record.UNITS:
                if len(content) != 16:
                    self.fail("a UNITS record of the wrong length", at)
                self.unit_nm = real8(content, 8) * 1e9
            elif record == Record.STRNAME:
                self.begin(_text(content), at)
            elif record == Record.ENDSTR:
                self.cell = None
        if not 1e-6 < self.unit_nm < 1e9:
            what = f"a database unit of {self.unit_nm:g} nm" if self.unit_nm else "no UNITS record, so no scale"
            raise LayoutdrillError(what, where=self.where, todo="the file is damaged")
        return Library(self.cells, self.unit_nm, self.where)

    def begin(self, name: str, at: int) -> None:
        if name in self.cells:
            self.fail(f'a second cell named "{name}"', at)
        self.cell = self.cells[name] = GdsCell(name)

    def fail(self, what: str, at: int, todo: str = "the file is damaged; fetch or write it again") -> None:
        raise LayoutdrillError(f"{what} at byte {at}", where=self.where, todo=todo)

    def element(self, kind: int, parts: dict[int, bytes], at: int) -> None:
        assert self.cell is not None
        try:
            if kind in _SORT:
                points = _points(parts[_XY])
                if len(points) > 1 and points[0] == points[-1]:
                    points = points[:-1]
                self.cell.shapes.append(Shape(_layer(parts, _SORT[kind]), points))
            elif kind == Record.PATH:
                self.cell.shapes.append(_path(parts))
            elif kind == Record.TEXT:
                (point,) = _points(parts[Record.XY])[:1]
                self.cell.texts.append(Text(_layer(parts, Record.TEXTTYPE), point, _text(parts[Record.STRING])))
            elif kind in (Record.SREF, Record.AREF):
                self.cell.references.append(self.reference(kind, parts, at))
        except (KeyError, IndexError, struct.error, ValueError):
            self.fail(f"a {Record(kind).name} element that lacks a part it needs", at)

    def reference(self, kind: int, parts: dict[int, bytes], at: int) -> Reference:
        name = _text(parts[Record.SNAME])
        flags = int.from_bytes(parts.get(Record.STRANS, b"\0\0"), "big")
        angle = real8(parts[Record.ANGLE]) if Record.ANGLE in parts else 0.0
        size = real8(parts[Record.MAG]) if Record.MAG in parts else 1.0
        place = f'a reference to "{name}"'
        if abs(size - 1) > 1e-9:
            self.fail(f"{place} magnified by {size:g}", at, "flatten it in the tool that drew it")
        turns = round(angle / 90)
        if abs(angle - 90 * turns) > 1e-6:
            self.fail(f"{place} turned by {angle:g}°", at, "only quarter turns can be read")
        mirrored = bool(flags & 0x8000)
        points = _points(parts[Record.XY])
        if kind == Record.SREF:
            return Reference(name, points[0], mirrored, turns % 4)
        columns, rows = struct.unpack(">hh", parts[Record.COLROW])
        origin, across, up = points[:3]
        if columns < 1 or rows < 1:
            self.fail(f"{place} as an array of {columns} × {rows}", at)
        spans = (across[0] - origin[0], across[1] - origin[1], up[0] - origin[0], up[1] - origin[1])
        if spans[0] % columns or spans[1] % columns or spans[2] % rows or spans[3] % rows:
            self.fail(
                f"{place} as an array whose pitch is not a whole number of units", at, "give it a pitch on the grid"
            )
        if (columns > 1 and spans[:2] == (0, 0)) or (rows > 1 and spans[2:] == (0, 0)):
            self.fail(f"{place} as an array of {columns} × {rows} whose pitch is nothing", at, "give it a pitch")
        return Reference(
            name,
            origin,
            mirrored,
            turns % 4,
            columns,
            rows,
            (spans[0] // columns, spans[1] // columns),
            (spans[2] // rows, spans[3] // rows),
        )


_ENDEL_RECORD = b"\x00\x04\x11\x00"
_ENDEL, _XY, _LAYER = int(Record.ENDEL), int(Record.XY), int(Record.LAYER)
_SORT = {int(Record.BOUNDARY): int(Record.DATATYPE), int(Record.BOX): int(Record.BOXTYPE)}
_OUTSIDE = frozenset((int(Record.ENDSTR), int(Record.BGNSTR), int(Record.ENDLIB)))
_ELEMENTS = frozenset(
    int(kind) for kind in (Record.BOUNDARY, Record.PATH, Record.SREF, Record.AREF, Record.TEXT, Record.BOX, Record.NODE)
)


def _text(value: bytes) -> str:
    """Read a name or text; what cannot be printed is escaped here already, so that a reader can type it."""
    return in_one_line(value.rstrip(b"\0").decode("utf-8", errors="replace"))


def _points(value: bytes) -> tuple[Point, ...]:
    numbers = struct.unpack(f">{len(value) // 4}i", value)
    return tuple(zip(numbers[::2], numbers[1::2], strict=True))


def _layer(parts: dict[int, bytes], sort: int) -> tuple[int, int]:
    return int.from_bytes(parts[_LAYER], "big"), int.from_bytes(parts[sort], "big")


def _path(parts: dict[int, bytes]) -> Shape:
    width = abs(struct.unpack(">i", parts[Record.WIDTH])[0]) if Record.WIDTH in parts else 0
    style = int.from_bytes(parts.get(Record.PATHTYPE, b"\0\0"), "big")
    if style == 4:
        ends = tuple(
            2 * struct.unpack(">i", parts[r])[0] if r in parts else 0 for r in (Record.BGNEXTN, Record.ENDEXTN)
        )
    else:
        ends = (0, 0) if style == 0 else (width, width)
    return Shape(
        _layer(parts, Record.DATATYPE), _points(parts[Record.XY]), path=True, width=width, ends=(ends[0], ends[1])
    )
