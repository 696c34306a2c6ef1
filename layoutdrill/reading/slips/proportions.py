"""
Slips of size: a transistor whose length over width is far from that of its likes, where many keep one proportion.

A width by itself tells nothing: an output stage may be ten times as large as the rest. What is set against others is a
transistor and those beside it on one side of a stage, the two sides of a stage, the two halves of a transmission gate,
and single switches on one control. In ratioed logic the load is some four times as long for its width as the way to the
other rail, or eight times behind a pass transistor (Mead & Conway 1980), so that only what lies well beyond that is
told, and only where nearly all of many keep to one proportion.
"""

from collections import defaultdict
from collections.abc import Iterator, Sequence
from statistics import median

from layoutdrill.reading.slips.model import Scene, Slip
from layoutdrill.reading.slips.strengths import Pair, named, strong_slips, ways
from layoutdrill.recognise.gates import Gate
from layoutdrill.recognise.switches import Switch
from layoutdrill.recognise.view import View

FAR = 2.9
"""A proportion so many times that of the others is odd (three times, with room for rounding to a grid)."""
NEAR = 1.6
"""Others within this of their median keep one proportion."""
LEAST_LIKES = 7
MOST_ODD = 0.1
"""Where more than this share is odd, nothing is."""

_BY_DESIGN = (
    "super buffer", "bootstrap driver", "level restorer", "Schmitt inverter", "level shifter", "C-element", "arbiter",
    "bus keeper", "bus with keeper", "sense amplifier", "RC oscillator", "crystal oscillator", "power-on reset",
    "delay", "substrate-bias generator", "starved inverter", "bias stage", "edge pulse generator", "output driver",
    "tri-state pad", "bidirectional pad", "open-drain pad", "input pad", "output pad", "cross-coupled inverters",
)  # fmt: skip
"""Structures whose stages are skewed by intent."""
_STORES = (
    "static RAM cell",
    "memory bit",
    "latch",
    "register bit",
    "shift-register bit",
    "dynamic latch",
    "SR latch",
    "gated SR latch",
)
"""Structures whose stages may have a proportion of their own: they are set against each other."""


def proportion_slips(scene: Scene) -> Iterator[Slip]:
    """Yield transistors out of proportion, where at least seven others of their sort keep one."""
    if not scene.view.netlist.transistors or not all(t.width and t.length for t in scene.view.netlist.transistors):
        return
    told: set[str] = set()
    for slip in (*_beside(scene), *_sides(scene), *_halves(scene), *_switches(scene), *strong_slips(scene)):
        if not told & set(slip.transistors):
            told |= set(slip.transistors)
            yield slip


def _odd_ones(proportions: Sequence[float]) -> tuple[list[int], float, int]:
    """Return which of several proportions are odd, the usual one, and how many keep to it; none where too few do."""
    if len(proportions) <= LEAST_LIKES:
        return [], 0.0, 0
    usual = median(proportions)
    odd = [i for i, p in enumerate(proportions) if not usual / FAR < p < usual * FAR]
    even = sum(usual / NEAR <= p <= usual * NEAR for p in proportions)
    if even < LEAST_LIKES or len(odd) > max(1, MOST_ODD * even) or even + len(odd) < 0.9 * len(proportions):
        return [], usual, even
    return odd, usual, even


def _stages(scene: Scene) -> Iterator[tuple[Gate, str]]:
    """Yield the stages that are no skewed ones by intent, with the store that each is in."""
    view = scene.view
    by_design, stores = scene.owners(*_BY_DESIGN), scene.owners(*_STORES)
    for net, gate in view.gates.items():
        names = view.names(gate.members)
        kept = len(gate.inputs) > 1 and any(_follows(view, view.prepared.switches[i].gate, net) for i in gate.members)
        if gate.kind in ("static", "ratioed") and not kept and not any(n in by_design for n in names):
            yield gate, next((stores[n] for n in names if n in stores), "")


def _follows(view: View, control: str, net: str) -> bool:
    """Tell whether a control is a net's own inverse: what it opens keeps the net."""
    return control in view.gates and view.gates[control].inverter_of == net


def _is_load(view: View, net: str, number: int) -> bool:
    return any(number in numbers for numbers in view.stages[net].loads.values())


def _beside(scene: Scene) -> Iterator[Slip]:
    """Yield the transistor on one side of a stage that is far from the others on it."""
    view = scene.view
    sides: list[list[Switch]] = []
    for gate, _ in _stages(scene):
        for kind in {view.prepared.switches[i].kind for i in gate.members}:
            side = [
                s for i in gate.members if (s := view.prepared.switches[i]).kind is kind
                and not _is_load(view, gate.output, i)
            ]  # fmt: skip
            if len(side) > 1:
                sides.append(side)
    spread = [max(s.resistance for s in side) / min(s.resistance for s in side) for side in sides]
    uneven, _, even = _odd_ones(spread)
    usual: dict[object, list[float]] = defaultdict(list)
    for at, side in enumerate(sides):
        if at not in uneven:
            usual[side[0].kind] += [s.resistance for s in side]
    for at in uneven:
        side = sides[at]
        middle = median(usual[side[0].kind]) if len(side) < 3 else median(s.resistance for s in side)
        odd = max(side, key=lambda s: _off(s.resistance, middle))
        others = [n for s in side if s is not odd for n in s.names]
        beside = " and ".join(others[:3]) + (" …" if len(others) > 3 else "")
        text = f"{named(odd.names)} is {_compared(odd.resistance, middle)} as {beside} beside it; {even} others match"
        yield Slip("odd proportion", text, odd.names, (), f"measure {named(odd.names)} again")


def _sides(scene: Scene) -> Iterator[Slip]:
    """Yield the stages whose way up and way down are out of proportion."""
    view = scene.view
    stages = [(gate, store, pair) for gate, store in _stages(scene) if (pair := ways(view, gate)) is not None]
    left = list(range(len(stages)))
    for measure in ("term", "kind", "device"):  # those alike first; where these are too few, all that keep one measure
        pools: dict[tuple[str, ...], list[int]] = defaultdict(list)
        for i in left:
            gate, store, _ = stages[i]
            key = {"term": (gate.kind, store, gate.term), "kind": (gate.kind, store), "device": (gate.kind,)}
            pools[key[measure]].append(i)
        settled: set[int] = set()
        for pool in pools.values():
            pairs = [_by_device(view, stages[i][0]) if measure == "device" else stages[i][2] for i in pool]
            odd, usual, even = _odd_ones([p.proportion for p in pairs])
            if not even or even < 0.9 * len(pool) - 1:
                continue
            settled.update(pool)
            others = [p for k, p in enumerate(pairs) if k not in odd]
            single = [_by_device(view, stages[i][0]).sizes for i in pool]
            for k in odd:
                # of gates unlike each other a longer way is none; a transistor of another size is
                by_itself = any(_off(single[k][side], median(s[side] for s in single)) >= FAR for side in (0, 1))
                if measure == "term" or by_itself:
                    yield _told(pairs[k], usual, even, others)
        left = [i for i in left if i not in settled]


def _halves(scene: Scene) -> Iterator[Slip]:
    """Yield the transmission gates whose halves are out of proportion."""
    view = scene.view
    pairs = []
    for link in view.links:
        if link.term != "transmission gate":
            continue
        kinds: dict[str, list[Switch]] = defaultdict(list)
        for i in link.members:
            kinds[str(view.prepared.switches[i].kind)].append(view.prepared.switches[i])
        if sorted(map(len, kinds.values())) != [1, 1]:
            continue
        (p,), (n,) = kinds["p"], kinds["n"]
        pairs.append(Pair(" and ".join(link.ends), p.names, n.names, (p.resistance, n.resistance), "switch"))
    odd, usual, even = _odd_ones([p.proportion for p in pairs])
    others = [p for k, p in enumerate(pairs) if k not in odd]
    for k in odd:
        yield _told(pairs[k], usual, even, others)


def _switches(scene: Scene) -> Iterator[Slip]:
    """Yield the single switches on a control that are far from others on it."""
    view = scene.view
    on: dict[str, list[Switch]] = defaultdict(list)
    for link in view.links:
        if link.term == "pass transistor" and len(link.members) == len(link.controls) == 1:
            on[link.controls[0]].append(view.prepared.switches[link.members[0]])
    for control, switches in on.items():
        odd, usual, even = _odd_ones([s.resistance for s in switches])
        for k in odd:
            s = switches[k]
            text = f"{named(s.names)} is {_compared(s.resistance, usual)} as {even} other switches on {control}"
            yield Slip("odd proportion", text, s.names, s.ends, f"measure {named(s.names)} again")


def _told(pair: Pair, usual: float, even: int, others: Sequence[Pair]) -> Slip:
    """Tell a pair out of proportion, and which half is the odd one: the further from what the others have."""
    halves = [(names, size, median(o.sizes[k] for o in others))
              for k, (names, size) in enumerate(zip((pair.first, pair.second), pair.sizes, strict=True))]  # fmt: skip
    (names, size, middle), (mates, _, _) = sorted(halves, key=lambda h: -_off(h[1], h[2]))
    sides = "the way up from" if pair.what == "stage" else "the p half between"
    other = "way down" if pair.what == "stage" else "n half"
    text = (
        f"{sides} {pair.net} has {pair.proportion:.2g} times the length over width of its {other}; {even} others have "
        f"about {usual:.2g}"
    )
    repair = f"measure {named(names)} again: {_compared(size, middle)} as its likes"
    return Slip("odd proportion", text, (*names, *mates), tuple(pair.net.split(" and ")), repair)


def _off(size: float, middle: float) -> float:
    return max(size / middle, middle / size)


def _compared(size: float, middle: float) -> str:
    times = size / middle
    return f"{times:.2g} times as long for its width" if times > 1 else f"{1 / times:.2g} times as wide for its length"


def _by_device(view: View, gate: Gate) -> Pair:
    """Return the two sides of a stage by what one transistor on each has in the middle."""
    rails = view.prepared.supplies
    halves = []
    for rail in (rails.high, rails.low):
        mine = [view.prepared.switches[i] for i in gate.members if _leads(view, gate, i, rail)]
        halves.append((tuple(n for s in mine for n in s.names), median(s.resistance for s in mine)))
    (highs, up), (lows, down) = halves
    return Pair(gate.output, highs, lows, (up, down), "stage")


def _leads(view: View, gate: Gate, number: int, rail: frozenset[str]) -> bool:
    """Tell whether a transistor of a stage is on the side of a rail: by its kind, or as load or driver."""
    loads = view.stages[gate.output].loads
    high = rail == view.prepared.supplies.high
    if any(number in numbers for numbers in loads.values()):
        return number in loads.get("high" if high else "low", ())
    if gate.kind == "ratioed":
        return not loads.get("high" if high else "low")
    return (view.prepared.switches[number].kind.value == "p") is high
