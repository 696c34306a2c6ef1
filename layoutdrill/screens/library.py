"""The library: choose a cell, an array or a process, and read its entry like a lesson."""

from collections.abc import Iterable
from typing import ClassVar

from textual.message import Message

from layoutdrill.cells import load_cell
from layoutdrill.cells.arrays import array_names
from layoutdrill.cells.library import titles_as_met
from layoutdrill.deck.known import drawn_processes
from layoutdrill.process import load_process
from layoutdrill.screens.doors import DoorPage
from layoutdrill.screens.page import bindings_for
from layoutdrill.screens.row import Row
from layoutdrill.value import mutable


class LibraryScreen(DoorPage):
    """What can be looked up; it stays below the entry that is read, and below the questions on it."""

    name_of: ClassVar[str] = "library"
    about: ClassVar[str] = (
        "Everything that can be looked up: processes, cells, arrays. An entry has pages with live pictures, what to "
        "look for, look-alikes side by side, and questions."
    )
    BINDINGS = bindings_for("library")

    @mutable
    class ListRead(Message):
        """A worker made arrays of the usual sizes, and read the processes."""

        rows: tuple[Row, ...]

    def on_mount(self) -> None:
        self.head("Library")
        self.fill(cell_rows())

        def work() -> None:
            try:
                rows = library_rows()
            except Exception as error:  # noqa: BLE001 - shown as a panel; the app lives on
                self.post_message(self.OpeningFailed(error))
            else:
                self.post_message(self.ListRead(rows))

        self.run_worker(work, thread=True, group="read", exit_on_error=False)

    def on_library_screen_list_read(self, message: ListRead) -> None:
        self.fill(message.rows)


def cell_rows() -> tuple[Row, ...]:
    """Return cells by family as a learner meets them, by what their entries say on top."""
    return _by_family(titles_as_met())


def library_rows() -> tuple[Row, ...]:
    """Return the cells, then arrays, then processes. Slow at first: arrays are made for their titles."""
    arrays = ((cell.name, cell.title, cell.family) for cell in map(load_cell, array_names()))
    processes = (Row(f"process:{name}", name, load_process(name).title) for name in drawn_processes())
    return (*cell_rows(), *_by_family(arrays), Row("", "processes"), *processes)


def _by_family(cells: Iterable[tuple[str, str, str]]) -> tuple[Row, ...]:
    """Return a row for each name, title and family, and a heading where the family changes."""
    rows: list[Row] = []
    last = ""
    for name, title, family in cells:
        if family != last:
            last = family
            rows.append(Row("", family))
        rows.append(Row(f"cell:{name}", name, title))
    return tuple(rows)
