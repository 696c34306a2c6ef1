"""
Make gate arrays from what stands in each base cell: static gates and switches of the library, or nothing.

A base is so many pairs of an n and a p transistor on one strip each. Gates in one base share a source or drain where
their nets meet, and else are kept apart by a pair that is tied off; pairs left over are tied off as well (common
practice: the gates of unused transistors lie on the rails that keep them off).
"""

import itertools
from collections.abc import Callable, Iterator, Sequence

from layoutdrill.cells.arrays.floor import Notes, array
from layoutdrill.cells.build import flat
from layoutdrill.cells.compact import HIGH, LOW, Device
from layoutdrill.cells.library import library_cell
from layoutdrill.cells.model import Cell, Port, Style
from layoutdrill.cells.tiling import Part, Place, Tile, Tiling
from layoutdrill.errors import LayoutdrillError
from layoutdrill.netlist.roles import Role
from layoutdrill.process.terms import Kind, Mode
from layoutdrill.yamldoc import Node

Pair = tuple[Device, Device]
"""An n and a p transistor above it; the ends of each from left to right."""


def read_bases(node: Node) -> tuple[str, Callable[[], Cell]]:
    """Read one gate array: its name, title, ports, function, pairs a base, and `rows` of bases, the lowest first."""
    fields = node.fields(("name", "title", "ports", "function", "pairs", "rows"))
    name, title = fields["name"].text(), fields["title"].text()
    ports = tuple(Port(port, Role(given.text())) for port, given in fields["ports"].mapping().items())
    function = tuple(item.text() for item in fields["function"].lines())
    rows = tuple(item.text() for item in fields["rows"].lines())
    pairs = fields["pairs"].integer(2, 4)
    return name, lambda: gate_array(name, title, ports, function, rows, pairs)


def gate_array(
    name: str, title: str, ports: tuple[Port, ...], function: tuple[str, ...], rows: Sequence[str], pairs: int
) -> Cell:
    """
    Return a gate array; a row is bases parted by “|”, a base gates parted by commas, or “free”.

    Raises LayoutdrillError for gates that no base can hold.
    """
    tiles: dict[str, Tile] = {}
    places: list[Place] = []
    count = 0
    for row, line in enumerate(rows):
        for column, text in enumerate(line.split("|")):
            devices = tuple(d for pair in base(name, text, pairs, f"{row}_{column}") for d in pair)
            tile = Tile(
                f"base_{row}_{column}", text.strip(), devices, rails=(LOW, HIGH), parts=(Part.BASE,) * len(devices)
            )
            nets = dict.fromkeys(net for d in devices for net in (d.gate, *d.ends) if net not in (LOW, HIGH))
            names = tuple(f"M{count + n}" for n in range(1, len(devices) + 1))
            count += len(devices)
            tiles[tile.name] = tile
            places.append(Place(row, column, tile.name, tuple((net, net) for net in nets), transistors=names))
    width = max(len(line.split("|")) for line in rows)
    tiling = Tiling(len(rows), width, tiles, tuple(places))
    notes = Notes(
        title=title,
        structure="gate-array gates",
        aliases=("gate array", "gate-array cells", "uncommitted logic array", "master slice"),
        boundary="all transistors of the bases, those that are tied off too",
        look_for="the same few transistors again and again at one pitch, some without wires; only metal differs.",
        mistaken_for=(("register_row_4", "in a register every bit has the same wires too"),),
    )
    return array(name, notes, ports, {Style.COMPLEMENTARY: tiling}, function)


def base(name: str, text: str, pairs: int, where: str) -> tuple[Pair, ...]:
    """Return the pairs of a base from left to right, those left over tied off; `where` makes names for loose ends."""
    gates = [] if text.strip() == "free" else [part.split() for part in text.split(",")]
    for chosen in itertools.product(*(list(_arrangements(gate, where)) for gate in gates)):
        if (joined := _joined(chosen, pairs)) is not None:
            return _filled(joined, pairs, where)
    raise LayoutdrillError(f"a base of {pairs} pairs in {name} cannot hold “{text.strip()}”", todo="spread it over two")


def _arrangements(gate: Sequence[str], where: str) -> Iterator[tuple[Pair, ...]]:
    """Yield the ways in which a gate's pairs share all their sources and drains."""
    cell, nets = library_cell(gate[0]), dict(part.split("=") for part in gate[1:])
    own = {LOW: LOW, HIGH: HIGH, **nets}

    def named(device: Device) -> Device:
        first, second, at = (
            own.get(n, f"{n}_{where}_{nets[cell.ports[-1].name]}") for n in (*device.ends, device.gate)
        )
        return Device(device.kind, device.mode, at, (first, second))

    devices = [named(d) for d in flat(cell, Style.COMPLEMENTARY, library_cell)]
    low, high = ([d for d in devices if d.kind is kind] for kind in (Kind.N, Kind.P))
    for n_order in itertools.permutations(low):
        for p_order in itertools.permutations(high):
            fits = all(n.gate == p.gate or set(n.ends) == set(p.ends) for n, p in zip(n_order, p_order, strict=True))
            if fits:
                ways = itertools.product(list(_in_series(n_order)), list(_in_series(p_order)))
                yield from (tuple(zip(n, p, strict=True)) for n, p in ways)


def _in_series(devices: Sequence[Device]) -> Iterator[tuple[Device, ...]]:
    """Yield the ways of turning transistors round in which each begins where the one before it ends."""
    for turns in itertools.product((False, True), repeat=len(devices)):
        turned = tuple(_turned(d) if turn else d for d, turn in zip(devices, turns, strict=True))
        if all(a.ends[1] == b.ends[0] for a, b in itertools.pairwise(turned)):
            yield turned


def _turned(device: Device) -> Device:
    return Device(device.kind, device.mode, device.gate, device.ends[::-1])


def _joined(gates: Sequence[tuple[Pair, ...]], pairs: int) -> tuple[Pair, ...] | None:
    """Return the pairs of several gates on one strip, tied-off ones between those that share no nets."""
    strip: list[Pair] = []
    for gate in gates:
        if strip:
            last, first = strip[-1], gate[0]
            if any(a.ends[1] != b.ends[0] for a, b in zip(last, first, strict=True)):
                strip.append(_off((last[0].ends[1], first[0].ends[0]), (last[1].ends[1], first[1].ends[0])))
        strip += gate
    return tuple(strip) if len(strip) <= pairs else None


def _filled(strip: tuple[Pair, ...], pairs: int, where: str) -> tuple[Pair, ...]:
    """Return a base with pairs that are tied off after those in use."""
    filled = list(strip)
    for number in range(len(strip), pairs):
        ends = []
        for kind, letter in enumerate("np"):
            before = filled[-1][kind].ends[1] if filled else f"{letter}_{where}_0"
            ends.append((before, f"{letter}_{where}_{number + 1}"))
        filled.append(_off(*ends))
    return tuple(filled)


def _off(low: tuple[str, str], high: tuple[str, str]) -> Pair:
    """Return a pair that its rails keep off."""
    return Device(Kind.N, Mode.ENHANCEMENT, LOW, low), Device(Kind.P, Mode.ENHANCEMENT, HIGH, high)
