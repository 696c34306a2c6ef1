"""
Solve one channel-connected group: which value holds each of its nets, given gates, sources and stored charge.

After Bryant 1984 (see `strength`): first the strongest definite path to each net, which blocks all weaker ones, then
the strongest possible path from a 1 and from a 0 that is not blocked. Groups of one shape share their results.
"""

from dataclasses import field

from layoutdrill.simulate.strength import BUS, DRIVER, INPUT, LEAST_RATIO, LOAD
from layoutdrill.value import mutable

FLOATS, FIGHTS = 1, 2  # flags of a net in a result

Device = tuple[int, int, int, int, int, int, float]
"""(gate slot or -1 where always on, value that turns it on, end, end, strength for 1, strength for 0, resistance)."""
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

    def solve(self, gates: tuple[int, ...], sources: tuple[int, ...], charge: tuple[int, ...]) -> Result:
        """Return the new value and the flags of each node."""
        key = (gates, sources, charge)
        found = self.memory.get(key)
        if found is None:
            if len(self.memory) > 20_000:
                self.memory.clear()
            found = self.memory[key] = self._solve(gates, sources, charge, self.devices)
        return found

    def _solve(
        self, gates: tuple[int, ...], sources: tuple[int, ...], charge: tuple[int, ...], devices: tuple[Device, ...]
    ) -> Result:
        n = self.nodes
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
        if devices is self.devices and any(d[4] == LOAD for d in devices):
            weak = self._lost_ratios(gates, sources, values, best)
            if weak:
                stronger = tuple((*d[:4], DRIVER, DRIVER, d[6]) if i in weak else d for i, d in enumerate(devices))
                return self._solve(gates, sources, charge, stronger)
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

    def _lost_ratios(
        self, gates: tuple[int, ...], sources: tuple[int, ...], values: list[int], best: list[int]
    ) -> set[int]:
        """Return the loads that a conducting path overrides without resistance enough between them."""
        n = self.nodes
        found = set()
        for i, (gate, on, a, b, up, _, r) in enumerate(self.devices):
            if up != LOAD or not r or (gate >= 0 and gates[gate] != on):
                continue
            node, source = (a, b) if b >= n else (b, a)
            if node >= n or source < n or sources[source - n] == 2:
                continue
            if values[node] == sources[source - n] or values[node] == 2 or best[node] <= LOAD:
                continue
            against = self.path_resistance(node, 1 - sources[source - n], gates, sources)
            if against is not None and r < LEAST_RATIO * against:
                found.add(i)
        return found

    def path_resistance(self, node: int, value: int, gates: tuple[int, ...], sources: tuple[int, ...]) -> float | None:
        """Return the least series resistance of a conducting path of drivers from `node` to a source; None unsized."""
        n = self.nodes
        edges: dict[int, list[tuple[int, float]]] = {}
        for gate, on, a, b, up, _, r in self.devices:
            if up == LOAD or (gate >= 0 and gates[gate] != on):
                continue
            edges.setdefault(a, []).append((b, r))
            edges.setdefault(b, []).append((a, r))
        open_, done = {node: 0.0}, set()
        while open_:
            here = min(open_, key=lambda k: open_[k])
            far = open_.pop(here)
            done.add(here)
            if here >= n:
                if sources[here - n] == value:
                    return far or None
                continue
            for other, r in edges.get(here, ()):
                if not r:
                    return None
                if other not in done:
                    open_[other] = min(open_.get(other, far + r), far + r)
        return None
