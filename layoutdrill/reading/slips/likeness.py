"""
Find the single edit that makes a part of a circuit equal to its likes in the same circuit.

Method: what meets a net is added up to a signature, near (the devices on it) and far (those on their other nets as
well), as in colour refinement (Weisfeiler and Leman 1968; from memory). Devices of one signature are alike. Since a
signature is a sum, what an edit does to it is one subtraction and one addition: of all edits, only those are tried
after which every net that they touch looks like nets that are there already. The edit that leaves the fewest unlike
devices is the likeliest slip.

Nets with many devices on them (supplies, clocks, word lines) are known by themselves, and nothing is seen through them.
"""

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import field, replace
from itertools import islice

from layoutdrill.netlist.model import Kind, Mode, Netlist, Transistor
from layoutdrill.value import mutable, value

MANY = (14, 7)
"""A net with so many terminals on it is known by itself, like a supply; the second is for small circuits."""
LEAST_LIKES = 2
"""So many others must look as the edited place does afterwards."""
MOST_TRIED = 240
MOST_EDITS = 12_000
MOST_SUSPECTS = 240
MOST_ODD = 40
SMALL = 200
"""Circuits to so many transistors are looked at a second time, with fewer terminals for a net to be known by itself."""
_SUPPLIES = (11, 13)
_KINDS = (Kind.P, Kind.N)
ADDED = "+"
"""The name of a transistor that an edit adds."""


@value
class Mend:
    """One edit in words, the devices and nets that it touches, and by how many kinds of place it leaves fewer."""

    words: str
    transistors: tuple[str, ...]
    nets: tuple[str, ...]
    gain: int
    edit: "Edit"

    def made(self, netlist: Netlist) -> Netlist | None:
        """Return the netlist after the edit; None where the words alone say what to do."""
        if not self.edit.changed and self.edit.added is None:
            return None
        nets = list(netlist.nets)
        ts: list[Transistor | None] = list(netlist.transistors)
        for i, new in self.edit.changed:
            t = netlist.transistors[i]
            ts[i] = None
            if new is not None:
                kind = _KINDS[new.kind & 1]
                ts[i] = replace(t, kind=kind, gate=nets[new.gate], source=nets[new.source], drain=nets[new.drain])
        if (new := self.edit.added) is not None:
            mode = Mode.DEPLETION if new.kind & 2 else Mode.ENHANCEMENT
            names = (nets[new.gate], nets[new.source], nets[new.drain])
            ts.append(Transistor(ADDED, _KINDS[new.kind & 1], *names, mode=mode))
        return replace(netlist, transistors=tuple(t for t in ts if t is not None))


@value
class Device:
    """A transistor as the comparison sees it: a type, a gate and two ends by number."""

    kind: int
    gate: int
    source: int
    drain: int


@value
class Edit:
    """Devices by number that change: to another device, or to none; `added` is one more."""

    changed: tuple[tuple[int, Device | None], ...] = ()
    added: Device | None = None


def likeliest(netlist: Netlist, high: Iterable[str], low: Iterable[str], most: int = 3) -> list[Mend]:
    """Return the edits after which the circuit has the fewest places that are unlike others, the best first."""
    if len(netlist.transistors) < 8:
        return []
    found: list[Mend] = []
    for many in MANY if len(netlist.transistors) <= SMALL else MANY[:1]:
        scene = Likes.of(netlist, frozenset(high), frozenset(low), many)
        found = [_mend(scene, netlist, edit, gain) for edit in _tried(scene) if (gain := scene.gain(edit)) > 0]
        found += _two_in_one(scene)
        if found:
            break
    found.sort(key=lambda m: (-m.gain, m.words))
    return found[:most]


@mutable
class Likes:
    """The signatures of nets and devices, near and far, and how often each is there."""

    names: tuple[str, ...]
    devices: list[Device]
    fixed: list[int]
    ports: frozenset[int] = frozenset()
    near: list[int] = field(default_factory=list)
    far: list[int] = field(default_factory=list)
    at: list[set[int]] = field(default_factory=list)
    nets: Counter[int] = field(default_factory=Counter)
    alike: tuple[Counter[int], Counter[int]] = field(default_factory=lambda: (Counter(), Counter()))

    @classmethod
    def of(cls, netlist: Netlist, high: frozenset[str], low: frozenset[str], many: int) -> "Likes":
        names = tuple(netlist.nets)
        number = {n: i for i, n in enumerate(names)}
        devices = [
            Device((t.kind is Kind.N) + 2 * (t.mode is Mode.DEPLETION), *(number[n] for n in (t.gate, *t.ends)))
            for t in netlist.transistors
        ]  # fmt: skip
        uses = Counter(n for d in devices for n in (d.gate, d.source, d.drain))
        fixed = [
            _SUPPLIES[0] if n in high else _SUPPLIES[1] if n in low else 100 + i if uses[i] >= many else 0
            for i, n in enumerate(names)
        ]
        self = cls(names, devices, fixed, frozenset(number[p] for p in netlist.ports if p in number))
        self.at = [set() for _ in names]
        self.near = [0] * len(names)
        for i, d in enumerate(devices):
            for net in (d.gate, d.source, d.drain):
                self.at[net].add(i)
            for net, part in self.parts(d, self.fixed):
                self.near[net] += part
        for i, label in enumerate(fixed):
            if label:
                self.near[i] = label
        self.far = [hash((1, s)) for s in self.near]
        for d in devices:
            for net, part in self.parts(d, self.near):
                self.far[net] += part
        for i, label in enumerate(fixed):
            if label:
                self.far[i] = label
        self.nets = Counter(s for s, label in zip(self.near, fixed, strict=True) if not label)
        for level, seen in enumerate((self.near, self.far)):
            self.alike[level].update(_look(d, seen) for d in devices)
        return self

    def parts(self, d: Device, seen: "Sequence[int] | _Patched") -> Iterator[tuple[int, int]]:
        """Yield what a device adds to the signature of each net that it is on, supplies and the like left out."""
        a, b = seen[d.source], seen[d.drain]
        if not self.fixed[d.gate]:
            yield d.gate, hash((d.kind, 1, a, b) if a < b else (d.kind, 1, b, a))
        if not self.fixed[d.source]:
            yield d.source, hash((d.kind, 2, seen[d.gate], b))
        if not self.fixed[d.drain]:
            yield d.drain, hash((d.kind, 2, seen[d.gate], a))

    def near_after(self, edit: Edit) -> dict[int, int]:
        """Return the near signatures that an edit changes."""
        after: dict[int, int] = {}
        for i, new in edit.changed:
            for net, part in self.parts(self.devices[i], self.fixed):
                after[net] = after.get(net, self.near[net]) - part
            for net, part in self.parts(new, self.fixed) if new is not None else ():
                after[net] = after.get(net, self.near[net]) + part
        for net, part in self.parts(edit.added, self.fixed) if edit.added is not None else ():
            after[net] = after.get(net, self.near[net]) + part
        return {net: s for net, s in after.items() if s != self.near[net]}

    def gain(self, edit: Edit) -> int:
        """Return by how many the kinds of device, seen near and far, are fewer after an edit; 0 where none is like."""
        near_after = self.near_after(edit)
        near = _Patched(self.near, near_after)
        changed = dict(edit.changed)
        # devices whose near look changes, and the nets whose far signature does
        first = {i for net in near_after for i in self.at[net]} | set(changed)
        touched = {n for i in first for d in (self.devices[i], changed.get(i)) if d for n in _terminals(d)}
        if edit.added is not None:
            touched |= set(_terminals(edit.added))
        touched = {n for n in touched if not self.fixed[n]}
        far_after = {n: self.far[n] - hash((1, self.near[n])) + hash((1, near[n])) for n in touched}
        for i in first:
            d, new = self.devices[i], changed.get(i, self.devices[i])
            for net, part in self.parts(d, self.near):
                far_after[net] -= part
            for net, part in self.parts(new, near) if new is not None else ():
                far_after[net] += part
        for net, part in self.parts(edit.added, near) if edit.added is not None else ():
            far_after[net] += part
        far = _Patched(self.far, far_after)
        second = first | {i for net in touched for i in self.at[net]}
        gain = 0
        for level, (before, after, some) in enumerate(((self.near, near, first), (self.far, far, second))):
            change: Counter[int] = Counter()
            for i in some:
                d, new = self.devices[i], changed.get(i, self.devices[i])
                change[_look(d, before)] -= 1
                if new is not None:
                    change[_look(new, after)] += 1
            if edit.added is not None:
                look = _look(edit.added, after)
                change[look] += 1
            count = self.alike[level]
            if level == 0 and not self._like(edit, changed, after, count, change):
                return 0
            for look, step in change.items():
                there = count[look]
                gain += (there > 0) - (there + step > 0)
        return gain

    @staticmethod
    def _like(
        edit: Edit, changed: Mapping[int, Device | None], after: "_Patched", count: Counter[int], change: Counter[int]
    ) -> bool:
        """Tell whether what was edited then looks like others."""
        made = [d for d in (*changed.values(), edit.added) if d is not None]
        looks = Counter(_look(d, after) for d in made)
        return all(count[look] + change[look] - n >= LEAST_LIKES for look, n in looks.items())


class _Patched:
    """A list with some places replaced."""

    def __init__(self, base: Sequence[int], changes: Mapping[int, int]) -> None:
        self.base, self.changes = base, changes

    def __getitem__(self, at: int) -> int:
        found = self.changes.get(at)
        return self.base[at] if found is None else found


def _terminals(d: Device) -> tuple[int, int, int]:
    return (d.gate, d.source, d.drain)


def _look(d: Device, seen: "Sequence[int] | _Patched") -> int:
    a, b = seen[d.source], seen[d.drain]
    return hash((d.kind, seen[d.gate], a, b) if a < b else (d.kind, seen[d.gate], b, a))


def _tried(scene: Likes) -> Iterator[Edit]:
    """Yield edits after which every net that they touch looks as others do, the ones at odd nets first."""
    weighed: list[tuple[int, int, Edit]] = []
    for number, edit in enumerate(islice(_edits(scene), MOST_EDITS)):
        after = scene.near_after(edit)
        counts: Counter[int] = Counter()
        for net, s in after.items():
            counts[scene.near[net]] -= 1
            counts[s] += 1
        if any(s and scene.nets[s] + counts[s] <= LEAST_LIKES for s in after.values()):
            continue
        if any(not s and net in scene.ports for net, s in after.items()):
            continue  # a port that nothing would touch
        odd = sum(scene.nets[scene.near[net]] <= 1 for net in after)
        if not odd:
            continue
        weighed.append((-odd, number, edit))
    weighed.sort(key=lambda w: w[:2])
    for _, _, edit in weighed[:MOST_TRIED]:
        yield edit


def _edits(scene: Likes) -> Iterator[Edit]:
    suspects = sorted(_suspects(scene))
    if len(suspects) > MOST_SUSPECTS:
        return  # one slip makes few places odd
    for i in suspects:
        d = scene.devices[i]
        yield Edit(((i, Device(d.kind ^ 1, d.gate, d.source, d.drain)),))
        yield Edit(((i, None),))
    yield from _additions(scene)
    yield from _moves(scene, suspects)


def _suspects(scene: Likes) -> set[int]:
    """Return the devices that look like few others, with those on the nets that do."""
    odd = {n for n, s in enumerate(scene.near) if not scene.fixed[n] and scene.nets[s] <= 1}
    some = {i for n in odd for i in scene.at[n]}
    return some | {i for i, d in enumerate(scene.devices) if scene.alike[0][_look(d, scene.near)] <= 1}


def _moves(scene: Likes, suspects: Sequence[int]) -> Iterator[Edit]:
    """Yield one terminal of a suspect moved to another net that would then look like others."""
    wanted: dict[int, list[int]] = {}
    fixed = [n for n, label in enumerate(scene.fixed) if label]

    def takers(part: int) -> list[int]:
        found = wanted.get(part)
        if found is None:
            found = [
                n for n, s in enumerate(scene.near)
                if not scene.fixed[n] and scene.nets[s + part] >= LEAST_LIKES
            ] + fixed  # fmt: skip
            wanted[part] = found
        return found

    for i in suspects:
        d = scene.devices[i]
        a, b = scene.fixed[d.source], scene.fixed[d.drain]
        part = hash((d.kind, 1, a, b) if a < b else (d.kind, 1, b, a))
        for net in takers(part):
            if net != d.gate:
                yield Edit(((i, Device(d.kind, net, d.source, d.drain)),))
        for keep in (d.drain, d.source):
            for net in takers(hash((d.kind, 2, scene.fixed[d.gate], scene.fixed[keep]))):
                if net not in (d.source, d.drain):
                    yield Edit(((i, Device(d.kind, d.gate, net, keep)),))


def _additions(scene: Likes) -> Iterator[Edit]:
    """Yield one device more, of a kind that is there, between odd nets near to one another."""
    odd = [n for n, s in enumerate(scene.near) if not scene.fixed[n] and scene.nets[s] <= 1]
    if len(odd) > MOST_ODD:
        return
    kinds: dict[tuple[int, int, int, int], None] = {}
    tied: dict[tuple[int, int], None] = {}
    for d in scene.devices:
        a, b = sorted((scene.fixed[d.source], scene.fixed[d.drain]))
        if d.gate in (d.source, d.drain) and not scene.fixed[d.gate]:
            tied[d.kind, scene.fixed[d.source if d.gate == d.drain else d.drain]] = None
        else:
            kinds[d.kind, scene.fixed[d.gate], a, b] = None
    by_label = {label: n for n, label in enumerate(scene.fixed) if label}
    for kind, far in tied:  # a load with its gate on its own source
        part = hash((kind, 1, 0, far)) + hash((kind, 2, 0, far))
        for n in odd if far else ():
            if scene.nets[scene.near[n] + part] >= LEAST_LIKES:
                yield Edit((), Device(kind, n, n, by_label[far]))
    for kind, gate, a, b in kinds:
        sets = []
        for role, label, beside in ((1, gate, (a, b)), (2, a, (gate, b)), (2, b, (gate, a))):
            part = hash((kind, role, *beside))
            sets.append(
                [by_label[label]] if label
                else [n for n in odd if scene.nets[scene.near[n] + part] >= LEAST_LIKES]
            )  # fmt: skip
        if len(sets[0]) * len(sets[1]) * len(sets[2]) > 4000:
            continue
        for g in sets[0]:
            for x in sets[1]:
                for y in sets[2]:
                    if x != y or (a and b):
                        yield Edit((), Device(kind, g, x, y))


def _two_in_one(scene: Likes) -> list[Mend]:
    """Return nets that look, far around, like two nets that are there, each with a stage of its own: one by mistake."""
    made: list[Counter[int]] = [Counter() for _ in scene.names]
    driven = [False] * len(scene.names)
    for d in scene.devices:
        for net, part in scene.parts(d, scene.near):
            made[net][part] += 1
        for end, other in ((d.source, d.drain), (d.drain, d.source)):
            driven[end] = driven[end] or scene.near[other] in _SUPPLIES
    free = [n for n, label in enumerate(scene.fixed) if not label]
    count = Counter(scene.far[n] - hash((1, scene.near[n])) for n in free)
    like: dict[int, list[int]] = {}
    for n in free:
        if driven[n]:
            like.setdefault(scene.far[n] - hash((1, scene.near[n])), []).append(n)
    found = []
    for n in free:
        whole = scene.far[n] - hash((1, scene.near[n]))
        if count[whole] > 1 or not driven[n]:
            continue
        for first, nets in like.items():
            others = like.get(whole - first)
            if others is None or nets[0] > others[0] or made[nets[0]] + made[others[0]] != made[n]:
                continue
            size = len(scene.at[n])
            words = f"{scene.names[n]} is two nets: one like {scene.names[nets[0]]}, one like {scene.names[others[0]]}"
            found.append(Mend(words, (), (scene.names[n],), size + count[first] + count[whole - first], Edit()))
            break
    return found


def _mend(scene: Likes, netlist: Netlist, edit: Edit, gain: int) -> Mend:
    names = scene.names
    if edit.added is not None:
        d = edit.added
        ends = f"{names[d.source]} and {names[d.drain]}"
        words = f"look for {_article(d.kind)} transistor between {ends}, gated by {names[d.gate]}"
        nets = tuple(names[n] for n in (d.gate, d.source, d.drain) if not scene.fixed[n])
        return Mend(words, (), nets, gain, edit)
    ((i, new),) = edit.changed
    t, old = netlist.transistors[i], scene.devices[i]
    if new is None:
        return Mend(f"without {t.name}", (t.name,), t.ends, gain, edit)
    if new.kind != old.kind:
        return Mend(f"{t.name} as {_article(new.kind)} transistor", (t.name,), t.ends, gain, edit)
    if new.gate != old.gate:
        words = f"{t.name} with its gate on {names[new.gate]} instead of {t.gate}"
        return Mend(words, (t.name,), (t.gate, names[new.gate]), gain, edit)
    gone = ({old.source, old.drain} - {new.source, new.drain}).pop()
    come = ({new.source, new.drain} - {old.source, old.drain}).pop()
    words = f"{t.name} with an end on {names[come]} instead of {names[gone]}"
    return Mend(words, (t.name,), (names[gone], names[come]), gain, edit)


def _article(kind: int) -> str:
    words = ("a p", "an n", "a depletion p", "a depletion n")
    return words[kind]
