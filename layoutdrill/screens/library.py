"""The library: choose a cell, an array or a process, and read its entry like a lesson."""

from typing import TYPE_CHECKING

from layoutdrill.screens.choose_page import ChoosePage
from layoutdrill.screens.list_page import Row

if TYPE_CHECKING:
    from textual.app import App

PROCESS = "process:"


def library_page(app: "App[object]") -> ChoosePage:
    """Return the page that lists what can be looked up."""

    def take(key: str) -> None:
        from layoutdrill.deck.entry import cell_entry, process_entry  # noqa: PLC0415
        from layoutdrill.screens.lesson_screen import LessonScreen  # noqa: PLC0415

        name = key.removeprefix(PROCESS)
        app.push_screen(LessonScreen(process_entry(name) if key != name else cell_entry(name)))

    return ChoosePage("Library", library_rows(), take)


def library_rows() -> tuple[Row, ...]:
    """Return processes, then cells by family, then arrays."""
    from layoutdrill.cells import cell_names, load_cell  # noqa: PLC0415
    from layoutdrill.cells.arrays import array_names  # noqa: PLC0415
    from layoutdrill.deck.read import drawn_processes  # noqa: PLC0415
    from layoutdrill.process import load_process  # noqa: PLC0415

    rows = [Row("", "processes")]
    rows += [Row(f"{PROCESS}{name}", name, load_process(name).title) for name in drawn_processes()]
    family = ""
    for cell in map(load_cell, (*cell_names(), *array_names())):
        if cell.family != family:
            family = cell.family
            rows.append(Row("", family))
        rows.append(Row(cell.name, cell.name, cell.title))
    return tuple(rows)
