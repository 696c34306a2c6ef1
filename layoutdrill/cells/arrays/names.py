"""
Find arrays by name. A name carries the parameters; FORMS lists what there is:

    decoder3_nor, decoder3_nand, decoder3_tree   2 to 6 address lines; with _own, complements made inside
    ram_array_4x4, memory_array_4x4              words × bits, to 16 × 16
    register_row_8, _reset_8, load_row_8         bits, 2 to 16
    shift_register_8, _dynamic_8, _two_phase_8   bits, 2 to 16
    fifo_slice_4, fifo_3x4, fifo_ready_3x4       bits; stages × bits; “ready”: the markers’ opposites leave too

ROM and PLA planes are listed with their contents in data/planes/*.yaml, gate arrays in data/bases/*.yaml.
"""

import re
from collections.abc import Callable
from functools import cache, partial
from pathlib import Path

from layoutdrill.cells.arrays.bases import read_bases
from layoutdrill.cells.arrays.decoder import decoder
from layoutdrill.cells.arrays.planes import CONTACT, METAL, pla, rom_decoded, rom_plane
from layoutdrill.cells.arrays.rows import (
    fifo,
    load_row,
    memory_array,
    ram_array,
    register_row,
    reset_row,
    shift_register,
)
from layoutdrill.cells.arrays.series_rom import rom_series
from layoutdrill.cells.model import Cell
from layoutdrill.errors import LayoutdrillError, did_you_mean
from layoutdrill.yamldoc import Node, load

PLANES = Path(__file__).parent.parent / "data" / "planes"
BASES = Path(__file__).parent.parent / "data" / "bases"
_LEAST, _MOST = 2, 16

_DECODER = re.compile(r"decoder([2-6])_(nor|nand|tree)(_own)?")
_GRID = re.compile(r"(ram_array|memory_array|fifo_ready|fifo)_([0-9]+)x([0-9]+)")
_ROW = re.compile(
    r"(register_row|register_row_reset|load_row|fifo_slice|shift_register|shift_register_dynamic|shift_register_two_phase)_([0-9]+)"
)

FORMS = (
    "decoderN_nor", "decoderN_nand", "decoderN_tree", "decoderN_nor_own", "decoderN_nand_own", "decoderN_tree_own",
    "ram_array_RxC", "memory_array_RxC", "register_row_N", "register_row_reset_N",
    "load_row_N", "shift_register_N", "shift_register_dynamic_N",
    "shift_register_two_phase_N", "fifo_slice_N", "fifo_SxN",
    "fifo_ready_SxN",
)  # fmt: skip
"""How the names of arrays are written; N, R, C and S stand for numbers."""

_USUAL = (
    *(f"decoder{n}_{form}{own}" for n in (2, 3, 4) for form in ("nor", "nand", "tree") for own in ("", "_own")),
    "ram_array_2x2", "ram_array_4x4", "memory_array_4x4", "register_row_4", "register_row_8", "load_row_4",
    "shift_register_4", "shift_register_dynamic_4", "shift_register_two_phase_4", "fifo_slice_4", "fifo_3x4",
)  # fmt: skip


def array_names() -> tuple[str, ...]:
    """Return arrays of the usual sizes, and all planes; other sizes are made when they are asked for by name."""
    return (*_USUAL, *_planes())


@cache
def array_cell(name: str) -> Cell | None:
    """Return the array that a name means, or None; raises LayoutdrillError for a size out of range."""
    if match := _DECODER.fullmatch(name):
        return decoder(name, int(match[1]), match[2], own=bool(match[3]))
    if match := _GRID.fullmatch(name):
        first, second = _size(name, match[2]), _size(name, match[3])
        grids: dict[str, Callable[[str, int, int], Cell]] = {
            "ram_array": ram_array,
            "memory_array": memory_array,
            "fifo": fifo,
            "fifo_ready": partial(fifo, ready=True),
        }
        return grids[match[1]](name, first, second)
    if match := _ROW.fullmatch(name):
        bits = _size(name, match[2])
        if match[1].startswith("shift_register"):
            return shift_register(name, match[1].removeprefix("shift_register").removeprefix("_"), bits)
        if match[1] == "fifo_slice":
            return fifo(name, 1, bits)
        rows = {"register_row": register_row, "register_row_reset": reset_row, "load_row": load_row}
        return rows[match[1]](name, bits)
    make_plane = _planes().get(name)
    return make_plane() if make_plane is not None else None


def _size(name: str, figure: str) -> int:
    size = int(figure)
    if not _LEAST <= size <= _MOST:
        raise LayoutdrillError(f"{name} is out of range", todo=f"give sizes from {_LEAST} to {_MOST}")
    return size


@cache
def _planes() -> dict[str, Callable[[], Cell]]:
    """Return what makes each plane and gate array of the data files, by its name."""
    planes: dict[str, Callable[[], Cell]] = {}
    for path in sorted(PLANES.glob("*.yaml")):
        root = load(path, name=f"layoutdrill/cells/data/planes/{path.name}").root
        for node in root.fields(("planes",))["planes"]:
            planes.update(read_plane(node))
    for path in sorted(BASES.glob("*.yaml")):
        root = load(path, name=f"layoutdrill/cells/data/bases/{path.name}").root
        planes.update(map(read_bases, root.fields(("arrays",))["arrays"]))
    return planes


def read_plane(node: Node) -> dict[str, Callable[[], Cell]]:
    """
    Read one entry: `name`, `title`, and either `words` (rows of 0 and 1) or `inputs` and `sums` (one a line).

    A ROM gives cells of each sort: NAME with n transistors, NAME_p with p transistors, NAME_decoded with its decoder,
    NAME_contact and NAME_metal, in which every crossing has a transistor and its contact or its metal counts,
    NAME_series and NAME_series_p, whose bit lines are in series, and NAME_implant, in which an implant counts.
    """
    fields = node.fields(("name", "title"), ("words", "inputs", "sums"))
    name, title = fields["name"].text(), fields["title"].text()
    if "words" in fields:
        words = tuple(item.text() for item in fields["words"].lines())
        return {
            name: lambda: rom_plane(name, title, words),
            f"{name}_p": lambda: rom_plane(f"{name}_p", f"{title}, p transistors", words, p_kind=True),
            f"{name}_contact": lambda: rom_plane(f"{name}_contact", title, words, program=CONTACT),
            f"{name}_metal": lambda: rom_plane(f"{name}_metal", title, words, program=METAL),
            f"{name}_series": lambda: rom_series(f"{name}_series", title, words),
            f"{name}_series_p": lambda: rom_series(f"{name}_series_p", title, words, p_kind=True),
            f"{name}_implant": lambda: rom_series(f"{name}_implant", title, words, implanted=True),
            f"{name}_decoded": lambda: rom_decoded(f"{name}_decoded", f"{title}, with its decoder", words),
        }
    if "inputs" not in fields or "sums" not in fields:
        node.fail("neither words nor inputs and sums are given", did_you_mean("words", ("words", "inputs, sums")))
    inputs = tuple(item.text() for item in fields["inputs"])
    sums = tuple(item.text() for item in fields["sums"].lines())
    return {name: lambda: pla(name, title, inputs, sums)}
