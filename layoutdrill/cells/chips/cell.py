"""A chip as a cell of the library, so that decks and commands may name it like any other."""

from layoutdrill.cells.chips.model import Chip
from layoutdrill.cells.chips.read import chip_names, load_chip
from layoutdrill.cells.model import Cell
from layoutdrill.netlist.model import Netlist
from layoutdrill.process import Process
from layoutdrill.value import value


@value
class ChipCell(Cell):
    """A cell that is a whole chip, drawn by its plan."""

    chip: Chip | None = None

    def netlist(self, process: Process) -> Netlist:
        assert self.chip is not None
        return self.chip.netlist(process)

    def fits(self, process: Process) -> bool:
        return self.chip is not None and self.chip.fits(process)


def chip_cell(name: str) -> ChipCell | None:
    """Return the chip of a name as a cell, None where there is none."""
    if name not in chip_names():
        return None
    chip = load_chip(name)
    return ChipCell(
        name=name,
        title=chip.title,
        family="chips",
        structure=chip.title,
        aliases=(),
        ports=chip.ports,
        function=(),
        does=chip.about,
        stages=(),
        netlists={},
        boundary="the whole die, pads and what stands at them included",
        look_for="the pads and the widest metal first; then what repeats, its pitch, and one of it in full.",
        mistaken_for=(),
        only=(),
        where=chip.where,
        chip=chip,
    )
