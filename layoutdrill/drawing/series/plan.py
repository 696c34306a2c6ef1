"""Read the tiling of an array as lines that cross address lines: what is in series, what in parallel, which load."""

from layoutdrill.cells.compact import HIGH, LOW
from layoutdrill.cells.tiling import Part, Standing, Tiling
from layoutdrill.drawing.shared.inverters import Inverter, inverters_of
from layoutdrill.process.terms import Mode
from layoutdrill.value import value


@value
class Link:
    """
    A transistor on an address line: its name, the net of its gate, its ends, that nearer the beginning first, and its
    column, counted from the first address line on. One in `depletion` conducts whatever its line says.
    """

    name: str
    gate: str
    ends: tuple[str, str]
    column: int
    depletion: bool


@value
class Row:
    """
    A row of the array. `series` leads from its beginning to the output, `parallel` are transistors from the output to
    the other rail; `load` is the name of its load, or "".
    """

    series: tuple[Link, ...]
    parallel: tuple[Link, ...]
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
    def tree(self) -> bool:
        """Tell whether the rows branch off from one another."""
        return any(row.series[0].ends[0] not in (LOW, HIGH) for row in self.rows)


def plan_of(tiling: Tiling) -> Plan:
    """Return the plan of an array that has links."""
    parts = tiling.parts
    inner = {end for s in parts[Part.LINK] for end in s.device.ends}
    columns = [tuple(net for net in nets if net not in inner) for nets in tiling.through("column")]
    first = next(number for number, nets in enumerate(columns) if nets)

    def of_row(part: Part, row: int) -> list[Standing]:
        return [s for s in parts.get(part, ()) if s.place.row == row]

    def links(part: Part, row: int) -> tuple[Link, ...]:
        return tuple(
            Link(s.name, s.device.gate, s.device.ends, s.place.column - first, s.device.mode is Mode.DEPLETION)
            for s in of_row(part, row)
        )

    rows = tuple(
        Row(links(Part.LINK, row), links(Part.BESIDE, row), next((s.name for s in of_row(Part.LOAD, row)), ""))
        for row in sorted({s.place.row for s in parts[Part.LINK]})
    )
    return Plan(tuple(nets for nets in columns if nets), rows, inverters_of(tiling))
