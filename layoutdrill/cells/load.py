"""Find a cell by its name: one of the library, an array, whose name carries its numbers, or a whole chip."""

from layoutdrill.cells.library import cell_names, library_cell
from layoutdrill.cells.model import Cell
from layoutdrill.errors import LayoutdrillError, did_you_mean


def find_cell(name: str) -> Cell | None:
    """Return a cell, an array or a chip by its name, or None; raises LayoutdrillError for a size out of range."""
    if name in cell_names():
        return library_cell(name)
    from layoutdrill.cells.arrays import array_cell  # noqa: PLC0415 - few sittings need arrays
    from layoutdrill.cells.chips.cell import chip_cell  # noqa: PLC0415 - fewer need chips

    return array_cell(name) or chip_cell(name)


def load_cell(name: str) -> Cell:
    """Return a cell, an array or a chip by its name; raises LayoutdrillError for a name that there is not."""
    cell = find_cell(name)
    if cell is None:
        from layoutdrill.cells.arrays import array_names  # noqa: PLC0415 - only to mend a name
        from layoutdrill.cells.chips import chip_names  # noqa: PLC0415 - the same

        known = (*cell_names(), *array_names(), *chip_names())
        raise LayoutdrillError(f'no cell "{name}"', todo=did_you_mean(name, known))
    return cell
