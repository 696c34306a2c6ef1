"""Read the tiling of an array as lines that cross address lines: what is in series, what in parallel, which load."""

from collections.abc import Iterator

from layoutdrill.cells.compact import HIGH, LOW, Device
from layoutdrill.cells.tiling import Place, Tile, Tiling
from layoutdrill.process.terms import Mode
from layoutdrill.value import value


@value
class Link:
    """
    A transistor on an address line: its name, the net of its gate, and its ends, that nearer the beginning first.

    One in `depletion` conducts whatever its line says.
    """

    name: str
    gate: str
    ends: tuple[str, str]
    column: int
    depletion: bool = False


@value
class Row:
    """
    A row of the array. `series` leads from its beginning to the output, `parallel` are transistors from the output to
    the other rail; `load` is the name of its load, or "".
    """

    row: int
    series: tuple[Link, ...]
    parallel: tuple[Link, ...]
    load: str

    @property
    def output(self) -> str:
        return self.series[-1].ends[1]


@value
class Complement:
    """The inverter of an address line: its column, the line, its complement, and its transistors."""

    column: int
    line: str
    complement: str
    transistors: tuple[str, ...]


@value
class Plan:
    """`pairs` holds the address lines column by column; `rows` the rows from the lowest up."""

    pairs: tuple[tuple[str, ...], ...]
    rows: tuple[Row, ...]
    complements: tuple[Complement, ...]

    @property
    def first_column(self) -> int:
        """Return the number of the first address column in the tiling."""
        return min(link.column for row in self.rows for link in row.series)

    @property
    def tree(self) -> bool:
        """Tell whether the rows branch off from one another."""
        return any(link.ends[0] not in (LOW, HIGH) for row in self.rows for link in row.series[:1])


def is_series(tiling: Tiling) -> bool:
    """Tell whether an array is one of series rows: each tile a part of a row in series, or the inverter of a line."""
    parts = {_part(tile) for tile in tiling.tiles.values()}
    return "link" in parts and "other" not in parts


def _part(tile: Tile) -> str:
    if tile.devices and not tile.left and not tile.right:
        return "complement"
    kinds = [_kind(tile, device) for device in tile.devices]
    if None in kinds or kinds.count("link") > 1:
        return "other"
    return "link" if "link" in kinds else "load" if kinds else "wires"


def _kind(tile: Tile, device: Device) -> str | None:
    """Tell what a device is in its row: a link in series, a bridge to a rail parallel the series, or a load."""
    rails, ports = {LOW, HIGH}, set(tile.ports) - {LOW, HIGH}
    if device.gate in tile.upright:
        if set(device.ends) <= ports | rails and len(set(device.ends) & rails) < 2 and device.ends[0] != device.ends[1]:
            if not set(device.ends) & rails:
                return "link"
            return "parallel" if len(tile.devices) == 2 else None
        return None
    return "load" if len(tile.devices) == 1 and not tile.upright and set(device.ends) & rails else None


def plan_of(tiling: Tiling) -> Plan:
    """Return the plan of an array that suits."""
    columns: dict[int, tuple[str, ...]] = {}
    rows: dict[int, list[Place]] = {}
    complements = []
    for place in tiling.places:
        tile, nets = tiling.tiles[place.tile], dict(place.joined)
        if _part(tile) == "complement":
            line = nets[tile.bottom[0]]
            other = next(nets[port] for port in tile.top if port not in tile.bottom)
            complements.append(Complement(place.column, line, other, place.transistors))
            continue
        if _part(tile) == "link":
            columns.setdefault(place.column, tuple(nets[port] for port in tile.upright))
        rows.setdefault(place.row, []).append(place)
    series_rows = tuple(
        _row(row, tiling, sorted(places, key=lambda p: p.column)) for row, places in sorted(rows.items())
    )
    return Plan(tuple(columns[c] for c in sorted(columns)), series_rows, tuple(complements))


def _row(row: int, tiling: Tiling, places: list[Place]) -> Row:
    links: dict[str, list[Link]] = {"link": [], "parallel": [], "load": []}
    for kind, link in _links(tiling, places):
        links[kind].append(link)
    load = links["load"][-1].name if links["load"] else ""
    return Row(row, tuple(links["link"]), tuple(links["parallel"]), load)


def _links(tiling: Tiling, places: list[Place]) -> Iterator[tuple[str, Link]]:
    for place in places:
        tile, nets = tiling.tiles[place.tile], {LOW: LOW, HIGH: HIGH} | dict(place.joined)
        for name, device in zip(place.transistors, tile.devices, strict=True):
            kind = _kind(tile, device)
            assert kind is not None
            first, second = device.ends
            if second in (*tile.left, *tile.bottom) and first not in (*tile.left, *tile.bottom):
                first, second = second, first
            depletion = device.mode is Mode.DEPLETION
            yield kind, Link(name, nets[device.gate], (nets[first], nets[second]), place.column, depletion)
