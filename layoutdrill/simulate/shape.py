"""
Solve one channel-connected group: which value holds each of its nets, given gates, sources and stored charge.

After Bryant 1984 (see `strength`): first the strongest definite path to each net, which blocks all weaker ones, then
the strongest possible path from a 1 and from a 0 that is not blocked. Groups of one shape share their results.
"""

from dataclasses import field

from layoutdrill.simulate.contest import CLEAR, HIGH_AT, LOW_AT, MOST_NODES, Law, balance
from layoutdrill.simulate.strength import BARE, BUS, DRIVER, INPUT, LOAD
from layoutdrill.unions import Unions
from layoutdrill.value import mutable

FLOATS, FIGHTS = 1, 2  # flags of a net in a result

Device = tuple[int, int, int, int, int, int, Law]
"""(gate slot or -1 for always on, value that turns it on, end, end, strength for 1, for 0, how it conducts)."""
Result = tuple[tuple[int, ...], tuple[int, ...]]
"""Values and flags of the group's nets."""


@mutable
class Shape:
    """
    A group of `nodes` nets and then `sources` nets that are held from outside, and the devices between them.

    Values are 0, 1 and 2 for X. `sizes` is the strength of each node's charge.
    """

    nodes: int
    sources: int
    devices: tuple[Device, ...]
    sizes: tuple[int, ...]
    memory: dict[tuple[tuple[int, ...], tuple[int, ...], tuple[int, ...]], Result] = field(default_factory=dict)
    balances: dict[tuple[object, ...], dict[int, float]] = field(default_factory=dict)

    def solve(self, gates: tuple[int, ...], sources: tuple[int, ...], charge: tuple[int, ...]) -> Result:
        """Return the new value and the flags of each node."""
        key = (gates, sources, charge)
        result = self.memory.get(key)
        if result is None:
            if len(self.memory) > 20_000:
                self.memory.clear()
            result = self.memory[key] = self._solve(gates, sources, charge)
        return result

    def _solve(self, gates: tuple[int, ...], sources: tuple[int, ...], charge: tuple[int, ...]) -> Result:
        n, devices = self.nodes, self.devices
        sure: list[list[tuple[int, int, int]]] = [[] for _ in range(n)]  # from node: (to, up, down), conducting
        maybe: list[list[tuple[int, int, int]]] = [[] for _ in range(n)]
        best = list(self.sizes)
        kind = list(charge)  # the value that the best path carries
        ups = [size if value else 0 for size, value in zip(self.sizes, charge, strict=True)]
        downs = [size if value != 1 else 0 for size, value in zip(self.sizes, charge, strict=True)]
        for gate, on, x, y, up, down, _ in devices:
            value = on if gate < 0 else gates[gate]
            if value not in (on, 2):
                continue
            possible = value == 2
            a, b = (y, x) if x >= n else (x, y)
            if b >= n:
                if a >= n:
                    continue
                level = sources[b - n]
                if level != 0 and up > ups[a]:
                    ups[a] = up
                if level != 1 and down > downs[a]:
                    downs[a] = down
                if not possible:
                    hold = up if level == 1 else down if level == 0 else min(up, down)
                    if hold > best[a]:
                        best[a] = hold
                        kind[a] = level
                continue
            (maybe if possible else sure)[a].append((b, up, down))
            (maybe if possible else sure)[b].append((a, up, down))
        self._spread_best(best, kind, sure)
        self._spread(ups, best, sure, maybe, 1)
        self._spread(downs, best, sure, maybe, 2)
        values = []
        flags = []
        for node in range(n):
            u = ups[node] >= best[node]
            d = downs[node] >= best[node]
            values.append(2 if u and d else 1 if u else 0)
            strongest = max(ups[node], downs[node])
            flags.append(FLOATS if strongest <= BUS else 0)
        if any(v == 2 and best[i] > BUS for i, v in enumerate(values)):
            self._mark_fights(values, flags, gates, sources, devices, best)
        if 0 in sources and 1 in sources:
            self._settle_contests(values, flags, gates, sources)
        return tuple(values), tuple(flags)

    @staticmethod
    def _spread_best(best: list[int], kind: list[int], sure: list[list[tuple[int, int, int]]]) -> None:
        buckets: list[list[int]] = [[] for _ in range(INPUT + 1)]
        for node, level in enumerate(best):
            buckets[level].append(node)
        for level in range(INPUT, 0, -1):
            bucket = buckets[level]
            for node in bucket:  # grows while it is read
                if best[node] != level:
                    continue
                value = kind[node]
                for other, up, down in sure[node]:
                    reach = min(level, up if value == 1 else down if value == 0 else min(up, down))
                    if reach > best[other]:
                        best[other] = reach
                        kind[other] = value
                        buckets[reach].append(other)

    @staticmethod
    def _spread(
        held: list[int],
        best: list[int],
        sure: list[list[tuple[int, int, int]]],
        maybe: list[list[tuple[int, int, int]]],
        way: int,
    ) -> None:
        buckets: list[list[int]] = [[] for _ in range(INPUT + 1)]
        for node, level in enumerate(held):
            buckets[level].append(node)
        for level in range(INPUT, 0, -1):
            for node in buckets[level]:
                if held[node] != level or level < best[node]:
                    continue
                for edges in (sure[node], maybe[node]):
                    for edge in edges:
                        reach = min(level, edge[way])
                        if reach > held[edge[0]]:
                            held[edge[0]] = reach
                            buckets[reach].append(edge[0])

    def _mark_fights(
        self,
        values: list[int],
        flags: list[int],
        gates: tuple[int, ...],
        sources: tuple[int, ...],
        devices: tuple[Device, ...],
        best: list[int],
    ) -> None:
        """Flag nets that are X because conducting paths to 1 and to 0 are equally strong."""
        n = self.nodes
        edges: list[list[tuple[int, int, int]]] = [[] for _ in range(n)]
        ups, downs = [0] * n, [0] * n
        for gate, on, x, y, up, down, _ in devices:
            if gate >= 0 and gates[gate] != on:
                continue
            a, b = (y, x) if x >= n else (x, y)
            if b < n:
                edges[a].append((b, up, down))
                edges[b].append((a, up, down))
            elif a < n and sources[b - n] == 1:
                ups[a] = max(ups[a], up)
            elif a < n and sources[b - n] == 0:
                downs[a] = max(downs[a], down)
        none: list[list[tuple[int, int, int]]] = [[] for _ in range(n)]
        self._spread(ups, best, edges, none, 1)
        self._spread(downs, best, edges, none, 2)
        for node in range(n):
            if values[node] == 2 and ups[node] >= best[node] and downs[node] >= best[node] and best[node] > BUS:
                flags[node] |= FIGHTS

    def _settle_contests(
        self, values: list[int], flags: list[int], gates: tuple[int, ...], sources: tuple[int, ...]
    ) -> None:
        """
        Set the nets between conducting paths to a 1 and to a 0 by the sizes of both, where all of them are known.

        The ladder of strengths stays where a size is not known or a gate is X, and for pairs that a write upsets: the
        pair itself carries on what the write has begun. Loads and keepers are made to lose or win; between others a
        contest is a fight unless hardly anything is left of one side.
        """
        n = self.nodes
        for members, conducting in self._contested(gates, sources):
            laws = [self.devices[i][6] for i in conducting]
            if len(members) > MOST_NODES or not all(factor for _, factor, _ in laws):
                continue
            if any(gate >= 0 and gates[gate] == 2 for _, _, gate in laws):
                continue
            fixed = {n + at: float(level) for at, level in enumerate(sources) if level != 2}
            key = (conducting, sources, tuple(gates[gate] for _, _, gate in laws if gate >= 0))
            volts = self.balances.get(key)
            if volts is None:
                branches = [(self.devices[i][2], self.devices[i][3], self.devices[i][6]) for i in conducting]
                volts = self.balances[key] = balance(members, branches, fixed, gates)
            strengths = {level for i in conducting for level in self.devices[i][4:6]}
            ratioed = strengths != {DRIVER} or len({sort[0] for sort, _, _ in laws}) == 1
            low, high = (LOW_AT, HIGH_AT) if ratioed else (CLEAR, 1 - CLEAR)
            upset = any(BUS < level < DRIVER and level != LOAD for level in strengths)
            for node in members:
                if low < volts[node] < high:
                    if values[node] == 2 or not (upset or self._inside_stack(node, conducting)):
                        values[node] = 2
                        flags[node] |= FIGHTS
                else:
                    values[node] = int(volts[node] >= high)
                    flags[node] &= ~FIGHTS

    def _inside_stack(self, node: int, conducting: tuple[int, ...]) -> bool:
        """Tell whether a net is only the bare diffusion between two devices of a load, or of a path against one."""
        if self.sizes[node] != BARE:
            return False
        roles = [self.devices[i][4] == LOAD for i in conducting if node in self.devices[i][2:4]]
        return len(roles) == 2 and roles[0] == roles[1]

    def _contested(
        self, gates: tuple[int, ...], sources: tuple[int, ...]
    ) -> list[tuple[tuple[int, ...], tuple[int, ...]]]:
        """Return (nodes, conducting devices) of each part that surely conducts to a 1 and to a 0, and to no X."""
        n = self.nodes
        joined = Unions()
        conducting = []
        unsure = set()
        for i, (gate, on, x, y, *_) in enumerate(self.devices):
            value = on if gate < 0 else gates[gate]
            if value == on:
                conducting.append(i)
                if x < n and y < n:
                    joined.join(x, y)
            elif value == 2:
                unsure |= {end for end in (x, y) if end < n}
        seen: dict[int, set[int]] = {}
        devices: dict[int, list[int]] = {}
        for i in conducting:
            x, y = self.devices[i][2:4]
            inner = next((end for end in (x, y) if end < n), None)
            if inner is None:
                continue
            root = joined.find(inner)
            devices.setdefault(root, []).append(i)
            seen.setdefault(root, set()).update(sources[end - n] for end in (x, y) if end >= n)
        barred = {joined.find(node) for node in unsure}
        groups = []
        for root, levels in seen.items():
            if levels == {0, 1} and root not in barred:
                members = tuple(node for node in range(n) if joined.find(node) == root)
                groups.append((members, tuple(devices[root])))
        return groups
