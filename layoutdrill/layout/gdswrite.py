"""Write a layout as a GDSII stream file: the same layout gives the same bytes, so no dates go in."""

import struct

from layoutdrill.errors import LayoutdrillError
from layoutdrill.layout.gdsrecords import ASCII, BITS, INT2, INT4, NO_DATA, REAL8, Record, pack_real8, record
from layoutdrill.layout.model import Layout
from layoutdrill.process.model import Process
from layoutdrill.value import Itself

_DATES = struct.pack(">12h", *(1970, 1, 1, 0, 0, 0) * 2)


def write_gdsii(layout: Layout, process: Process) -> bytes:
    """
    Return the stream: placed layouts as cells of their own, a rectangle as a BOUNDARY, a label as a TEXT.

    A database unit is a grid unit of the process. Raises LayoutdrillError for a layer without a GDSII number, a name
    that is not printable ASCII, and a coordinate beyond 32 bits.
    """
    order: list[Layout] = []
    _collect(layout, order, {Itself(layout)})
    names = _names(order)
    parts = [
        record(Record.HEADER, INT2, struct.pack(">h", 600)),
        record(Record.BGNLIB, INT2, _DATES),
        record(Record.LIBNAME, ASCII, b"LAYOUT"),
        record(Record.UNITS, REAL8, pack_real8(process.grid_nm / 1000) + pack_real8(process.grid_nm * 1e-9)),
    ]
    for cell in order:
        parts.append(record(Record.BGNSTR, INT2, _DATES))
        parts.append(record(Record.STRNAME, ASCII, _ascii(names[Itself(cell)], "cell")))
        _shapes(cell, process, parts)
        for placement in cell.placements:
            t = placement.transform
            parts.append(record(Record.SREF, NO_DATA))
            parts.append(record(Record.SNAME, ASCII, _ascii(names[Itself(placement.layout)], "cell")))
            if t.mirrored or t.turns % 4:
                parts.append(record(Record.STRANS, BITS, struct.pack(">H", 0x8000 if t.mirrored else 0)))
            if t.turns % 4:
                parts.append(record(Record.ANGLE, REAL8, pack_real8(90.0 * (t.turns % 4))))
            parts.append(_xy(t.dx, t.dy))
            parts.append(record(Record.ENDEL, NO_DATA))
        parts.append(record(Record.ENDSTR, NO_DATA))
    parts.append(record(Record.ENDLIB, NO_DATA))
    return b"".join(parts)


def _collect(layout: Layout, order: list[Layout], known: set[Itself[Layout]]) -> None:
    """List placed layouts before those that place them, each once."""
    for placement in layout.placements:
        if (placed := Itself(placement.layout)) not in known:
            known.add(placed)
            _collect(placement.layout, order, known)
    order.append(layout)


def _names(order: list[Layout]) -> dict[Itself[Layout], str]:
    """Give each cell its name, a second one of the same name NAME_2."""
    names: dict[Itself[Layout], str] = {}
    taken: set[str] = set()
    for cell in reversed(order):
        name, count = cell.name, 1
        while name in taken:
            count += 1
            name = f"{cell.name}_{count}"
        taken.add(name)
        names[Itself(cell)] = name
    return names


def _shapes(cell: Layout, process: Process, parts: list[bytes]) -> None:
    for layer, rects in cell.shapes.items():
        if not rects:
            continue
        mask = process.layers.get(layer)
        if mask is None or mask.gds is None:
            raise LayoutdrillError(
                f'layer "{layer}" has no GDSII number',
                where=process.where,
                todo='add "gds: LAYER/DATATYPE" to the layer',
            )
        head = (
            record(Record.BOUNDARY, NO_DATA)
            + record(Record.LAYER, INT2, struct.pack(">h", mask.gds[0]))
            + record(Record.DATATYPE, INT2, struct.pack(">h", mask.gds[1]))
        )
        for x0, y0, x1, y1 in rects:
            parts.append(head)
            parts.append(_xy(x0, y0, x1, y0, x1, y1, x0, y1, x0, y0))
            parts.append(record(Record.ENDEL, NO_DATA))
    for label in cell.labels:
        mask = process.layers.get(label.layer)
        if mask is None or not mask.label_gds:
            raise LayoutdrillError(
                f'layer "{label.layer}" has no GDSII number for labels',
                where=process.where,
                todo='add "label_gds: [LAYER/TEXTTYPE]" to the layer',
            )
        parts.append(record(Record.TEXT, NO_DATA))
        parts.append(record(Record.LAYER, INT2, struct.pack(">h", mask.label_gds[0][0])))
        parts.append(record(Record.TEXTTYPE, INT2, struct.pack(">h", mask.label_gds[0][1])))
        parts.append(_xy(label.x, label.y))
        parts.append(record(Record.STRING, ASCII, _ascii(label.text, "label")))
        parts.append(record(Record.ENDEL, NO_DATA))


def _xy(*numbers: int) -> bytes:
    try:
        return record(Record.XY, INT4, struct.pack(f">{len(numbers)}i", *numbers))
    except struct.error:
        raise LayoutdrillError(
            f"coordinate {max(numbers, key=abs)} is beyond what GDSII can hold", todo="use a coarser grid"
        ) from None


def _ascii(text: str, what: str) -> bytes:
    if not text or not text.isascii() or not text.isprintable():
        raise LayoutdrillError(
            f'{what} name "{text}" cannot go into a GDSII file', todo="use printable ASCII characters"
        )
    return text.encode("ascii")
