"""What a pair of rows is drawn of: a netlist in a technique, in which row each transistor lies and how large it is."""

from collections.abc import Mapping

from layoutdrill.drawing.shared import Size, sizes_of, technique_for
from layoutdrill.drawing.shared.technique import Technique
from layoutdrill.netlist.model import Netlist, Transistor
from layoutdrill.process.model import Process
from layoutdrill.value import value

ABSENT = -3
"""The number of a supply that the netlist does not have."""


@value
class Job:
    """`rows` (0 at the bottom) and `sizes` (one finger's) are by transistor; `nets` numbers the nets."""

    netlist: Netlist
    technique: Technique
    supplies: tuple[str, str]
    rows: Mapping[str, int]
    sizes: Mapping[str, Size]
    nets: Mapping[str, int]

    @property
    def supply_nets(self) -> tuple[int, int]:
        low, high = self.supplies
        return self.nets.get(low, ABSENT), self.nets.get(high, ABSENT)

    def stands(self, t: Transistor) -> bool:
        """Tell whether a transistor is a load drawn upright between its rail and its output."""
        return self.technique.stands(t, self.supplies)

    @property
    def stand_rows(self) -> tuple[bool, bool]:
        """Tell of each device row whether loads stand in it."""
        rows = {self.rows[t.name] for t in self.netlist.transistors if self.stands(t)}
        return 0 in rows, 1 in rows

    @property
    def least_heights(self) -> tuple[int, int]:
        """Return how high each device row must be for the widths that are given; 0 for a row of free choice."""
        heights = [0, 0]
        for name, size in self.sizes.items():
            if size.width and not size.output:
                row = self.rows[name]
                heights[row] = max(heights[row], size.width + 2 * self.technique.inset)
        return heights[0], heights[1]


def job_of(netlist: Netlist, process: Process, technique: Technique | None = None) -> Job:
    """Return the job of drawing a netlist. Raises LayoutdrillError for sizes that cannot be drawn."""
    t = technique or technique_for(process)
    return Job(
        netlist,
        t,
        process.supplies,
        {transistor.name: t.row_of(transistor, process.supplies) for transistor in netlist.transistors},
        sizes_of(netlist, process, t),
        {net: number for number, net in enumerate(netlist.nets)},
    )
