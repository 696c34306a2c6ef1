"""
Find the one edit of a netlist that makes it another one: the slip that a reader most likely made.

Where two netlists differ by a single slip, what surrounds it differs near the slip first. So only devices and nets are
tried that one side has more of, looking no farther around than needed to see a difference; each edit that would set
the balance right is made, and kept when the two are then equal.
"""

from collections import ChainMap, Counter, defaultdict
from collections.abc import Callable, Hashable, Iterable, Iterator, Mapping
from dataclasses import replace
from functools import partial
from typing import TypeVar

from layoutdrill.netlist.grid import place_of
from layoutdrill.netlist.model import Element, Kind, Mode, Netlist, Transistor
from layoutdrill.value import value

Equal = Callable[[Netlist, Netlist], bool]
Titles = tuple[str, str]
Part = Transistor | Element
Sort = TypeVar("Sort", bound=Hashable)
Tag = tuple[str, str]
Ends = tuple[tuple[str, str], ...]
Known = Iterable[tuple[str, str]]

WORK = 400_000
"""Edits tried times devices compared: about two seconds."""
_ROUNDS = 5
_MOST_CHANGED = 6  # sorts of net that an edit of a device of three ends changes, before and after
_MOST_SUSPECTS = 150


@value
class Edit:
    """
    One edit: `told` puts it into words, `made` returns the two netlists after it.

    `old` and `new` are the device before and after it, None where there is none; both are None for other edits. `of_b`
    says that the edit is one of B.
    """

    told: Callable[[], str]
    made: Callable[[], tuple[Netlist, Netlist]]
    old: Part | None = None
    new: Part | None = None
    of_b: bool = False


def one_edit(a: Netlist, b: Netlist, known: Known, equal: Equal, titles: Titles) -> str:
    """
    Return in words the one edit of A that makes it B, with its place where it lies in an array; "" where none is found.

    `known` are nets (of A, of B) that belong together by name, `equal` judges two netlists.
    """
    suspects = _Suspects(a, b, list(known))
    if suspects.far_apart:
        return ""
    budget = max(24, WORK // max(1, len(a.transistors) + len(a.elements)))
    tried = 0
    for edit in _edits(a, b, suspects, titles):
        if not suspects.fits(edit):
            continue
        if tried >= budget:
            return ""
        tried += 1
        if equal(*edit.made()):
            return f"one edit makes them equal: {edit.told()}"
    return ""


class _Suspects:
    """The devices and nets of each side that the other has fewer of, seen from as near as possible."""

    def __init__(self, a: Netlist, b: Netlist, known: list[tuple[str, str]]) -> None:
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

    def fits(self, edit: Edit) -> bool:
        """Tell whether an edit of one device changes its surroundings as the two netlists differ."""
        return (edit.old is None and edit.new is None) or self.differences.fits(edit.old, edit.new, of_b=edit.of_b)


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
        self.parts = {part.name: _part(part) for part in _parts(netlist)}
        self.at: defaultdict[str, Counter[tuple[object, str]]] = defaultdict(Counter)
        self.on: defaultdict[str, list[str]] = defaultdict(list)
        self.sorts: dict[str, int] = {}
        for name, (kind, ends) in self.parts.items():
            for role, net in ends:
                self.at[net][kind, role] += 1
                self.on[net].append(name)


def _parts(netlist: Netlist) -> Iterator[Part]:
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
        self.parts = {part.name: _part(part) for part in _parts(netlist)}
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


def _edits(a: Netlist, b: Netlist, suspects: _Suspects, titles: Titles) -> Iterator[Edit]:
    count_a, count_b = len(a.transistors) + len(a.elements), len(b.transistors) + len(b.elements)
    nets_a, nets_b = len(a.nets), len(b.nets)
    if count_a > count_b:
        yield from _extra(a, b, suspects.devices_a, titles)
    elif count_a < count_b:
        for edit in _extra(b, a, suspects.devices_b, titles[::-1]):
            yield _turned(edit)
    else:
        yield from _flips(a, b, suspects, titles)
        if nets_a > nets_b:
            yield from _merged(a, b, suspects.nets_a, titles)
        elif nets_a < nets_b:
            for edit in _merged(b, a, suspects.nets_b, titles[::-1]):
                yield _turned(edit)
        yield from _moves(a, b, suspects, titles)
        yield from _moves_to_new(a, b, suspects, titles)
        yield from _exchanged_ports(a, b, suspects, titles)


def _turned(edit: Edit) -> Edit:
    """Return an edit of B, made as one of A, with the two netlists in their order."""
    return replace(edit, made=lambda: edit.made()[::-1], of_b=True)


def _changed(a: Netlist, b: Netlist, old: Part, new: Part, told: Callable[[], str]) -> Edit:
    return Edit(told, lambda: (_with(a, new), b), old, new)


def _title(netlist: Netlist, name: str) -> str:
    kind = next((e.kind for e in netlist.elements if e.name == name), "transistor")
    where = place_of(netlist, name)
    return f"{kind} {name}" + (f" ({where})" if where else "")


def _extra(a: Netlist, b: Netlist, names: list[str], titles: Titles) -> Iterator[Edit]:
    parts = {part.name: part for part in _parts(a)}
    for name in names:

        def made(name: str = name) -> tuple[Netlist, Netlist]:
            return _only(a, lambda part: None if part.name == name else part), b

        def told(name: str = name) -> str:
            return f"{_title(a, name)} of {titles[0]} is not in {titles[1]}"

        yield Edit(told, made, parts[name])


def _flips(a: Netlist, b: Netlist, suspects: _Suspects, titles: Titles) -> Iterator[Edit]:
    by_name = {t.name: t for t in a.transistors}
    for name in suspects.devices_a:
        t = by_name.get(name)
        if t is None:
            continue
        other_kind = Kind.P if t.kind is Kind.N else Kind.N
        other_mode = Mode.ENHANCEMENT if t.mode is Mode.DEPLETION else Mode.DEPLETION
        options: list[tuple[Transistor, str]] = [
            (replace(t, kind=other_kind), f"is {t.kind}-channel in {titles[0]}, {other_kind}-channel in {titles[1]}"),
            (replace(t, mode=other_mode), f"is an {t.mode} transistor in {titles[0]}, {other_mode} in {titles[1]}"),
            (replace(t, gate=t.source, source=t.gate), f"has its gate and the end on {t.source} exchanged"),
            (replace(t, gate=t.drain, drain=t.gate), f"has its gate and the end on {t.drain} exchanged"),
        ]
        for changed, says in options:
            yield _changed(a, b, t, changed, partial(_flipped, a, name, says))


def _flipped(a: Netlist, name: str, says: str) -> str:
    return f"{_title(a, name)} {says}"


def _moves(a: Netlist, b: Netlist, suspects: _Suspects, titles: Titles) -> Iterator[Edit]:
    """Move one terminal of a suspect from one suspect net to another."""
    transistors = {t.name: t for t in a.transistors}
    elements = {e.name: e for e in a.elements}
    for name in suspects.devices_a:
        t, e = transistors.get(name), elements.get(name)
        for net in suspects.nets_a:
            if t is not None:
                for role in ("gate", "source", "drain"):
                    old = getattr(t, role)
                    if old != net:

                        def told(name: str = name, role: str = role, old: str = old, net: str = net) -> str:
                            return _moved(_title(a, name), _end(role), old, net, titles)

                        yield _changed(a, b, t, _placed(t, role, net), told)
            elif e is not None:
                for at, old in enumerate(e.nodes):
                    if old != net:
                        nodes = (*e.nodes[:at], net, *e.nodes[at + 1 :])

                        def told(name: str = name, role: str = "", old: str = old, net: str = net) -> str:
                            title = _title(a, name) + role
                            return f"{title}: an end is on net {old} in {titles[0]}, in {titles[1]} on its net {net}"

                        yield _changed(a, b, e, replace(e, nodes=nodes), told)


def _moves_to_new(a: Netlist, b: Netlist, suspects: _Suspects, titles: Titles) -> Iterator[Edit]:
    """Take one terminal off its net, to a net of its own."""
    fresh = "a net of its own"
    for t in a.transistors:
        if t.name in suspects.devices_a:
            for role in ("gate", "source", "drain"):

                def told(t: Transistor = t, role: str = role) -> str:
                    at = f"{_title(a, t.name)}: {_end(role)} is on net {getattr(t, role)}"
                    return f"{at} in {titles[0]}; in {titles[1]} nothing else is on its net"

                yield _changed(a, b, t, _placed(t, role, fresh), told)


def _merged(a: Netlist, b: Netlist, nets: list[str], titles: Titles) -> Iterator[Edit]:
    """Join two suspect nets of the side that has one more."""
    ports = set(a.ports)
    for at, one in enumerate(nets):
        for other in nets[at + 1 :]:
            if one in ports and other in ports:
                continue
            keep, lose = (other, one) if other in ports else (one, other)
            says = f"nets {one} and {other} of {titles[0]} are one net in {titles[1]}"
            yield Edit(partial(str, says), partial(_both, a, b, {lose: keep}))


def _exchanged_ports(a: Netlist, b: Netlist, suspects: _Suspects, titles: Titles) -> Iterator[Edit]:
    if suspects.differences.nets:
        return  # two names exchanged leave every net without a name as it is
    near = set(suspects.nets_a)
    ports = [port for port in a.ports if port in near]
    for at, one in enumerate(ports):
        for other in ports[at + 1 :]:
            says = f"ports {one} and {other} are exchanged between {titles[0]} and {titles[1]}"
            yield Edit(partial(str, says), partial(_both, a, b, {one: other, other: one}))


def _moved(title: str, terminal: str, old: str, net: str, titles: Titles) -> str:
    return f"{title}: {terminal} is on net {old} in {titles[0]}; in {titles[1]} it is on what {titles[0]} calls {net}"


def _end(role: str) -> str:
    return "its gate" if role == "gate" else "one end (source or drain)"


def _placed(t: Transistor, role: str, net: str) -> Transistor:
    if role == "gate":
        return replace(t, gate=net)
    return replace(t, source=net) if role == "source" else replace(t, drain=net)


def _only(netlist: Netlist, change: "Callable[..., Transistor | Element | None]") -> Netlist:
    """Return the netlist with each device as `change` returns it, those left out where it returns None."""
    transistors = [changed for t in netlist.transistors if (changed := change(t)) is not None]
    elements = [changed for e in netlist.elements if (changed := change(e)) is not None]
    return replace(
        netlist,
        transistors=tuple(t for t in transistors if isinstance(t, Transistor)),
        elements=tuple(e for e in elements if isinstance(e, Element)),
    )


def _both(a: Netlist, b: Netlist, names: dict[str, str]) -> tuple[Netlist, Netlist]:
    return _only(a, lambda part: part.renamed(names)), b


def _with(netlist: Netlist, part: Transistor | Element) -> Netlist:
    return _only(netlist, lambda old: part if old.name == part.name else old)
