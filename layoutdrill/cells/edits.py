"""
Change one wire of a netlist, in the ways in which one drawing is taken for another.

Each edit yields (netlist, sentence): the netlist has the same ports, and the sentence says what is different in it.
A gate line is one gate net inside one channel-connected group: the wire that a drawing shows crossing that stage.
"""

from collections import Counter
from collections.abc import Callable, Iterator
from dataclasses import replace
from itertools import combinations

from layoutdrill.netlist.model import Kind, Mode, Netlist, Transistor
from layoutdrill.unions import Unions
from layoutdrill.value import value

Edit = tuple[Netlist, str]
SIDE = {Kind.N: "n", Kind.P: "p"}


@value
class Sheet:
    """A netlist with what the edits ask of it. `inputs` and `outputs` are ports."""

    netlist: Netlist
    rails: frozenset[str]
    inputs: tuple[str, ...]
    outputs: tuple[str, ...]

    @property
    def devices(self) -> tuple[Transistor, ...]:
        return self.netlist.transistors

    def with_devices(self, devices: tuple[Transistor, ...]) -> Netlist:
        return replace(self.netlist, transistors=devices)

    def is_load(self, t: Transistor) -> bool:
        return t.mode is Mode.DEPLETION or t.gate in self.rails

    def groups(self) -> list[list[int]]:
        """Return the channel-connected groups as places of devices, in the order of the netlist."""
        numbers: dict[str, int] = {}
        inner = [
            [
                numbers.setdefault(end, len(numbers))
                for end in t.ends
                if end not in self.rails and end not in self.inputs
            ]
            for t in self.devices
        ]
        conducting = Unions()
        for ends in inner:
            for other in ends[1:]:
                conducting.join(ends[0], other)
        places: dict[int, list[int]] = {}
        for place, ends in enumerate(inner):
            places.setdefault(conducting.find(ends[0]) if ends else -1 - place, []).append(place)
        return list(places.values())


def moved(sheet: Sheet) -> Iterator[Edit]:
    """Yield a gate line joined to another signal: an input, or what another gate line carries."""
    used = {t.gate for t in sheet.devices if not sheet.is_load(t)}
    signals = [n for n in sheet.netlist.nets if n not in sheet.rails and (n in used or n in sheet.inputs)]
    for group in sheet.groups():
        mine = [sheet.devices[place] for place in group]
        ends = {end for t in mine for end in t.ends}
        for old in dict.fromkeys(t.gate for t in mine if not sheet.is_load(t)):
            for new in signals:
                if new == old or new in ends:
                    continue
                changed = tuple(
                    replace(t, gate=new) if place in group and t.gate == old and not sheet.is_load(t) else t
                    for place, t in enumerate(sheet.devices)
                )
                yield sheet.with_devices(changed), f"a gate line that carries {old} carries {new} here"


def crossed(sheet: Sheet) -> Iterator[Edit]:
    """Yield two gate lines of one group exchanged."""
    for group in sheet.groups():
        mine = {place: sheet.devices[place] for place in group}
        lines = dict.fromkeys(t.gate for t in mine.values() if not sheet.is_load(t))
        for first, second in combinations(lines, 2):
            names = {first: second, second: first}
            changed = tuple(
                replace(t, gate=names.get(t.gate, t.gate)) if place in mine and not sheet.is_load(t) else t
                for place, t in enumerate(sheet.devices)
            )
            yield sheet.with_devices(changed), f"the gate lines of {first} and {second} change places in one stage"


def exchanged(sheet: Sheet) -> Iterator[Edit]:
    """Yield the gates of a switch pair, or of two switches with an end in common, exchanged."""
    for (i, a), (j, b) in combinations(enumerate(sheet.devices), 2):
        shared = (set(a.ends) & set(b.ends)) - sheet.rails
        switches = not (set(a.ends) | set(b.ends)) & sheet.rails
        if a.gate == b.gate or not shared or not switches or sheet.is_load(a) or sheet.is_load(b):
            continue
        if a.kind is not b.kind and set(a.ends) != set(b.ends):
            continue
        changed = list(sheet.devices)
        changed[i], changed[j] = replace(a, gate=b.gate), replace(b, gate=a.gate)
        if a.kind is b.kind:  # the partners of two transmission gates go with them
            for k, t in enumerate(sheet.devices):
                for mine, other in ((a, b), (b, a)):
                    if t.kind is not mine.kind and set(t.ends) == set(mine.ends):
                        partner = next(
                            (s for s in sheet.devices if s.kind is t.kind and set(s.ends) == set(other.ends)), None
                        )
                        if partner is not None:
                            changed[k] = replace(t, gate=partner.gate)
        says = f"the control lines {a.gate} and {b.gate} of the switches at {min(shared)} change places"
        yield sheet.with_devices(tuple(changed)), says


def restacked(sheet: Sheet) -> Iterator[Edit]:
    """Yield two transistors in series set in parallel, and the opposite on the side of the other kind."""
    for kind in Kind:
        for (i, a), (j, b) in combinations(enumerate(sheet.devices), 2):
            if a.kind is not kind or b.kind is not kind or sheet.is_load(a) or sheet.is_load(b) or a.gate == b.gate:
                continue
            middle = _middle(sheet, a, b)
            if middle is None:
                continue
            far = (*(set(a.ends) - {middle}), *(set(b.ends) - {middle}))
            changed = list(sheet.devices)
            changed[i] = replace(a, source=far[0], drain=far[1])
            changed[j] = replace(b, source=far[0], drain=far[1])
            says = f"the {SIDE[kind]} transistors of {a.gate} and {b.gate} are in parallel, not in series"
            other = _beside(sheet, kind, a.gate, b.gate)
            if other is not None:
                k, m = other
                first, second = sheet.devices[k], sheet.devices[m]
                changed[k] = replace(first, source=first.ends[0], drain=middle)
                changed[m] = replace(second, source=middle, drain=first.ends[1])
                says += f", and their {SIDE[first.kind]} transistors in series, not in parallel"
            yield sheet.with_devices(tuple(changed)), says


def unstacked(sheet: Sheet) -> Iterator[Edit]:
    """Yield, in logic of one kind, two transistors in parallel set in series."""
    if len({t.kind for t in sheet.devices}) != 1:
        return
    taken = set(sheet.netlist.nets)
    middle = next(name for n in range(1, len(taken) + 2) if (name := f"mid{n}") not in taken)
    for (i, a), (j, b) in combinations(enumerate(sheet.devices), 2):
        if set(a.ends) != set(b.ends) or a.gate == b.gate or sheet.is_load(a) or sheet.is_load(b):
            continue
        changed = list(sheet.devices)
        changed[i] = replace(a, source=a.ends[0], drain=middle)
        changed[j] = replace(b, source=middle, drain=a.ends[1])
        says = f"the transistors of {a.gate} and {b.gate} are in series, not in parallel"
        yield sheet.with_devices(tuple(changed)), says


def _middle(sheet: Sheet, a: Transistor, b: Transistor) -> str | None:
    """Return the node that joins two transistors in series and nothing else."""
    shared = (set(a.ends) & set(b.ends)) - sheet.rails - set(sheet.netlist.ports)
    if len(shared) != 1 or set(a.ends) == set(b.ends):
        return None
    (node,) = shared
    touching = sum(node in t.ends for t in sheet.devices)
    return node if touching == 2 and all(t.gate != node for t in sheet.devices) else None


def _beside(sheet: Sheet, kind: Kind, first: str, second: str) -> tuple[int, int] | None:
    """Return two transistors of the other kind with these gates that share both ends."""
    others = [(place, t) for place, t in enumerate(sheet.devices) if t.kind is not kind]
    for i, a in others:
        for j, b in others:
            if a.gate == first and b.gate == second and set(a.ends) == set(b.ends):
                return i, j
    return None


def led_elsewhere(sheet: Sheet) -> Iterator[Edit]:
    """Yield one end of a switch led to another node."""
    touched = Counter(net for t in sheet.devices for net in (t.gate, *t.ends))
    ends = {end for t in sheet.devices for end in t.ends}
    places = [net for net in sheet.netlist.nets if net not in sheet.rails and net in ends]
    for place, t in enumerate(sheet.devices):
        if sheet.is_load(t) or set(t.ends) & sheet.rails:
            continue
        for old, kept in (t.ends, tuple(reversed(t.ends))):
            if touched[old] < 3 and old not in sheet.netlist.ports:
                continue
            for new in places:
                if new not in (old, kept, t.gate):
                    changed = list(sheet.devices)
                    changed[place] = replace(t, source=kept, drain=new)
                    says = f"the switch of {t.gate} leads from {kept} to {new}, not to {old}"
                    yield sheet.with_devices(tuple(changed)), says


def taken_elsewhere(sheet: Sheet) -> Iterator[Edit]:
    """Yield an output taken from another driven node, the two nodes changing names."""
    driven = Counter(end for t in sheet.devices for end in t.ends)
    gates = {t.gate for t in sheet.devices}
    inner = [n for n in sheet.netlist.nets if n not in sheet.netlist.ports and n in gates and driven[n] >= 2]
    for output in sheet.outputs:
        for node in inner:
            names = {output: node, node: output}
            changed = tuple(t.renamed(names) for t in sheet.devices)
            yield sheet.with_devices(changed), f"{output} is taken from another node of the same circuit"


def cut_back(sheet: Sheet) -> Iterator[Edit]:
    """Yield feedback broken: a gate line that closes a loop takes an input instead."""
    after: dict[str, set[str]] = {}
    for group in sheet.groups():
        mine = [sheet.devices[place] for place in group]
        ends = {end for t in mine for end in t.ends} - sheet.rails - set(sheet.inputs)
        for t in mine:
            after.setdefault(t.gate, set()).update(ends)
    for group in sheet.groups():
        mine = [sheet.devices[place] for place in group]
        ends = {end for t in mine for end in t.ends} - sheet.rails - set(sheet.inputs)
        reach = _reach(after, ends)
        for old in dict.fromkeys(t.gate for t in mine if t.gate in reach and not sheet.is_load(t)):
            for new in sheet.inputs:
                if any(new in t.ends for t in sheet.devices) and new not in ends:
                    changed = tuple(
                        replace(t, gate=new) if place in group and t.gate == old and not sheet.is_load(t) else t
                        for place, t in enumerate(sheet.devices)
                    )
                    yield sheet.with_devices(changed), f"{old} does not run back: that gate line carries {new}"


def _reach(after: dict[str, set[str]], start: set[str]) -> set[str]:
    reached, front = set(start), list(start)
    while front:
        new = after.get(front.pop(), set()) - reached
        reached |= new
        front.extend(new)
    return reached


def removed(sheet: Sheet) -> Iterator[Edit]:
    """Yield one transistor missing, where its gate line goes on to another."""
    gates = Counter(t.gate for t in sheet.devices)
    for place, t in enumerate(sheet.devices):
        if gates[t.gate] < 2 or sheet.is_load(t):
            continue
        rest = sheet.devices[:place] + sheet.devices[place + 1 :]
        touched = Counter(net for other in rest for net in (other.gate, *other.ends))
        if all(touched[net] >= 2 or net in sheet.netlist.ports for net in t.ends):
            says = f"the {SIDE[t.kind]} transistor of {t.gate} between {' and '.join(t.ends)} is missing"
            yield sheet.with_devices(rest), says


EDITS: tuple[tuple[str, Callable[[Sheet], Iterator[Edit]]], ...] = (
    ("series and parallel", restacked),
    ("series and parallel", unstacked),
    ("controls exchanged", exchanged),
    ("feedback broken", cut_back),
    ("inputs exchanged", crossed),
    ("input moved", moved),
    ("switch moved", led_elsewhere),
    ("output moved", taken_elsewhere),
    ("transistor missing", removed),
)
"""The kinds of edit, those that change a structure's name most often first."""
