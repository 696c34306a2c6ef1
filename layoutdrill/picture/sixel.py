"""
An image as sixels, for terminals that show them.

The format is that of the VT330/VT340 Programmer Reference Manual, volume 2, chapter 14: a device control string holds
colours in percent, then bands of six rows; in a band each colour draws its own pixels over the whole width, a
character a column, its six bits the rows from the top.
"""

import re

from PIL import Image

from layoutdrill.picture.halfblocks import reduced

COLOURS = 64
BAND = 6
_BASE = 63
"""The code of a column without any pixel."""
_SHOWN = bytes(min(255, bits + _BASE) for bits in range(256))
_RUN = re.compile(rb"(.)\1{3,}")


def sixels(image: Image.Image, colours: int = COLOURS) -> str:
    """Return the control string that shows an image from the cursor on; a pixel is one of the terminal's."""
    indexed = reduced(image, colours)
    wide, high = indexed.size
    flat = indexed.getpalette("RGB") or []
    data = indexed.tobytes()
    used = sorted(set(data))
    percent = [round(100 * value / 255) for value in flat]
    parts = [f'\x1bP0;1q"1;1;{wide};{high}'.encode()]
    parts += [b"#%d;2;%d;%d;%d" % (c, *percent[3 * c : 3 * c + 3]) for c in used]
    tables = {c: [bytes(1 << row if v == c else 0 for v in range(256)) for row in range(BAND)] for c in used}
    for top in range(0, high, BAND):
        rows = [data[y * wide : (y + 1) * wide] for y in range(top, min(top + BAND, high))]
        parts.append(b"-" if top else b"")
        drawn = [_column_bits(rows, tables[c], wide).join((b"#%d" % c, b"")) for c in sorted(set(b"".join(rows)))]
        parts.append(b"$".join(drawn))
    parts.append(b"\x1b\\")
    return b"".join(parts).decode("ascii")


def _column_bits(rows: list[bytes], tables: list[bytes], wide: int) -> bytes:
    """Return a colour's characters of one band, repeats shortened, nothing after the last pixel."""
    total = 0
    for row, table in zip(rows, tables, strict=False):
        total |= int.from_bytes(row.translate(table), "little")
    bits = total.to_bytes(wide, "little").rstrip(b"\0")
    return _RUN.sub(lambda run: b"!%d%c" % (len(run[0]), run[1]), bits.translate(_SHOWN))
