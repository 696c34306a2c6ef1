"""Read a tiling as rows of base cells, and say through which channel each net leaves its row."""

from collections.abc import Collection

from layoutdrill.cells.tiling import Tiling
from layoutdrill.netlist.model import Netlist, Transistor
from layoutdrill.value import value

Pair = tuple[Transistor, Transistor]
Base = tuple[Pair, ...]


@value
class Row:
    """
    A row: its base cells from left to right, each of pairs of an n and a p transistor; the nets that leave it `below`
    and `above`.
    """

    bases: tuple[Base, ...]
    below: tuple[str, ...]
    above: tuple[str, ...]

    @property
    def leaving(self) -> tuple[str, ...]:
        return tuple(dict.fromkeys((*self.below, *self.above)))

    @property
    def transistors(self) -> tuple[Transistor, ...]:
        return tuple(t for base in self.bases for pair in base for t in pair)


def rows_of(tiling: Tiling, netlist: Netlist, supplies: Collection[str]) -> list[Row]:
    """Return the rows from the lowest up, with the nets that pass between them or leave as ports."""
    by_name = {t.name: t for t in netlist.transistors}
    bases: list[list[Base]] = [[] for _ in range(tiling.rows)]
    for place in sorted(tiling.places, key=lambda p: (p.row, p.column)):
        own = [by_name[name] for name in place.transistors]
        bases[place.row].append(tuple(zip(own[::2], own[1::2], strict=True)))
    inside = [{n for base in row for pair in base for t in pair for n in (t.gate, *t.ends)} for row in bases]
    below, above = _leaving([nets.difference(supplies) for nets in inside], netlist.ports)
    return [Row(tuple(own), tuple(low), tuple(high)) for own, low, high in zip(bases, below, above, strict=True)]


def _leaving(inside: list[set[str]], ports: Collection[str]) -> tuple[list[list[str]], list[list[str]]]:
    """Return for each row the nets that leave it below and above; a net of rows apart passes those between."""
    below: list[list[str]] = [[] for _ in inside]
    above: list[list[str]] = [[] for _ in inside]
    for net in sorted(set().union(*inside)):
        at = [r for r, nets in enumerate(inside) if net in nets]
        first, last = at[0], at[-1]
        for r in range(first, last):
            above[r].append(net)
            below[r + 1].append(net)
        if first == last and net in ports:
            (below if first else above)[first].append(net)
    return below, above
