"""A cell: what the library says of it, and its netlist in any process that it fits."""

from collections.abc import Callable
from dataclasses import field

from layoutdrill.cells.build import build
from layoutdrill.cells.entry import Entry, Lookalike, Port, Style, style_of
from layoutdrill.errors import LayoutdrillError
from layoutdrill.netlist.model import Netlist
from layoutdrill.netlist.roles import Role
from layoutdrill.process import Process
from layoutdrill.value import value

__all__ = ["Cell", "Lookalike", "Port", "Role", "Style", "style_of"]


def _no_other(name: str) -> Entry:
    raise LayoutdrillError(f'no cell "{name}" here')


@value
class Cell(Entry):
    """An entry that can be built; `lookup` finds the cells that it uses by their names."""

    lookup: Callable[[str], Entry] = field(default=_no_other, repr=False, compare=False)

    def netlist(self, process: Process) -> Netlist:
        """
        Return the cell as transistors: the rails that are used first, then the ports as listed.

        Raises LayoutdrillError where the cell does not fit the process.
        """
        return build(self, process, self.lookup)
