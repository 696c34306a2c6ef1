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
from collections.abc import Iterable, Iterator, Sequence
from itertools import islice

from layoutdrill.netlist.model import Netlist
from layoutdrill.reading.slips.likes import LEAST_LIKES, SUPPLIES, Likes, look_of
from layoutdrill.reading.slips.mends import Device, Edit, Mend

MANY = (14, 7)
"""A net with so many terminals on it is known by itself, like a supply; the second is for small circuits."""
MOST_TRIED = 240
MOST_EDITS = 12_000
MOST_SUSPECTS = 240
MOST_ODD = 40
SMALL = 200
"""Circuits to so many transistors are looked at a second time, with fewer terminals for a net to be known by itself."""


def likeliest(netlist: Netlist, high: Iterable[str], low: Iterable[str], most: int = 3) -> list[Mend]:
    """Return the edits after which the circuit has the fewest places that are unlike others, the best first."""
    if len(netlist.transistors) < 8:
        return []
    mends: list[Mend] = []
    for many in MANY if len(netlist.transistors) <= SMALL else MANY[:1]:
        scene = Likes.of(netlist, frozenset(high), frozenset(low), many)
        mends = [_mend(scene, netlist, edit, gain) for edit in _tried(scene) if (gain := scene.gain(edit)) > 0]
        mends += _two_in_one(scene)
        if mends:
            break
    mends.sort(key=lambda m: (-m.gain, m.words))
    return mends[:most]


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
    return some | {i for i, d in enumerate(scene.devices) if scene.alike[0][look_of(d, scene.near)] <= 1}


def _moves(scene: Likes, suspects: Sequence[int]) -> Iterator[Edit]:
    """Yield one terminal of a suspect moved to another net that would then look like others."""
    wanted: dict[int, list[int]] = {}
    fixed = [n for n, label in enumerate(scene.fixed) if label]

    def takers(part: int) -> list[int]:
        places = wanted.get(part)
        if places is None:
            places = [
                n for n, s in enumerate(scene.near)
                if not scene.fixed[n] and scene.nets[s + part] >= LEAST_LIKES
            ] + fixed  # fmt: skip
            wanted[part] = places
        return places

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
            driven[end] = driven[end] or scene.near[other] in SUPPLIES
    free = [n for n, label in enumerate(scene.fixed) if not label]
    looks = [far - hash((1, near)) for far, near in zip(scene.far, scene.near, strict=True)]
    count = Counter(looks[n] for n in free)
    like: dict[int, list[int]] = {}
    for n in free:
        if driven[n]:
            like.setdefault(looks[n], []).append(n)
    holding: dict[int, list[int]] = {}  # the looks of nets, by each part that they are made of
    for look, nets in like.items():
        for part in made[nets[0]]:
            holding.setdefault(part, []).append(look)
    mends = []
    for n in free:
        whole = looks[n]
        if count[whole] > 1 or not driven[n]:
            continue
        # One of the two has the part that fewest nets have.
        rarest = min((holding.get(part, []) for part in made[n]), key=len)
        pairs = []
        for look in rarest:
            both = [like[look], like.get(whole - look, [])]
            if both[1] and made[both[0][0]] + made[both[1][0]] == made[n]:
                pairs.append(sorted(both, key=lambda nets: nets[0]))
        if pairs:
            nets, others = min(pairs, key=lambda pair: pair[0][0])
            size = len(scene.at[n])
            words = f"{scene.names[n]} is two nets: one like {scene.names[nets[0]]}, one like {scene.names[others[0]]}"
            mends.append(
                Mend(words, (), (scene.names[n],), size + count[looks[nets[0]]] + count[looks[others[0]]], Edit())
            )
    return mends


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
    gone = next(iter({old.source, old.drain} - {new.source, new.drain}), old.source)
    come = ({new.source, new.drain} - {old.source, old.drain}).pop()
    words = f"{t.name} with an end on {names[come]} instead of {names[gone]}"
    return Mend(words, (t.name,), (names[gone], names[come]), gain, edit)


def _article(kind: int) -> str:
    words = ("a p", "an n", "a depletion p", "a depletion n")
    return words[kind]
