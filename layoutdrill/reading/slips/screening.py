"""
Tell at once, for most changes of a stage, that they make no proper gate of it: a sieve before a full look.

The n and the p transistors are followed as networks, for many levels of the gates at a time (a bit for each). Without
nets that may be each other's complement, a proper gate's networks are complements, or it is charged by one net. What
passes is looked at in full; nothing that a full look would take is held back.
"""

from collections import defaultdict
from collections.abc import Sequence

from layoutdrill.dice import Dice
from layoutdrill.netlist.model import Kind, Mode, Transistor
from layoutdrill.simulate.effort import spend
from layoutdrill.simulate.expression import column_of
from layoutdrill.simulate.supplies import Supplies
from layoutdrill.unions import Unions
from layoutdrill.value import value

EXACT = 10
ROWS = 1 << EXACT


@value
class Network:
    """The transistors of one kind in a group: for which levels they join its net to their rail, and their branches."""

    joined: int
    branches: tuple[frozenset[str], ...]


class Sieve:
    """A group of transistors joined to `net` by channels, changes of which are sieved."""

    def __init__(
        self, group: Sequence[Transistor], net: str, gates: Sequence[str], ports: frozenset[str], supplies: Supplies
    ) -> None:
        self.group = tuple(group)
        self.net = net
        self.ports = ports
        self.supplies = supplies
        self.levels = columns(gates)
        self.whole = {kind: self._network(self.group, kind) for kind in Kind}

    def may_pass(self, at: int, change: Transistor) -> bool:
        """Tell whether the group with a change of its transistor number `at` could be one proper stage and no more."""
        old = self.group[at]
        group = (*self.group[:at], change, *self.group[at + 1 :])
        spend(len(group))
        plain = all(t.mode is Mode.ENHANCEMENT and t.source != t.drain for t in group)
        if len({t.kind for t in group}) < 2 or not plain or any(t.gate not in self.levels for t in group):
            return True
        if self._has_more_signals(group):
            return False
        spend(3 * len(group))
        changed = {old.kind, change.kind}
        down, up = (self._network(group, k) if k in changed else self.whole[k] for k in (Kind.N, Kind.P))
        full = (1 << ROWS) - 1
        if down.joined ^ up.joined == full or any(up.joined == full ^ level for level in self.levels.values()):
            return True
        return _may_assume(down.branches, up.branches)

    def _has_more_signals(self, group: Sequence[Transistor]) -> bool:
        """Tell whether a node besides the net is none within a stack: it gates, leads out, or meets both kinds."""
        ends: dict[str, list[Kind]] = defaultdict(list)
        for t in group:
            ends[t.source].append(t.kind)
            ends[t.drain].append(t.kind)
        rails = self.supplies.nets
        return any(
            node in self.levels or node in self.ports or len(kinds) < 2 or len(set(kinds)) > 1
            for node, kinds in ends.items()
            if node != self.net and node not in rails
        )

    def _network(self, group: Sequence[Transistor], kind: Kind) -> Network:
        own = [t for t in group if t.kind is kind]
        rail, other = self.supplies.low, self.supplies.high
        if kind is Kind.P:
            rail, other = other, rail
        return Network(_joined(own, self.net, rail, other, self.levels), _branches(own, self.net, self.supplies.nets))


def columns(gates: Sequence[str]) -> dict[str, int]:
    """Return the levels of each net as bits: all that there are to EXACT nets, beyond that a fixed sample."""
    if len(gates) <= EXACT:
        return {net: column_of(i, EXACT) for i, net in enumerate(gates)}
    dice = Dice(len(gates))
    return {net: sum(dice.below(1 << 32) << 32 * k for k in range(ROWS // 32)) for net in gates}


def _may_assume(lows: Sequence[frozenset[str]], highs: Sequence[frozenset[str]]) -> bool:
    """Tell whether an n and a p branch share all but one gate each, which may then be taken for complements."""
    single = {g for branch in (*lows, *highs) if len(branch) == 1 for g in branch}
    for low in lows:
        for high in highs:
            mine, theirs = low - single, high - single
            if len(mine - theirs) == 1 and len(theirs - mine) == 1 and mine & theirs:
                return True
    return False


def _branches(transistors: Sequence[Transistor], net: str, rails: frozenset[str]) -> tuple[frozenset[str], ...]:
    """Return the gates of each group of transistors that inner nodes join."""
    joined = Unions()
    first: dict[str, int] = {}
    for i, t in enumerate(transistors):
        for end in (t.source, t.drain):
            if end != net and end not in rails:
                joined.join(i, first.setdefault(end, i))
    gates: dict[int, set[str]] = defaultdict(set)
    for i, t in enumerate(transistors):
        gates[joined.find(i)].add(t.gate)
    return tuple(frozenset(g) for g in gates.values())


def _joined(
    transistors: Sequence[Transistor], start: str, rail: frozenset[str], other: frozenset[str], levels: dict[str, int]
) -> int:
    """Return for which levels transistors of one kind join a net to a rail."""
    full = (1 << ROWS) - 1
    arms: dict[str, list[tuple[str, int]]] = defaultdict(list)
    for t in transistors:
        level = levels.get(t.gate, full)
        level = level if t.kind is Kind.N else full ^ level
        arms[t.source].append((t.drain, level))
        arms[t.drain].append((t.source, level))
    reached = {start: full}
    front = [start]
    result = 0
    while front:
        here = front.pop()
        mask = reached[here]
        for there, level in arms[here]:
            open_for = mask & level
            if there in rail:
                result |= open_for
            elif there not in other and open_for & ~reached.get(there, 0):
                reached[there] = reached.get(there, 0) | open_for
                front.append(there)
    return result
