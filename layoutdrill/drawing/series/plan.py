"""Read the tiling of an array as lines that cross address lines: what is in series, what in parallel, which load."""

from layoutdrill.cells.compact import HIGH, LOW
from layoutdrill.cells.tiling import Part, Standing, Tiling
from layoutdrill.drawing.shared.inverters import Inverter, inverters_of
from layoutdrill.value import value


@value
class Row:
    """
    A row of the array. `series` leads from its beginning to the output, the first end of each nearer the beginning;
    `parallel` are transistors from the output to the other rail; `load` is the name of its load, or "".
    """

    series: tuple[Standing, ...]
    parallel: tuple[Standing, ...]
    load: str

    @property
    def output(self) -> str:
        return self.series[-1].ends[1]


@value
class Plan:
    """`pairs` holds the address lines column by column; `rows` the rows from the lowest up."""

    pairs: tuple[tuple[str, ...], ...]
    rows: tuple[Row, ...]
    complements: tuple[Inverter, ...]

    @property
    def sorts(self) -> list[list[str]]:
        """Return the names of the transistors of each sort, which must be alike."""
        return [
            [link.name for row in self.rows for link in row.series],
            [link.name for row in self.rows for link in row.parallel],
            [row.load for row in self.rows if row.load],
            [i.driver for i in self.complements],
            [i.pull_up for i in self.complements],
        ]

    @property
    def tree(self) -> bool:
        """Tell whether the rows branch off from one another."""
        return any(row.series[0].ends[0] not in (LOW, HIGH) for row in self.rows)


def plan_of(tiling: Tiling) -> Plan:
    """Return the plan of an array that has links."""
    parts = tiling.parts
    inner = {end for link in parts[Part.LINK] for end in link.ends}
    columns = [tuple(net for net in nets if net not in inner) for nets in tiling.through("column")]

    def in_row(part: Part, row: int) -> tuple[Standing, ...]:
        return tuple(s for s in parts.get(part, ()) if s.row == row)

    rows = tuple(
        Row(in_row(Part.LINK, row), in_row(Part.BESIDE, row), next((s.name for s in in_row(Part.LOAD, row)), ""))
        for row in sorted({link.row for link in parts[Part.LINK]})
    )
    return Plan(tuple(filter(None, columns)), rows, inverters_of(parts))
