"""
Find the devices and nets at which two netlists differ, seen from as near as possible, and whether one edit explains it.

Devices and nets are coloured by what lies around them, a step farther in each round (colour refinement, the first part
of the method of Weisfeiler and Leman); what has a colour that one side has more of is a suspect.
"""

from collections import ChainMap, Counter, defaultdict
from collections.abc import Hashable, Iterator, Mapping
from typing import TypeVar

from layoutdrill.netlist.model import Element, Netlist, Transistor

Part = Transistor | Element
Sort = TypeVar("Sort", bound=Hashable)
Tag = tuple[str, str]
Ends = tuple[tuple[str, str], ...]

_ROUNDS = 5
_MOST_CHANGED = 6  # sorts of net that an edit of a device of three ends changes, before and after
_MOST_SUSPECTS = 150


class Suspects:
    """The devices and nets of each side that the other has fewer of, seen from as near as possible."""

    def __init__(self, a: Netlist, b: Netlist, known: list[Tag]) -> None:
        self.devices_a: list[str] = []
        self.devices_b: list[str] = []
        self.nets_a: list[str] = []
        self.nets_b: list[str] = []
        count = abs(len(a.transistors) + len(a.elements) - len(b.transistors) - len(b.elements))
        self.far_apart = count > 1 or abs(len(a.nets) - len(b.nets)) > 1
        if self.far_apart:
            return
        numbers: dict[object, int] = {}
        of_a, of_b = {x: ("known", x) for x, _ in known}, {y: ("known", x) for x, y in known}
        sides = [_Side(a, of_a, numbers), _Side(b, of_b, numbers)]
        for _ in range(_ROUNDS):
            for side in sides:
                side.round()
            self.devices_a, self.devices_b = _surplus(sides[0].devices, sides[1].devices)
            self.nets_a, self.nets_b = _surplus(sides[0].nets, sides[1].nets)
            if self.devices_a or self.devices_b or self.nets_a or self.nets_b:
                break
        self.differences = _Differences(a, b, of_a, of_b)
        # A net that only lost or gained a terminal tells of it by its own count; its devices are suspects, too.
        near_a = {d for net in self.nets_a for d in sides[0].on.get(net, ())}
        near_b = {d for net in self.nets_b for d in sides[1].on.get(net, ())}
        self.devices_a += sorted(near_a - set(self.devices_a))
        self.devices_b += sorted(near_b - set(self.devices_b))
        near = {net for d in self.devices_a for net in sides[0].terminals.get(d, ())}
        self.nets_a += sorted(near - set(self.nets_a))
        near = {net for d in self.devices_b for net in sides[1].terminals.get(d, ())}
        self.nets_b += sorted(near - set(self.nets_b))

    def fits(self, old: Part | None, new: Part | None, *, of_b: bool) -> bool:
        """Tell whether making one device (of B: `of_b`) another one changes what is around it as the two differ."""
        return (old is None and new is None) or self.differences.fits(old, new, of_b=of_b)


class _Differences:
    """
    How often each sort of net, and of device with its nets, is there in B and not in A.

    A net's sort is the terminals on it, or its name where that is known. An edit of a device changes the sorts of few
    nets, and of what is on those; unless these changes are the differences, the edit cannot explain them.
    """

    def __init__(self, a: Netlist, b: Netlist, of_a: dict[str, Tag], of_b: dict[str, Tag]) -> None:
        self.numbers: dict[object, int] = {}
        self.sides = [_Terminals(a, of_a), _Terminals(b, of_b)]
        nets: Counter[int] = Counter()
        devices: Counter[int] = Counter()
        for side, sign in zip(self.sides, (-1, 1), strict=True):
            side.sorts = {net: self._number(tag) for net, tag in side.known.items()}
            for net, terminals in side.at.items():
                if net not in side.known:
                    side.sorts[net] = self._number(frozenset(terminals.items()))
                    nets[side.sorts[net]] += sign
            for kind, ends in side.parts.values():
                devices[self._device(kind, ends, side.sorts)] += sign
        self.nets, self.devices = _nonzero(nets), _nonzero(devices)

    def fits(self, old: Part | None, new: Part | None, *, of_b: bool) -> bool:
        if sum(map(abs, self.nets.values())) > _MOST_CHANGED:
            return False
        side, sign = self.sides[of_b], -1 if of_b else 1
        before, after = (_part(p) if p is not None else None for p in (old, new))
        changed: dict[str, Counter[tuple[object, str]]] = {}
        for part, step in ((before, -1), (after, 1)):
            for role, net in part[1] if part is not None else ():
                if net not in side.known:
                    terminals = changed.setdefault(net, Counter(side.at.get(net, {})))
                    terminals[part[0] if part is not None else "", role] += step
        sorts: dict[str, int] = {}
        delta: Counter[int] = Counter()
        for net, terminals in changed.items():
            left = _nonzero(terminals)
            if net in side.at:
                delta[side.sorts[net]] -= sign
            if left:
                sorts[net] = self._number(frozenset(left.items()))
                delta[sorts[net]] += sign
        if _nonzero(delta) != self.nets:
            return False
        delta = Counter()
        both = ChainMap(sorts, side.sorts)
        gone = old.name if old is not None else ""
        for name in {name for net in changed for name in side.on.get(net, ())} | ({gone} if gone else set()):
            kind, ends = side.parts[name]
            delta[self._device(kind, ends, side.sorts)] -= sign
            if name != gone:
                delta[self._device(kind, ends, both)] += sign
        if after is not None:
            delta[self._device(*after, both)] += sign
        return _nonzero(delta) == self.devices

    def _number(self, key: object) -> int:
        return self.numbers.setdefault(key, len(self.numbers))

    def _device(self, kind: object, ends: Ends, sorts: Mapping[str, int]) -> int:
        return self._number((kind, tuple(sorted((role, sorts[net]) for role, net in ends))))


class _Terminals:
    """One netlist: its devices as kinds and ends, and the terminals on each net, counted by kind and role."""

    def __init__(self, netlist: Netlist, known: dict[str, Tag]) -> None:
        self.known = known
        self.parts = {part.name: _part(part) for part in parts_of(netlist)}
        self.at: defaultdict[str, Counter[tuple[object, str]]] = defaultdict(Counter)
        self.on: defaultdict[str, list[str]] = defaultdict(list)
        self.sorts: dict[str, int] = {}
        for name, (kind, ends) in self.parts.items():
            for role, net in ends:
                self.at[net][kind, role] += 1
                self.on[net].append(name)


def parts_of(netlist: Netlist) -> Iterator[Part]:
    yield from netlist.transistors
    yield from netlist.elements


def _part(part: Part) -> tuple[object, Ends]:
    """Return a device's kind, and its ends with their roles."""
    if isinstance(part, Transistor):
        return (part.kind, part.mode), (("gate", part.gate), ("end", part.source), ("end", part.drain))
    roles = [str(at) if part.kind == "diode" else "end" for at in range(len(part.nodes))]
    return part.kind, tuple(zip(roles, part.nodes, strict=True))


def _nonzero(counts: Mapping[Sort, int]) -> dict[Sort, int]:
    return {key: count for key, count in counts.items() if count}


class _Side:
    """One netlist, its devices and nets coloured by what lies around them."""

    def __init__(self, netlist: Netlist, known: dict[str, tuple[str, str]], numbers: dict[object, int]) -> None:
        self.numbers = numbers
        self.parts = {part.name: _part(part) for part in parts_of(netlist)}
        self.on: defaultdict[str, list[str]] = defaultdict(list)
        for name, (_, ends) in self.parts.items():
            for net in dict.fromkeys(net for _, net in ends):
                self.on[net].append(name)
        self.terminals = {name: tuple(dict.fromkeys(net for _, net in ends)) for name, (_, ends) in self.parts.items()}
        self.nets = {net: self._number(known.get(net, "net")) for net in self.on}
        self.devices: dict[str, int] = {}

    def _number(self, key: object) -> int:
        return self.numbers.setdefault(key, len(self.numbers))

    def round(self) -> None:
        self.devices = {
            name: self._number((kind, tuple(sorted((role, self.nets[net]) for role, net in ends))))
            for name, (kind, ends) in self.parts.items()
        }
        around: defaultdict[str, list[tuple[int, str]]] = defaultdict(list)
        for name, (_, ends) in self.parts.items():
            for role, net in ends:
                around[net].append((self.devices[name], role))
        self.nets = {net: self._number((self.nets[net], tuple(sorted(seen)))) for net, seen in around.items()}


def _surplus(a: dict[str, int], b: dict[str, int]) -> tuple[list[str], list[str]]:
    """Return the names of either side whose colours that side has more of; the rarest colours first."""
    counts_a, counts_b = Counter(a.values()), Counter(b.values())

    def more(mine: dict[str, int], own: Counter[int], other: Counter[int]) -> list[str]:
        names = [name for name, colour in mine.items() if own[colour] > other[colour]]
        return sorted(names, key=lambda name: own[mine[name]])[:_MOST_SUSPECTS]

    return more(a, counts_a, counts_b), more(b, counts_b, counts_a)
