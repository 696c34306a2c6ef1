"""Pair the devices of the two rows that stand above one another."""

from collections import Counter
from collections.abc import Sequence

from layoutdrill.dice import Dice
from layoutdrill.drawing.row_pairs.placing.devices import Device, Slot


def pair(devices: Sequence[Device], dice: Dice, supplies: tuple[int, int]) -> list[Slot]:
    """
    Pair by same gate, then same source and drain (transmission gates), then a shared net.

    Among equals the dice decide. A device left over takes a slot alone.
    """
    low = dice.shuffled([d for d in devices if d.row == 0])
    high = dice.shuffled([d for d in devices if d.row == 1])
    slots: list[Slot] = []
    gone: tuple[set[int], set[int]] = set(), set()
    for rank in (_same_gate, _same_ends, _shared_nets):
        worths = ((rank(n, p, supplies), i, j) for i, n in enumerate(low) for j, p in enumerate(high))
        for _, i, j in sorted((-worth, i, j) for worth, i, j in worths if worth):
            if i not in gone[0] and j not in gone[1]:
                gone[0].add(i)
                gone[1].add(j)
                slots.append((low[i], high[j]))
    slots += [(d, None) for i, d in enumerate(low) if i not in gone[0]]
    slots += [(None, d) for j, d in enumerate(high) if j not in gone[1]]
    return slots


def _shared_nets(n: Device, p: Device, supplies: tuple[int, int]) -> int:
    shared = Counter((n.left, n.right)) & Counter((p.left, p.right))
    return sum(count for net, count in shared.items() if net not in supplies)


def _same_gate(n: Device, p: Device, supplies: tuple[int, int]) -> int:
    return 1 + _shared_nets(n, p, supplies) if n.gate == p.gate and not (n.stands or p.stands) else 0


def _same_ends(n: Device, p: Device, supplies: tuple[int, int]) -> int:
    alike = sorted((n.left, n.right)) == sorted((p.left, p.right)) and not (n.stands or p.stands)
    return int(alike and bool(_shared_nets(n, p, supplies)))
