"""What the names in a deck stand for: cells, layouts, photographs, processes, looks; its own and those that ship."""

from collections.abc import Callable, Iterable
from functools import cache
from pathlib import Path
from typing import TypeVar

from layoutdrill.brought import beside_of, is_brought, name_of
from layoutdrill.cells import Cell, cell_names, find_cell, load_cell
from layoutdrill.deck.beside import beside
from layoutdrill.deck.model import KIT_PROCESS, OwnLayout, Photographed
from layoutdrill.deck.values import numbered
from layoutdrill.errors import LayoutdrillError, did_you_mean
from layoutdrill.picture.looks import PHOTOGRAPHIC, Look, load_look, look_names
from layoutdrill.process import Process, load_process, process_names
from layoutdrill.yamldoc import Node
from layoutdrill.yamldoc.collect import Collector

Brought = TypeVar("Brought", Process, Look)

MOST_IN_A_ROW = 40
_YAML = (".yaml", ".yml")


class Known:
    """Looks names up while a deck is read, and collects the errors; what it brings along is added as it comes."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.collect = Collector()
        self.cells: dict[str, Cell] = {}
        self.named: set[str] = set()
        """The deck's own cells by name, also those that cannot be read: that is told once, where they are."""
        self.layouts: dict[str, OwnLayout] = {}
        self.photographs: dict[str, Photographed] = {}
        self.brought: dict[str, Path] = {}
        self.kit = ""
        self.processes: tuple[str, ...] = ()
        """Those of the whole deck."""
        self._places: dict[Path, tuple[str, ...] | None] = {}
        """The places of each mark file that was read, None of one that cannot be: that is told once."""

    # Cells

    def cell_name(self, node: Node) -> str:
        """Read a cell's name; a kit's own cells are known only when the kit is there, so any name will do."""
        if self.kit:
            return node.text()
        name = node.text()
        if name in self.cells or name in self.named or name in self.layouts:
            return name
        try:
            entry = find_cell(name)
        except LayoutdrillError as error:
            refusal = error
            node.fail(refusal.what, lambda: refusal.todo)
        if entry is None:
            node.fail(f'no cell "{name}"', lambda: did_you_mean(name, (*self.cells, *self.named, *every_name())))
        return name

    def cells_named(self, node: Node) -> tuple[str, ...]:
        """Read the name of a cell, or of a row of them such as nand2..nand4."""
        first, dots, last = node.text().partition("..")
        if not dots or self.kit:
            return (self.cell_name(node),)
        stem, low = numbered(first)
        other, high = numbered(last if not last.isdigit() else stem + last)
        if not stem or stem != other or not 0 <= low < high <= low + MOST_IN_A_ROW:
            node.fail(f"“{node.text()}” is no row of cells", "write it as nand2..nand4")
        return tuple(self.cell_name(Node(f"{stem}{number}", node.where)) for number in range(low, high + 1))

    def cell(self, name: str) -> Cell | None:
        """Return a cell that is drawn; None for a kit's, a layout, and one that could not be read."""
        if self.kit or name in self.layouts or (name in self.named and name not in self.cells):
            return None
        return self.cells.get(name) or load_cell(name)

    # Processes and looks

    def process(self, node: Node) -> str:
        """Read the name of a process, or of the file of one beside the deck."""
        name = node.text()
        if name.endswith(_YAML) or is_brought(name):
            return self._bring(node, load_process).name
        return node.word(process_names(), "process")

    def drawn_process(self, node: Node) -> str:
        """Read the name of a process that cells are drawn in."""
        name = node.text()
        if not name.endswith(_YAML) and not is_brought(name):
            return node.word(drawn_processes(), "process to draw in")
        process = self._bring(node, load_process)
        if process.drawing is None:
            node.fail(f"“{name}” says not how cells are drawn", "add a section “drawing:”, as those that ship have")
        return process.name

    def processes_of(self, fields: dict[str, Node]) -> tuple[str, ...]:
        return self.collect.entries(fields, "processes", self.drawn_process)

    def look(self, node: Node) -> str:
        """Read the name of a look, or of the file of one beside the deck."""
        name = node.text()
        if name.endswith(_YAML) or is_brought(name):
            return self._bring(node, load_look).name
        return node.word(look_names(), "look")

    def _bring(self, node: Node, load: Callable[[str], Brought]) -> Brought:
        """Read a process or a look that lies beside the deck, or that was kept when it did."""
        name = node.text()
        try:
            if not is_brought(name):
                path = beside(node, self.folder, _YAML)
                name = name_of(path)
                self.brought[name] = path
            return load(name)
        except LayoutdrillError as error:
            raise LayoutdrillError(error.what, where=error.where or node.where, todo=error.todo) from None

    # Photographs

    def places(self, fields: dict[str, Node]) -> tuple[str, ...]:
        """Return the places that “photo” and “regions” name, by the names that stand for them among cells."""
        nothing: tuple[str, ...] = ()
        return self.collect.attempt(lambda: self._photographed(fields), nothing) if "photo" in fields else nothing

    def _photographed(self, fields: dict[str, Node]) -> tuple[str, ...]:
        from layoutdrill.deck.photographs import marks_file, read_marks_file  # noqa: PLC0415 - few decks have one

        path = marks_file(fields["photo"], self.folder)
        if path not in self._places:
            self._places[path] = None
            places, errors = read_marks_file(path)
            if errors:
                self.collect.errors += errors
                return ()
            self.photographs |= places
            for place in places.values():
                if (process := beside_of(place.process)) is not None:
                    self.brought[place.process] = process
            self._places[path] = tuple(places)
        names = self._places[path] or ()
        regions = [self.photographs[name].region for name in names]
        if "regions" in fields and names:
            wanted = self.collect.words(fields, "regions", regions, "region")
            names = tuple(name for name in names if self.photographs[name].region in wanted)
        return names

    def fitting(self, cells: Iterable[Cell]) -> tuple[str, ...]:
        """Return the processes in which each cell makes sense."""
        wanted = list(cells)
        return tuple(name for name in drawn_processes() if all(cell.fits(load_process(name)) for cell in wanted))


@cache
def drawn_processes() -> tuple[str, ...]:
    """Return the processes in which cells are drawn: all but the kit's, which has layouts of its own."""
    return tuple(name for name in process_names() if name != KIT_PROCESS)


def every_name() -> tuple[str, ...]:
    """Return the names of all cells of the library, and of arrays of the usual sizes."""
    from layoutdrill.cells.arrays import array_names  # noqa: PLC0415 - few decks have arrays

    return (*cell_names(), *array_names())


@cache
def lights() -> dict[str, str]:
    """Return the look that ships for each light of a microscope."""
    looks = {load_look(name).style: name for name in look_names()}
    return {style.value: looks[style] for style in PHOTOGRAPHIC if style in looks}
