"""Know what the open kit's cells are in the trade's terms, by their family; the kit itself need not be there."""

import re
from functools import cache
from pathlib import Path

from layoutdrill.yamldoc import load

_FILE = Path(__file__).parent / "data" / "open-kit" / "structures.yaml"
_STRENGTH = re.compile(r"_[0-9]+\Z")


@cache
def _families() -> tuple[dict[str, str], str]:
    fields = load(_FILE, name="layoutdrill/cells/data/open-kit/structures.yaml").root.fields(
        ("kit", "families", "boundary")
    )
    return {name: node.text() for name, node in fields["families"].mapping().items()}, fields["boundary"].text()


def kit_family(cell: str) -> str:
    """Return a cell's name without the kit's prefix and the drive strength: nand2 for sky130_fd_sc_hd__nand2_1."""
    return _STRENGTH.sub("", cell.rpartition("__")[2])


def kit_structure(cell: str) -> str:
    """Return the canonical term of a kit's cell, "" where there is no single one."""
    return _families()[0].get(kit_family(cell), "")


def kit_boundary() -> str:
    """Return what belongs to a kit's cell when devices are counted."""
    return _families()[1]
