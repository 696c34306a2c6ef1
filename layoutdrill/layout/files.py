"""Read a layout from a file of either sort: a GDSII stream (also gzipped), or OASIS with the optional library."""

from pathlib import Path

from layoutdrill.layout.gdsii import read_gdsii
from layoutdrill.layout.model import Layout
from layoutdrill.layout.oasis import MAGIC, read_oasis
from layoutdrill.process.model import Process


def read_layout(path: Path, process: Process, cell: str | None = None) -> Layout:
    """Return a cell of the file, told by its first bytes whatever its name. Errors: as `read_gdsii`, `read_oasis`."""
    try:
        with path.open("rb") as file:
            head = file.read(len(MAGIC))
    except OSError:
        head = b""
    return read_oasis(path, process, cell) if head == MAGIC else read_gdsii(path, process, cell)
