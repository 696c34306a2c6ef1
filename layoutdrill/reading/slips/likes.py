"""How a circuit looks from each of its nets, near and far, and what an edit does to that: signatures that are sums."""

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import field

from layoutdrill.netlist.model import Kind, Mode, Netlist
from layoutdrill.reading.slips.mends import Device, Edit
from layoutdrill.value import mutable

LEAST_LIKES = 2
"""So many others must look as the edited place does afterwards."""
SUPPLIES = (11, 13)


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
            SUPPLIES[0] if n in high else SUPPLIES[1] if n in low else 100 + i if uses[i] >= many else 0
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
            self.alike[level].update(look_of(d, seen) for d in devices)
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
                change[look_of(d, before)] -= 1
                if new is not None:
                    change[look_of(new, after)] += 1
            if edit.added is not None:
                look = look_of(edit.added, after)
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
        looks = Counter(look_of(d, after) for d in made)
        return all(count[look] + change[look] - n >= LEAST_LIKES for look, n in looks.items())


class _Patched:
    """A list with some places replaced."""

    def __init__(self, base: Sequence[int], changes: Mapping[int, int]) -> None:
        self.base, self.changes = base, changes

    def __getitem__(self, at: int) -> int:
        changed = self.changes.get(at)
        return self.base[at] if changed is None else changed


def _terminals(d: Device) -> tuple[int, int, int]:
    return (d.gate, d.source, d.drain)


def look_of(d: Device, seen: "Sequence[int] | _Patched") -> int:
    a, b = seen[d.source], seen[d.drain]
    return hash((d.kind, seen[d.gate], a, b) if a < b else (d.kind, seen[d.gate], b, a))
