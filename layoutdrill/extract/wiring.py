"""Join pieces into nets: touching pieces of one conductor, cuts, taps; union-find over piece numbers."""

from collections.abc import Sequence
from dataclasses import field

from layoutdrill.extract.materials import ABUT, JOIN, JUNCTION, Plan
from layoutdrill.extract.pieces import Pieces
from layoutdrill.geometry.regions import edge_length
from layoutdrill.geometry.sweep import Node, Slabs, meeting_nodes, touching_nodes
from layoutdrill.process.model import SUBSTRATE, Process
from layoutdrill.value import mutable


@mutable
class Wiring:
    """
    The pieces of a layout as nodes 0…n−1, and what joins them; node n is the substrate.

    `members[m]` are the nodes of material m. `abutments` are (channel or element body, end, length). `holes` maps a
    cut layer to its nodes, which are joined with what they join; a stray one stays alone. `strip_at` gives the strip
    that a node belongs to, which does not conduct, and `strip_ends` what cuts would have joined each strip to.
    """

    plan: Plan
    nodes: list[Node]
    material: bytearray
    members: list[list[Node]]
    parent: list[int]
    abutments: list[tuple[int, int, int]] = field(default_factory=list)
    junctions: list[tuple[int, int]] = field(default_factory=list)
    holes: dict[str, list[Node]] = field(default_factory=dict)
    stray_cuts: list[tuple[str, Node]] = field(default_factory=list)
    strip_at: dict[int, int] = field(default_factory=dict)
    strip_ends: list[list[int]] = field(default_factory=list)

    @property
    def substrate(self) -> int:
        return len(self.nodes)

    def of(self, name: str) -> list[Node]:
        """Return the nodes of a material."""
        return self.members[self.plan.index(name)]

    def find(self, node: int) -> int:
        parent = self.parent
        while parent[node] != node:
            parent[node] = parent[parent[node]]
            node = parent[node]
        return node

    def join(self, a: int, b: int) -> None:
        """Join two nodes' nets; the smaller number stays the root, which `settle` relies on."""
        a, b = self.find(a), self.find(b)
        if a < b:
            self.parent[b] = a
        elif b < a:
            self.parent[a] = b

    def settle(self) -> None:
        """Point every node straight at its root: from now on `parent[node]` is the root."""
        parent = self.parent
        for node, above in enumerate(parent):
            parent[node] = parent[above]


def gather(pieces: Pieces) -> Wiring:
    """Join the pieces of one conductor that touch; record the abutments of channels and bodies."""
    parent = [node[4] for node in pieces.nodes]
    parent.append(len(parent))
    wiring = Wiring(pieces.plan, pieces.nodes, pieces.material, pieces.members, parent)
    for family in pieces.plan.families:
        if len(family) == 1:
            for a, b in touching_nodes(pieces.slabs_of(family[0]), pieces.height):
                i, j = a[4], b[4]
                while parent[i] != i:
                    parent[i] = i = parent[parent[i]]
                while parent[j] != j:
                    parent[j] = j = parent[parent[j]]
                if i < j:
                    parent[j] = i
                elif j < i:
                    parent[i] = j
        else:
            joined = _together([pieces.slabs_of(m) for m in family if pieces.members[m]])
            _sweep_family(wiring, joined, pieces.height)
    return wiring


def _together(parts: Sequence[Slabs]) -> Slabs:
    joined: Slabs = {}
    for part in parts:
        for s, members in part.items():
            joined.setdefault(s, []).extend(members)
    for members in joined.values():
        members.sort()
    return joined


def _sweep_family(wiring: Wiring, slabs_here: Slabs, height: int) -> None:
    material, action = wiring.material, wiring.plan.action
    inners = wiring.plan.inners
    for a, b in touching_nodes(slabs_here, height):
        m = material[a[4]]
        what = action[m][material[b[4]]]
        if what == JOIN:
            wiring.join(a[4], b[4])
        elif what == ABUT:
            length = edge_length(a, b)
            if length:
                wiring.abutments.append((a[4], b[4], length) if m in inners else (b[4], a[4], length))
        elif what == JUNCTION:
            wiring.junctions.append((a[4], b[4]))


def connect(wiring: Wiring, process: Process, pieces: Pieces) -> None:
    """Apply the process's cuts: holes that join upper and lower conductors, and taps in their wells."""
    joined: dict[str, set[int]] = {}
    for cut in process.cuts:
        if cut.layer is None:
            _overlaps(wiring, pieces, cut.upper, cut.lower)
        elif pieces.drawn.nodes[cut.layer]:
            done = joined.setdefault(cut.layer, set())
            _holes(wiring, pieces, cut.layer, cut.upper, cut.lower, done)
    for layer, done in joined.items():
        holes = wiring.holes[layer] = pieces.drawn.nodes[layer]
        if len(done) < len(holes):
            wiring.stray_cuts.extend((layer, hole) for hole in holes if hole[4] not in done)


def _overlaps(wiring: Wiring, pieces: Pieces, upper: str, lower: tuple[str, ...]) -> None:
    above = wiring.of(upper)
    for name in lower:
        if name == SUBSTRATE:
            for node in above:
                wiring.join(node[4], wiring.substrate)
        elif above:
            m = wiring.plan.index
            mark = {node[4] for node in above}
            right = [pieces.slabs_of(m(name))]
            for a, b in meeting_nodes(pieces.slabs_of(m(upper)), right, pieces.height, mark):
                if not wiring.strip_at or not _ends_strip(wiring, a[4], b[4]):
                    wiring.join(a[4], b[4])


def _ends_strip(wiring: Wiring, a: int, b: int) -> bool:
    """Note that one of two nodes ends a strip that the other belongs to; tell whether that was so."""
    for strip, end in ((a, b), (b, a)):
        number = wiring.strip_at.get(strip)
        if number is not None:
            wiring.strip_ends[number].append(end)
            return True
    return False


def _holes(wiring: Wiring, pieces: Pieces, layer: str, upper: str, lower: tuple[str, ...], done: set[int]) -> None:
    """Join what lies above and below each hole; with the hole itself, so that it is known to which net it belongs."""
    top_material = wiring.plan.index(upper)
    materials = [top_material, *(wiring.plan.index(name) for name in lower if name != SUBSTRATE)]
    holes = pieces.drawn.nodes[layer]
    first = pieces.drawn.start[layer]
    tops = [-1] * len(holes)
    bottoms = [-1] * len(holes)
    more: list[tuple[int, int]] = []
    mark = range(first, first + len(holes))
    strips = wiring.strip_at
    ends: list[tuple[int, int]] = []
    right = [pieces.slabs_of(m) for m in materials if pieces.members[m] or strips]
    material, join = wiring.material, wiring.join
    for hole, node in meeting_nodes(pieces.layer_slabs(layer), right, pieces.height, mark):
        h, n = hole[4] - first, node[4]
        if strips and n in strips:
            ends.append((h, n))
            continue
        side = tops if material[n] == top_material else bottoms
        if side[h] < 0:
            side[h] = n
        else:
            more.append((h, n))
    ground = SUBSTRATE in lower
    for h, top in enumerate(tops):
        bottom = bottoms[h]
        if bottom < 0 and ground:
            bottom = bottoms[h] = wiring.substrate
        if top >= 0 and bottom >= 0:
            join(top, bottom)
            join(top, first + h)
            done.add(first + h)
    for h, n in ends:
        if tops[h] >= 0:
            wiring.strip_ends[strips[n]].append(tops[h])
            join(tops[h], first + h)
            done.add(first + h)
    for h, n in more:
        if tops[h] >= 0 and bottoms[h] >= 0:
            join(tops[h], n)
