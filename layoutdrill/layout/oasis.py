"""Read an OASIS file with the optional library gdstk (extra `gds`), by way of a GDSII stream."""

import tempfile
from pathlib import Path

from layoutdrill.errors import LayoutdrillError, Where
from layoutdrill.intake import read_bytes
from layoutdrill.layout.gdscells import MAX_BYTES, read_library
from layoutdrill.layout.gdsii import layout_of
from layoutdrill.layout.model import Layout
from layoutdrill.process.model import Process

MAGIC = b"%SEMI-OASIS\r\n"
"""The first bytes of an OASIS file (SEMI P39, from memory)."""


def read_oasis(path: Path, process: Process, cell: str | None = None) -> Layout:
    """
    Return a cell as `read_gdsii` does.

    Raises LayoutdrillError where gdstk is not installed or cannot read the file, and for all that GDSII may lack.
    """
    where = Where(str(path))
    try:
        import gdstk  # noqa: PLC0415 - an extra, and heavy
    except ImportError:
        raise LayoutdrillError(
            "OASIS files need the library gdstk", where=where, todo='install it: pip install "layoutdrill[gds]"'
        ) from None
    if not path.is_file():
        raise LayoutdrillError("no such file", where=where, todo="check the path")
    with path.open("rb") as file:
        head = file.read(len(MAGIC))
    if head != MAGIC:
        raise LayoutdrillError("not an OASIS file: it does not start with %SEMI-OASIS", where=where)
    try:
        library = gdstk.read_oas(str(path))
        with tempfile.TemporaryDirectory() as folder:
            stream = Path(folder) / "stream.gds"
            library.write_gds(str(stream))
            data = read_bytes(stream, MAX_BYTES, name=str(path))
    except (RuntimeError, OSError) as error:
        raise LayoutdrillError(f"cannot be read as OASIS: {error}", where=where) from None
    return layout_of(read_library(data, str(path)), process, cell)
