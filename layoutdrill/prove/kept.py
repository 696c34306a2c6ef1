"""
Keep proved layouts of whole chips, so that the second opening need not draw and prove again.

An entry is found by a digest of all that it rests on: the netlist, the process's file, seed and difficulty, and the
source of the rooms that draw and prove. It holds the canonical text with a digest of that; one that is damaged, of
another version, or of another layout is passed over, and the chip drawn anew. Whatever is read is extracted again and
compared with the netlist (see `chips`), so that no layout can pass for another. A folder that cannot be written costs
time and nothing else.
"""

import zlib
from contextlib import suppress
from functools import cache
from hashlib import blake2b
from pathlib import Path

from layoutdrill.errors import LayoutdrillError
from layoutdrill.layout.model import Layout
from layoutdrill.layout.text import layout_text, parse_layout
from layoutdrill.locations import PACKAGE, cache_folder
from layoutdrill.netlist.model import Netlist
from layoutdrill.outlet import write_whole
from layoutdrill.process.model import Process

_ROOMS = ("cells", "drawing", "extract", "geometry", "layout", "netlist", "process", "prove", "rules")
_MOST_KEPT = 60
_LARGEST = 8_000_000
"""Bytes of canonical text that an entry may unpack to."""
_LINE = 40


def kept_layout(key: str) -> tuple[Layout, int] | None:
    """Return the layout kept under a key, and the attempt in which it was proved; None where there is none."""
    try:
        head, _, body = _place(key).read_bytes().partition(b"\n")
        unpacker = zlib.decompressobj()
        text = unpacker.decompress(body, _LARGEST)
    except (OSError, zlib.error):
        return None
    fields = head.split()
    if unpacker.unconsumed_tail or len(fields) != 3 or fields[0] != key.encode() or fields[1] != _sum(text):
        return None
    with suppress(LayoutdrillError, ValueError):
        return parse_layout(text.decode()), int(fields[2])
    return None


def keep_layout(key: str, layout: Layout, attempts: int) -> None:
    """Write an entry, whole or not at all, and let the oldest go."""
    text = layout_text(layout).encode()
    place = _place(key)
    with suppress(OSError):
        place.parent.mkdir(parents=True, exist_ok=True)
        head = b" ".join((key.encode(), _sum(text), str(attempts).encode()))
        write_whole(place, head + b"\n" + zlib.compress(text, 6), again=True)
        files = sorted(place.parent.glob("*.layout"), key=lambda path: path.stat().st_mtime)
        for old in files[:-_MOST_KEPT]:
            old.unlink(missing_ok=True)


def key_of(netlist: Netlist, process: Process, seed: int, difficulty: float) -> str:
    """Return the digest under which a layout is kept, "" where the package's source is not at hand."""
    engine = _engine()
    if not engine:
        return ""
    facts = repr((engine, process.name, process.rules, process.layers, process.drawing, seed, difficulty))
    return blake2b(f"{facts}\n{netlist.text()}".encode(), digest_size=16).hexdigest()


@cache
def _engine() -> str:
    summed = blake2b(digest_size=16)
    try:
        for room in _ROOMS:
            for path in sorted((PACKAGE / room).rglob("*.py")):
                summed.update(path.read_bytes().replace(b"\r\n", b"\n"))
    except OSError:
        return ""
    return summed.hexdigest()


def _sum(text: bytes) -> bytes:
    return blake2b(text, digest_size=16).hexdigest().encode()


def _place(key: str) -> Path:
    return cache_folder() / "layouts" / f"{key}.layout"
