"""
Order the slots of a row pair, and turn their devices round, so that neighbours share diffusions.

Method: a greedy start, then threshold accepting (a form of simulated annealing with integer thresholds) over
reversed runs, moved slots, turned devices and swapped partners. Source: the problem is that of Uehara and van
Cleemput, IEEE Trans. Comput. C-30, 1981.
"""

from collections import Counter
from collections.abc import Sequence
from dataclasses import replace

from layoutdrill.dice import Dice
from layoutdrill.drawing.row_pairs.placing.devices import Device, Slot
from layoutdrill.value import value

_NO_NET = -1
_Pair = tuple[int, int]
"""The two devices of a slot as codes: an even one for each device, the next when it is turned; −2 or −1 for none."""


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


@value
class Weights:
    """The price of a break in a row, of a column that a net spans, and of unlike nets above one another."""

    gap: int = 36
    span: int = 4
    unlike: int = 3


def turned(device: Device | None) -> Device | None:
    return None if device is None else replace(device, left=device.right, right=device.left)


def broken(a: Device | None, b: Device | None) -> bool:
    return a is not None and b is not None and a.right != b.left and not (a.stands or b.stands)


def order(slots: Sequence[Slot], dice: Dice, weights: Weights, supplies: tuple[int, int], steps: int) -> list[Slot]:
    """
    Return the slots in an order of low cost; which one among equals is the dice's choice.

    `steps` is the most that are tried; a few slots need fewer.
    """
    count = len(slots)
    return _Search(slots, dice, weights, supplies).run(min(steps, 12 * count * count + 20 * count))


class _Search:
    def __init__(self, slots: Sequence[Slot], dice: Dice, weights: Weights, supplies: tuple[int, int]) -> None:
        self.dice = dice
        self.weights = weights
        self.devices: list[Device | None] = []
        self.nets: list[tuple[int, int, int, bool]] = []
        """By code: the nets on the left, on the right and of the gate; whether it shares no diffusion anyway."""
        self.start: list[_Pair] = [(self._code(n), self._code(p)) for n, p in slots]
        self._code(None)  # the last two, which the codes below 0 stand for
        nets = 1 + max(max(nets[:3]) for nets in self.nets)
        self.counted = [net not in supplies for net in range(nets)]

    def _code(self, device: Device | None) -> int:
        for way in (device, turned(device)):
            self.devices.append(way)
            self.nets.append((way.left, way.right, way.gate, way.stands) if way else (_NO_NET, _NO_NET, _NO_NET, True))
        return -2 if device is None else len(self.devices) - 2

    def run(self, steps: int) -> list[Slot]:
        dice = self.dice
        trials = [self._greedy() for _ in range(3 if len(self.start) > 2 else 1)]
        costs = [self._cost(trial) for trial in trials]
        cost = min(costs)
        state = trials[costs.index(cost)]
        best, best_cost = state, cost
        high, low = self.weights.gap * 3 // 2, self.weights.gap // 4
        for step in range(steps):
            trial = self._moved(state)
            worth = self._cost(trial)
            if worth - cost <= high * (steps - step) // steps - low:
                state, cost = trial, worth
                if cost < best_cost or (cost == best_cost and dice.chance(50)):
                    best, best_cost = state, cost
        return [(self.devices[n], self.devices[p]) for n, p in best]

    def _greedy(self) -> list[_Pair]:
        """Grow a row to the right from a random slot, each time with a neighbour that breaks least."""
        dice = self.dice
        rest = dice.shuffled(self.start)
        n, p = rest.pop()
        row = [(n ^ dice.below(2), p ^ dice.below(2))]
        while rest:
            last_n, last_p = row[-1]
            fits = [(self._fit(last_n, n), self._fit(last_p, p)) for n, p in rest]
            breaks = [bad_n + bad_p for (_, bad_n), (_, bad_p) in fits]
            place = breaks.index(min(breaks))
            (n, _), (p, _) = fits[place]
            rest.pop(place)
            row.append((n, p))
        return row

    def _fit(self, last: int, code: int) -> tuple[int, int]:
        (left, right, _, free), (_, end, _, open_end) = self.nets[code], self.nets[last]
        if left == end or free or open_end:
            return code, 0
        return (code ^ 1, 0) if right == end else (code, 1)

    def _moved(self, state: list[_Pair]) -> list[_Pair]:
        dice = self.dice
        count = len(state)
        kind = dice.below(10)
        i = dice.below(count)
        if kind < 4 and count > 1:
            j = dice.below(count)
            i, j = min(i, j), max(i, j)
            run = [(n ^ 1, p ^ 1) for n, p in reversed(state[i : j + 1])]
            return state[:i] + run + state[j + 1 :]
        trial = list(state)
        if kind < 6 and count > 1:
            n, p = trial.pop(i)
            turn = dice.below(2)
            trial.insert(dice.below(count), (n ^ turn, p ^ turn))
        elif kind < 8 or count == 1:
            n, p = trial[i]
            trial[i] = (n ^ 1, p) if dice.below(2) else (n, p ^ 1)
        else:
            j = dice.below(count)
            a, b = trial[i], trial[j]
            if i != j and self._may_swap(a, b):
                trial[i], trial[j] = (a[0], b[1]), (b[0], a[1])
        return trial

    def _may_swap(self, a: _Pair, b: _Pair) -> bool:
        """Tell whether swapping partners bends no gate that is straight now."""
        (n, p), (m, q) = ((self.nets[low][2], self.nets[high][2]) for low, high in (a, b))
        return (n == q) + (m == p) >= (n == p) + (m == q)

    def _cost(self, state: list[_Pair]) -> int:
        nets = self.nets
        places: list[tuple[int, int]] = []
        """Of nets, by column from the left."""
        at = gaps = unlike = 0
        end_n = end_p = _NO_NET
        open_n = open_p = True
        for n, p in state:
            (left_n, right_n, gate_n, free_n), (left_p, right_p, gate_p, free_p) = nets[n], nets[p]
            if (left_n != end_n and not (open_n or free_n)) or (left_p != end_p and not (open_p or free_p)):
                gaps += 1
                at += 1
            places += ((left_n, at), (left_p, at), (gate_n, at + 1), (gate_p, at + 1))
            at += 2
            places += ((right_n, at), (right_p, at))
            end_n, end_p, open_n, open_p = right_n, right_p, free_n, free_p
            if n >= 0 and p >= 0:
                unlike += (left_n != left_p) + (right_n != right_p) + 3 * (gate_n != gate_p)
        first, last, counted = dict(reversed(places)), dict(places), self.counted
        spans = sum(end - first[net] for net, end in last.items() if net >= 0 and counted[net])
        return self.weights.gap * gaps + self.weights.span * spans + self.weights.unlike * unlike
