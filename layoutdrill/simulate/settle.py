"""
Settle a circuit: from a change of inputs to the levels that hold, event by event.

Bryant 1984 (see `strength`), one channel-connected group at a time, causes before effects. A loop that does not come
to rest is told as oscillating, and its changing nets become X.
"""

from collections.abc import Mapping
from heapq import heappop, heappush

from layoutdrill.errors import LayoutdrillError
from layoutdrill.netlist.model import Netlist
from layoutdrill.simulate.circuit import Circuit
from layoutdrill.simulate.effort import spend
from layoutdrill.simulate.feedback import decided
from layoutdrill.simulate.levels import Level
from layoutdrill.simulate.shape import FIGHTS, FLOATS
from layoutdrill.simulate.supplies import SuppliesLike
from layoutdrill.value import value

X = 2


@value
class State:
    """
    A settled state. `codes` are 0, 1 or 2 for X, `flags` tell floating and fighting nets, in the circuit's order.

    `oscillating` are the nets that did not come to rest.
    """

    circuit: Circuit
    codes: tuple[int, ...]
    flags: tuple[int, ...]
    oscillating: frozenset[str] = frozenset()

    def level(self, net: str) -> Level:
        """Return what a reader may see on the net: a floating net is Z whatever charge it holds."""
        i = self.circuit.place(net)
        if self.flags[i] & FIGHTS:
            return Level.FIGHT
        if self.flags[i] & FLOATS:
            return Level.FLOATING
        return (Level.LOW, Level.HIGH, Level.UNKNOWN)[self.codes[i]]

    def stored(self, net: str) -> Level:
        """Return 0, 1 or X: the level, or the charge where the net floats."""
        i = self.circuit.place(net)
        return (Level.LOW, Level.HIGH, Level.UNKNOWN)[self.codes[i]]

    def levels(self) -> dict[str, Level]:
        return {net: self.level(net) for net in self.circuit.nets}

    @property
    def floating(self) -> tuple[str, ...]:
        return tuple(net for net, flag in zip(self.circuit.nets, self.flags, strict=True) if flag & FLOATS)

    @property
    def fights(self) -> tuple[str, ...]:
        return tuple(net for net, flag in zip(self.circuit.nets, self.flags, strict=True) if flag & FIGHTS)


def code(value: object) -> int:
    """Return 0, 1 or 2 for an input written 0, 1, "0", "1", "X", True, False or a Level."""
    if value in (0, "0"):
        return 0
    if value in (1, "1"):
        return 1
    if value in ("X", "x", 2):
        return X
    raise LayoutdrillError(f"{value!r} is not a level", todo="give 0, 1 or X")


def settle(
    netlist: Netlist | Circuit,
    inputs: Mapping[str, object],
    supplies: SuppliesLike = None,
    before: State | None = None,
) -> State:
    """
    Return the state that the inputs lead to; `before` gives the charge that is stored (none: X everywhere).

    `netlist` may be a Circuit whose driven nets are the keys of `inputs`.
    """
    circuit = netlist if isinstance(netlist, Circuit) else Circuit(netlist, inputs, supplies)
    values = {circuit.number[net]: code(value) for net, value in inputs.items() if net in circuit.number}
    if len(values) != len(inputs) or any(net not in inputs for net in circuit.driven):
        odd = sorted(set(inputs) ^ set(circuit.driven))
        raise LayoutdrillError(f"the inputs do not fit the circuit: {', '.join(odd)}", todo="give each driven net")
    codes, flags = _settled(circuit, values, before)
    restless = frozenset(_restless(circuit, codes, flags))
    if before is not None and circuit.has_loops and _changes(circuit, values, before) > 1:
        _race(circuit, values, before, codes, flags)
    return State(circuit, tuple(codes), tuple(flags), restless)


def _settled(
    circuit: Circuit, values: Mapping[int, int], before: State | None, *, reverse: bool = False
) -> tuple[list[int], list[int]]:
    """Settle, with what groups that gate themselves can hold at one level only."""
    codes, flags = settle_codes(circuit, values, before, reverse=reverse)
    for _ in circuit.gating_themselves:  # one may decide what the next one reads
        held = decided(circuit, codes) if X in codes else {}
        if not held:
            break
        codes, flags = settle_codes(circuit, values, State(circuit, tuple(codes), tuple(flags)), held, reverse=reverse)
    return codes, flags


def _changes(circuit: Circuit, values: Mapping[int, int], before: State) -> int:
    return sum(1 for net, value in values.items() if before.codes[net] != value and circuit.fanout[net])


def _race(circuit: Circuit, values: Mapping[int, int], before: State, codes: list[int], flags: list[int]) -> None:
    """
    Make X what hangs on which part of a loop answers first to inputs that changed at once.

    The loops are settled again in the opposite order; where the two outcomes differ nobody can tell.
    """
    other, _ = _settled(circuit, values, before, reverse=True)
    torn = {net: X for net, value in enumerate(other) if value != codes[net] and circuit.group_of[net] >= 0}
    if torn:
        after, marks = settle_codes(circuit, values, State(circuit, tuple(codes), tuple(flags)), torn)
        codes[:] = after
        flags[:] = [mark & ~_RESTLESS for mark in marks]


_RESTLESS = 4


def _restless(circuit: Circuit, codes: list[int], flags: list[int]) -> set[str]:
    """Return the nets that did not come to rest, with those of their loops that are X for it; clear the marks."""
    loops = set()
    for i, flag in enumerate(flags):
        if flag & _RESTLESS:
            loops.add(circuit.loop_of[circuit.group_of[i]])
            flags[i] = flag & ~_RESTLESS
    return {
        circuit.nets[net]
        for group, loop in enumerate(circuit.loop_of if loops else ())
        if loop in loops
        for net in circuit.nodes[group]
        if codes[net] == X
    }


def settle_codes(
    circuit: Circuit,
    inputs: Mapping[int, int],
    before: State | None = None,
    pins: Mapping[int, int] | None = None,
    *,
    reverse: bool = False,
) -> tuple[list[int], list[int]]:
    """
    Settle on net numbers; return codes and flags.

    `pins` are nets taken to have a value whatever drives them: their groups are solved, but the value is not changed.
    `reverse` answers the groups of a loop in the opposite order.
    """
    count = len(circuit.nets)
    if before is None:
        codes, flags = [X] * count, [FLOATS] * count
    else:
        codes, flags = list(before.codes), list(before.flags)
    whole = before is None or before.circuit is not circuit
    heap: list[tuple[tuple[int, int], int]] = []
    waiting = [False] * len(circuit.shapes)
    rank = circuit.reverse_rank if reverse else circuit.rank
    fanout = circuit.fanout

    def wake(net: int) -> None:
        for group in fanout[net]:
            if not waiting[group]:
                waiting[group] = True
                heappush(heap, (rank[group], group))

    for net, level in (*circuit.held.items(), *inputs.items()):
        if codes[net] != level or whole:
            codes[net] = level
            wake(net)
        flags[net] = 0
    if pins:
        for net, value in pins.items():
            if codes[net] != value:
                codes[net] = value
                wake(net)
    if whole:
        for group in range(len(circuit.shapes)):
            if not waiting[group]:
                waiting[group] = True
                heappush(heap, (rank[group], group))
    visits = [0] * len(circuit.shapes)
    while heap:
        _, group = heappop(heap)
        waiting[group] = False
        visits[group] += 1
        nodes = circuit.nodes[group]
        spend(4 + len(nodes))
        shape = circuit.shapes[group]
        values, marks = shape.solve(
            tuple([codes[g] for g in circuit.gates[group]]),
            tuple([codes[s] for s in circuit.sources[group]]),
            tuple([codes[n] for n in nodes]),
        )
        tired = visits[group] > 12 + 2 * len(nodes)
        for net, value, mark in zip(nodes, values, marks, strict=True):
            flags[net] = mark | (flags[net] & _RESTLESS)
            if value == codes[net] or (pins and net in pins):
                continue
            if tired:
                if codes[net] == X:
                    continue
                codes[net] = X
                flags[net] |= _RESTLESS
            else:
                codes[net] = value
            wake(net)
    return codes, flags
