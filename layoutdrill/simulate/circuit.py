"""
Compile a netlist for simulation: nets as numbers, transistors as switches, in channel-connected groups.

A group is what source and drain join, stopping at the nets that are held from outside (R. E. Bryant 1984; the groups
are the usual "channel-connected components"). Groups are ranked so that causes settle before effects: a local clock
inverter before the switches it drives.
"""

from collections import Counter
from collections.abc import Iterable
from heapq import heappop, heappush

from layoutdrill.errors import LayoutdrillError, did_you_mean
from layoutdrill.netlist.model import Element, Kind, Mode, Netlist, Transistor
from layoutdrill.simulate.contest import RESISTOR_UNIT, TIED_X, TIED_Y
from layoutdrill.simulate.shape import Device, Shape
from layoutdrill.simulate.strength import BARE, BUS, DRIVER, INNER, LOAD, LOAD_RATIO, NODE, POOR, WEAK, resistance
from layoutdrill.simulate.supplies import Supplies, SuppliesLike, find_supplies
from layoutdrill.unions import Unions

BUS_ENDS = 9
"""A net with this many channel ends stores more charge than any one gate (common practice for bit lines)."""


PLATE = 4
"""So many times the area of the largest gate, and a plate holds its net against a gate that a switch joins to it."""

Link = tuple[int, int, int, int, int, int, tuple[str, float]]
"""(gate or -1, end, end, value that turns it on or -1 for always, strength for 1, strength for 0, (sort, factor))."""


class Circuit:
    """
    A netlist ready to settle. `driven` nets are held from outside; supplies always are.

    `strengths` say by name how strongly each transistor passes 1 and 0, before sizes decide what they decide.
    Net numbers depend on the netlist alone, so states carry over between circuits that differ in what is driven.
    """

    def __init__(self, netlist: Netlist, driven: Iterable[str], supplies: SuppliesLike = None) -> None:
        self.netlist = netlist
        self.supplies: Supplies = find_supplies(netlist, supplies)
        self.nets: tuple[str, ...] = netlist.nets
        self.number: dict[str, int] = {net: i for i, net in enumerate(self.nets)}
        self.driven: tuple[str, ...] = tuple(driven)
        for net in self.driven:
            if net not in self.number:
                raise LayoutdrillError(f'no net "{net}" in {netlist.name}', todo=did_you_mean(net, self.nets))
        self.held: dict[int, int] = {self.number[net]: v for net, v in self.supplies.values().items()}
        sources = set(self.held) | {self.number[net] for net in self.driven}
        self.is_source: list[bool] = [i in sources for i in range(len(self.nets))]
        self._compile()

    def place(self, net: str) -> int:
        """Return the number of a net; raises LayoutdrillError for a name that is not one."""
        if net not in self.number:
            raise LayoutdrillError(f'no net "{net}" in {self.netlist.name}', todo=did_you_mean(net, self.nets))
        return self.number[net]

    def _compile(self) -> None:
        number = self.number
        switches = [t for t in self.netlist.transistors if t.source != t.drain]
        graded = self._strengths(switches)
        self.strengths: dict[str, tuple[int, int]] = {t.name: s for t, s in zip(switches, graded, strict=True)}
        links: list[Link] = [
            (number[t.gate], number[t.source], number[t.drain], _turns_on(t), up, down, _conducts(t))
            for t, (up, down) in zip(switches, graded, strict=True)
        ]
        links.extend(
            (
                -1,
                number[e.nodes[0]],
                number[e.nodes[1]],
                -1,
                LOAD,
                LOAD,
                ("r", RESISTOR_UNIT / e.value if e.value else 0.0),
            )
            for e in self.netlist.elements
            if e.kind == "resistor" and len(e.nodes) >= 2 and e.nodes[0] != e.nodes[1]
        )
        self._groups(links)
        self._rank()

    def _strengths(self, switches: list[Transistor]) -> list[tuple[int, int]]:
        """Return, for each transistor, how strongly it passes 1 and 0."""
        supplies = self.supplies
        always_on = {Kind.N: supplies.high, Kind.P: supplies.low}
        inner = _cross_coupled(switches, supplies.nets)
        stored = {net for i in inner for net in switches[i].ends if net not in supplies.nets}
        beside: dict[str, list[int]] = {net: [] for net in stored}
        for i, t in enumerate(switches):
            for net in t.ends:
                if net in beside:
                    beside[net].append(i)
        loads = _clocked_loads(switches, supplies)
        result = []
        for i, t in enumerate(switches):
            far = supplies.high if t.kind is Kind.N else supplies.low
            in_series = t.is_closed_by_implant(supplies.nets, far)
            if (t.mode is Mode.DEPLETION and not in_series) or t.gate in always_on[t.kind] or i in loads:
                result.append((LOAD, LOAD))
            elif i in inner:
                near = [switches[j] for net in t.ends if net in beside for j in beside[net] if j not in inner]
                level = WEAK if self._is_weak(t, near) else INNER
                result.append((level, level))
            elif (held := next((e for e in t.ends if e in stored), None)) is not None and not any(
                switches[j].kind is not t.kind and set(switches[j].ends) == set(t.ends) for j in beside[held]
            ):
                result.append((POOR, DRIVER) if t.kind is Kind.N else (DRIVER, POOR))
            else:
                result.append((DRIVER, DRIVER))
        return result

    def _is_weak(self, t: Transistor, near: list[Transistor]) -> bool:
        """Tell whether a feedback transistor has twice the resistance of each access transistor to its net."""
        mine = resistance(t)
        others = [resistance(o) for o in near if not self.supplies.nets & set(o.ends)]
        return bool(mine) and bool(others) and all(r and mine >= 2 * r for r in others)

    def _groups(self, links: list[Link]) -> None:
        count = len(self.nets)
        joined = Unions()
        fixed = self.is_source
        for _, a, b, *_ in links:
            if not fixed[a] and not fixed[b]:
                joined.join(a, b)
        members: dict[int, list[Link]] = {}
        for link in links:
            a, b = link[1], link[2]
            if not fixed[a]:
                members.setdefault(joined.find(a), []).append(link)
            elif not fixed[b]:
                members.setdefault(joined.find(b), []).append(link)
        charge = self._charge_sizes(links)
        shapes: dict[tuple[int, int, tuple[Device, ...], tuple[int, ...]], Shape] = {}
        self.group_of: list[int] = [-1] * count
        self.nodes: list[tuple[int, ...]] = []
        self.sources: list[tuple[int, ...]] = []
        self.gates: list[tuple[int, ...]] = []
        self.shapes: list[Shape] = []
        for group in members.values():
            self._add_group(group, charge, shapes)
        self.fanout: list[list[int]] = [[] for _ in range(count)]
        for i in range(len(self.shapes)):
            for net in {*self.gates[i], *self.sources[i]}:
                self.fanout[net].append(i)

    def _add_group(
        self,
        group: list[Link],
        charge: list[int],
        shapes: dict[tuple[int, int, tuple[Device, ...], tuple[int, ...]], Shape],
    ) -> None:
        fixed = self.is_source
        node: dict[int, int] = {}
        source: dict[int, int] = {}
        for _, a, b, *_ in group:
            for net in (a, b):
                (source if fixed[net] else node).setdefault(net, 0)
        for i, net in enumerate(node):
            node[net] = i
            self.group_of[net] = len(self.shapes)
        for i, net in enumerate(source):
            source[net] = len(node) + i
        gate: dict[int, int] = {}
        devices: list[Device] = []
        for g, a, b, on, up, down, (sort, factor) in group:
            slot = -1 if on < 0 else gate.setdefault(g, len(gate))
            x = source[a] if fixed[a] else node[a]
            y = source[b] if fixed[b] else node[b]
            law = (sort, factor, slot)
            if on < 0 and g >= 0:  # a depletion transistor conducts by its gate, too
                law = (sort, factor, TIED_X if g == a else TIED_Y if g == b else gate.setdefault(g, len(gate)))
            devices.append((slot, on, x, y, up, down, law))
        sizes = tuple(charge[net] for net in node)
        key = (len(node), len(source), tuple(devices), sizes)
        shape = shapes.get(key)
        if shape is None:
            shape = shapes[key] = Shape(len(node), len(source), tuple(devices), sizes)
        self.nodes.append(tuple(node))
        self.sources.append(tuple(source))
        self.gates.append(tuple(gate))
        self.shapes.append(shape)

    def _charge_sizes(self, links: list[Link]) -> list[int]:
        ends: Counter[int] = Counter()
        for link in links:
            ends[link[1]] += 1
            ends[link[2]] += 1
        sizes = [BUS if ends[i] >= BUS_ENDS else BARE for i in range(len(self.nets))]
        loaded = {self.number[t.gate] for t in self.netlist.transistors}
        loaded.update(self.number[port] for port in self.netlist.ports)
        loaded.update(self.number[n] for e in self.netlist.elements if e.kind == "capacitor" for n in e.nodes)
        for i in loaded:
            sizes[i] = max(sizes[i], NODE)
        gates = [t.width * t.length for t in self.netlist.transistors if t.source != t.drain]
        broad = PLATE * max(gates, default=0)
        for t in self.netlist.transistors:
            if t.source == t.drain and t.width * t.length >= broad > 0:
                sizes[self.number[t.gate]] = BUS
        return sizes

    def _rank(self) -> None:
        """Order the groups: strongly connected ones together, causes first, and inside a loop from its entries on."""
        count = len(self.shapes)
        after: list[list[int]] = [[] for _ in range(count)]
        for i in range(count):
            for net in self.nodes[i]:
                after[i].extend(j for j in self.fanout[net] if j != i)
        loops = strongly_connected(after)
        self.loop_of: list[int] = [0] * count
        self.loop_size: list[int] = [0] * count
        for k, loop in enumerate(reversed(loops)):
            for i in loop:
                self.loop_of[i] = k
                self.loop_size[i] = len(loop)
        entries = [0] * count
        for i in range(count):
            for j in after[i]:
                if self.loop_of[i] != self.loop_of[j]:
                    entries[j] += 1
        depth = [0] * count
        for loop in loops:
            if len(loop) > 1:
                inside = set(loop)
                front = sorted((i for i in loop if entries[i]), key=lambda i: -entries[i]) or loop[:1]
                seen = set(front)
                level = 0
                while front:
                    for i in front:
                        depth[i] = level
                    level += 1
                    nxt = []
                    for i in front:
                        for j in after[i]:
                            if j in inside and j not in seen:
                                seen.add(j)
                                nxt.append(j)
                    front = nxt
        self.rank: list[tuple[int, int]] = [(self.loop_of[i], depth[i]) for i in range(count)]
        self.has_loops = any(size > 1 for size in self.loop_size)
        self.gating_themselves: list[int] = [  # a loop within one group
            i for i in range(count) if self.loop_size[i] == 1 and set(self.nodes[i]) & set(self.gates[i])
        ]
        self.reverse_rank: list[tuple[int, int]] = [(self.loop_of[i], -depth[i] * count - i) for i in range(count)]


def _turns_on(t: Transistor) -> int:
    """Return the gate value that turns the transistor on, or -1 where it always conducts."""
    if t.mode is Mode.DEPLETION:
        return -1
    return 1 if t.kind is Kind.N else 0


def _conducts(t: Transistor) -> tuple[str, float]:
    """Return how a transistor conducts: its sort, and W/L, times the share of its mobility; 0.0 for no size."""
    squares = resistance(t)
    return t.kind.value + ("d" if t.mode is Mode.DEPLETION else ""), 1 / squares if squares else 0.0


def _share(resistor: Element) -> float:
    """Return how well a resistor of written value conducts, in units of a square n channel; 0.0 for no value."""
    return RESISTOR_UNIT / resistor.value if resistor.value else 0.0


def _clocked_loads(switches: list[Transistor], supplies: Supplies) -> set[int]:
    """
    Find the clocked and bootstrapped loads of one-kind logic, each against its own opponent.

    The opponent is the best path from the load's net to the other rail, over transistors that end on no pull-up rail.
    """
    kinds = {t.kind for t in switches}
    if len(kinds) != 1:
        return set()
    high, low = supplies.high, supplies.low
    pull, other = (high, low) if kinds == {Kind.N} else (low, high)
    around: dict[str, list[tuple[str, float]]] = {}
    for t in switches:
        if not pull & set(t.ends):
            for here, there in (t.ends, t.ends[::-1]):
                around.setdefault(here, []).append((there, resistance(t)))
    against: dict[str, float] = {}
    loads = set()
    for i, t in enumerate(switches):
        nets = [end for end in t.ends if end not in pull]
        if len(nets) != 1 or not resistance(t):
            continue
        if nets[0] not in against:
            against[nets[0]] = _nearest(nets[0], other, around)
        if 0 < LOAD_RATIO * against[nets[0]] <= resistance(t):
            loads.add(i)
    return loads


def _nearest(net: str, rail: frozenset[str], around: dict[str, list[tuple[str, float]]]) -> float:
    """Return the least resistance from a net to a rail; 0.0 where none leads there, or a size is not known."""
    heap, done = [(0.0, net)], set()
    while heap:
        far, here = heappop(heap)
        if here in rail:
            return far
        if here in done:
            continue
        done.add(here)
        for there, squares in around.get(here, ()):
            if squares and there not in done:
                heappush(heap, (far + squares, there))
    return 0.0


def _cross_coupled(switches: list[Transistor], supplies: frozenset[str]) -> set[int]:
    """Find the transistors, from a supply, that are gated by a stage which their own net gates: pairs and keepers."""
    drives: dict[str, set[str]] = {}  # net -> nets of the stages it gates, one transistor from a supply
    for t in switches:
        if t.source in supplies or t.drain in supplies:
            for end in t.ends:
                if end not in supplies:
                    drives.setdefault(t.gate, set()).add(end)
    coupled = set()
    for i, t in enumerate(switches):
        if (t.source in supplies) != (t.drain in supplies):
            net = t.drain if t.source in supplies else t.source
            if net != t.gate and t.gate in drives.get(net, ()):
                coupled.add(i)
    return coupled


def strongly_connected(after: list[list[int]]) -> list[list[int]]:
    """Return the strongly connected sets, effects before causes (R. E. Tarjan, SIAM J. Comput. 1, 1972)."""
    count = len(after)
    index = [-1] * count
    low = [0] * count
    on_stack = [False] * count
    stack: list[int] = []
    result = []
    counter = 0
    for root in range(count):
        if index[root] >= 0:
            continue
        work = [(root, 0)]
        while work:
            v, at = work.pop()
            if at == 0:
                index[v] = low[v] = counter
                counter += 1
                stack.append(v)
                on_stack[v] = True
            descend = False
            edges = after[v]
            while at < len(edges):
                w = edges[at]
                at += 1
                if index[w] < 0:
                    work.append((v, at))
                    work.append((w, 0))
                    descend = True
                    break
                if on_stack[w]:
                    low[v] = min(low[v], index[w])
            if descend:
                continue
            if low[v] == index[v]:
                loop = []
                while True:
                    w = stack.pop()
                    on_stack[w] = False
                    loop.append(w)
                    if w == v:
                        break
                result.append(loop)
            if work:
                low[work[-1][0]] = min(low[work[-1][0]], low[v])
    return result
