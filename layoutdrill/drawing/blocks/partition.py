"""Divide a netlist into the rows of a block: what hangs together by source and drain stays together."""

from collections import Counter
from collections.abc import Collection, Iterable, Sequence

from layoutdrill.dice import Dice
from layoutdrill.netlist.model import Netlist, Transistor
from layoutdrill.unions import Unions, grouped

Group = tuple[Transistor, ...]


def rows_of(netlist: Netlist, supplies: Iterable[str], most: int, dice: Dice) -> list[Group]:
    """
    Return the transistors by row, at most about `most` fingers in each, and rows about equally full.

    Rows are filled one after the other, each time with the group that shares most nets with what the row has, or
    else with the row before; the dice decide among equals.
    """
    rails = frozenset(supplies)
    left = dice.shuffled([part for group in channel_groups(netlist, rails) for part in _parts(group, most)])
    total = sum(map(fingers, left))
    count = -(-total // most)
    fair = -(-total // count)
    rows: list[list[Group]] = [[]]
    while left:
        row = rows[-1]
        full = sum(map(fingers, row))
        room = most - full if full < fair else 0
        near = {net for group in (row or (rows[-2] if len(rows) > 1 else [])) for net in nets_of(group)} - rails
        fitting = [group for group in left if fingers(group) <= room] if row else left
        if not fitting:
            rows.append([])
            continue
        best = max(fitting, key=lambda group: len(nets_of(group) & near))
        left.remove(best)
        row.append(best)
    return [tuple(t for group in row for t in group) for row in rows]


def channel_groups(netlist: Netlist, rails: frozenset[str]) -> list[Group]:
    """Return the channel-connected groups: transistors joined by source and drain, other than at the supplies."""
    numbers = {net: number for number, net in enumerate(netlist.nets)}
    joined = Unions()
    inner = [[numbers[net] for net in t.ends if net not in rails] for t in netlist.transistors]
    for own in inner:
        for net in own[1:]:
            joined.join(own[0], net)
    named = zip(netlist.transistors, inner, strict=True)
    groups = grouped((joined.find(own[0]) if own else t.name, t) for t, own in named)
    return [tuple(group) for group in groups.values()]


def _parts(group: Group, most: int) -> list[Group]:
    """Cut a group that no row can hold, in the order of the netlist."""
    parts: list[list[Transistor]] = [[]]
    for t in group:
        if parts[-1] and fingers((*parts[-1], t)) > most:
            parts.append([])
        parts[-1].append(t)
    return [tuple(part) for part in parts]


def leaving_of(groups: Sequence[Group], outside: Collection[str], rails: Collection[str]) -> list[tuple[str, ...]]:
    """Return, for each group, its nets that other groups or what lies `outside` use too, but for the rails."""
    uses = Counter(net for group in groups for net in nets_of(group))
    return [
        tuple(sorted(net for net in nets_of(group) if (net in outside or uses[net] > 1) and net not in rails))
        for group in groups
    ]


def fingers(group: Sequence[Transistor]) -> int:
    return sum(t.fingers for t in group)


def nets_of(group: Iterable[Transistor]) -> set[str]:
    return {net for t in group for net in (t.gate, t.source, t.drain)}
