"""Join pieces into nets: touching pieces of one conductor, cuts, taps; union-find over piece numbers."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from itertools import chain

from layoutdrill.extract.materials import ABUT, JOIN, JUNCTION, Plan
from layoutdrill.geometry.sweep import Box, meeting, touching
from layoutdrill.process.model import SUBSTRATE, Process


@dataclass(slots=True)
class Wiring:
    """
    The pieces of a layout as nodes 0…n−1, and what joins them; node n is the substrate.

    `first[m]` is the first node of material m (with one entry more at the end). `abutments` are (a, b, length)
    between a channel or element body and an end. `cuts` are (layer, box, a node it joins or −1).
    """

    plan: Plan
    boxes: list[Box]
    material: bytes
    first: list[int]
    parent: list[int]
    abutments: list[tuple[int, int, int]] = field(default_factory=list)
    junctions: list[tuple[int, int]] = field(default_factory=list)
    cuts: list[tuple[str, Box, int]] = field(default_factory=list)
    stray_cuts: list[tuple[str, Box]] = field(default_factory=list)

    @property
    def substrate(self) -> int:
        return len(self.boxes)

    def nodes(self, name: str) -> range:
        """Return the nodes of a material, or the substrate's."""
        if name == SUBSTRATE:
            return range(self.substrate, self.substrate + 1)
        m = self.plan.index(name)
        return range(self.first[m], self.first[m + 1])

    def find(self, node: int) -> int:
        parent = self.parent
        while parent[node] != node:
            parent[node] = parent[parent[node]]
            node = parent[node]
        return node

    def join(self, a: int, b: int) -> None:
        a, b = self.find(a), self.find(b)
        if a < b:
            self.parent[b] = a
        elif b < a:
            self.parent[a] = b


def gather(plan: Plan, pieces: Sequence[Sequence[Box]]) -> Wiring:
    """Number the pieces and join those of one conductor that touch; record channels' and bodies' abutments."""
    boxes: list[Box] = list(chain.from_iterable(pieces))
    first = [0]
    for part in pieces:
        first.append(first[-1] + len(part))
    material = b"".join(bytes([m]) * len(part) for m, part in enumerate(pieces))
    wiring = Wiring(plan, boxes, material, first, list(range(len(boxes) + 1)))
    for family in plan.families:
        if len(family) == 1:
            nodes = range(first[family[0]], first[family[0] + 1])
            for a, b in touching(boxes, nodes):
                wiring.join(a, b)
        else:
            _sweep_family(wiring, [n for m in family for n in range(first[m], first[m + 1])])
    return wiring


def _sweep_family(wiring: Wiring, nodes: list[int]) -> None:
    boxes, material, action = wiring.boxes, wiring.material, wiring.plan.action
    for a, b in touching(boxes, nodes):
        what = action[material[a]][material[b]]
        if what == JOIN:
            wiring.join(a, b)
        elif what == ABUT:
            length = edge_length(boxes[a], boxes[b])
            if length:
                wiring.abutments.append((a, b, length))
        elif what == JUNCTION:
            wiring.junctions.append((a, b))


def edge_length(a: Box, b: Box) -> int:
    """Return the length of the edge two touching boxes share; 0 when they overlap."""
    w = min(a[2], b[2]) - max(a[0], b[0])
    h = min(a[3], b[3]) - max(a[1], b[1])
    return h if w == 0 else w if h == 0 else 0


def connect(wiring: Wiring, process: Process, shapes: Mapping[str, Sequence[Box]]) -> None:
    """Apply the process's cuts: holes that join upper and lower conductors, and taps in their wells."""
    by_layer: dict[str, list[tuple[str, tuple[str, ...]]]] = {}
    for cut in process.cuts:
        if cut.layer is None:
            _overlaps(wiring, cut.upper, cut.lower)
        else:
            by_layer.setdefault(cut.layer, []).append((cut.upper, cut.lower))
    for layer, joins in by_layer.items():
        if shapes.get(layer):
            _holes(wiring, layer, shapes[layer], joins)


def _overlaps(wiring: Wiring, upper: str, lower: tuple[str, ...]) -> None:
    above = wiring.nodes(upper)
    for name in lower:
        if name == SUBSTRATE:
            for node in above:
                wiring.join(node, wiring.substrate)
        else:
            for a, b in meeting(wiring.boxes, above, wiring.nodes(name)):
                wiring.join(a, b)


def _holes(wiring: Wiring, layer: str, holes: Sequence[Box], joins: Sequence[tuple[str, tuple[str, ...]]]) -> None:
    plan, material = wiring.plan, wiring.material
    names = dict.fromkeys(name for upper, lower in joins for name in (upper, *lower) if name != SUBSTRATE)
    nodes = [n for name in names for n in wiring.nodes(name)]
    boxes: list[Box] = [*(wiring.boxes[n] for n in nodes), *holes]
    hits: dict[int, list[int]] = {}
    for hole, at in meeting(boxes, range(len(nodes), len(boxes)), range(len(nodes))):
        try:
            hits[hole].append(nodes[at])
        except KeyError:
            hits[hole] = [nodes[at]]
    rules = [
        (plan.index(upper), frozenset(plan.index(n) for n in lower if n != SUBSTRATE), SUBSTRATE in lower)
        for upper, lower in joins
    ]
    for h in range(len(nodes), len(boxes)):
        under = hits.get(h, ())
        joined = -1
        for upper, lower, ground in rules:
            tops = [n for n in under if material[n] == upper]
            if not tops:
                continue
            bottoms = [n for n in under if material[n] in lower]
            if not bottoms and ground:
                bottoms = [wiring.substrate]
            if bottoms:
                joined = tops[0]
                for n in tops[1:]:
                    wiring.join(joined, n)
                for n in bottoms:
                    wiring.join(joined, n)
        wiring.cuts.append((layer, boxes[h], joined))
        if joined < 0:
            wiring.stray_cuts.append((layer, boxes[h]))
