"""Find a cell by its name: one of the library, or an array, whose name carries its numbers."""

from layoutdrill.cells.library import cell_names, library_cell
from layoutdrill.cells.model import Cell
from layoutdrill.errors import LayoutdrillError, did_you_mean


def find_cell(name: str) -> Cell | None:
    """Return a cell of the library, an array by its name, or None; raises LayoutdrillError for a size out of range."""
    if name in cell_names():
        return library_cell(name)
    from layoutdrill.cells.arrays import array_cell  # noqa: PLC0415 - few sittings need arrays

    return array_cell(name)


def load_cell(name: str) -> Cell:
    """Return a cell of the library, or an array by its name; raises LayoutdrillError for a name it does not have."""
    cell = find_cell(name)
    if cell is None:
        from layoutdrill.cells.arrays import array_names  # noqa: PLC0415 - only to mend a name

        raise LayoutdrillError(f'no cell "{name}"', todo=did_you_mean(name, (*cell_names(), *array_names())))
    return cell
