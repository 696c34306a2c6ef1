"""The library: choose a cell, an array or a process, and read its entry like a lesson."""

from typing import ClassVar

from layoutdrill.cells import cells_as_met, load_cell
from layoutdrill.cells.arrays import array_names
from layoutdrill.deck.known import drawn_processes
from layoutdrill.process import load_process
from layoutdrill.screens.doors import DoorPage
from layoutdrill.screens.page import bindings_for
from layoutdrill.screens.row import Row


class LibraryScreen(DoorPage):
    """What can be looked up; it stays below the entry that is read, and below the questions on it."""

    name_of: ClassVar[str] = "library"
    about: ClassVar[str] = (
        "Everything that can be looked up: processes, cells, arrays. An entry has pages with live pictures, what to "
        "look for, look-alikes side by side, and questions."
    )
    BINDINGS = bindings_for("library")

    def on_mount(self) -> None:
        self.head("Library")
        self.fill(library_rows())


def library_rows() -> tuple[Row, ...]:
    """Return cells by family as a learner meets them, then arrays, then processes."""
    rows: list[Row] = []
    family = ""
    for cell in map(load_cell, (*cells_as_met(), *array_names())):
        if cell.family != family:
            family = cell.family
            rows.append(Row("", family))
        rows.append(Row(f"cell:{cell.name}", cell.name, cell.title))
    rows.append(Row("", "processes"))
    rows += [Row(f"process:{name}", name, load_process(name).title) for name in drawn_processes()]
    return tuple(rows)
