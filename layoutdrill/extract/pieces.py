"""Compute the pieces of every material of a layout: conductors, channels and element bodies as numbered boxes."""

from array import array
from itertools import chain

from layoutdrill.extract.drawn import Drawn
from layoutdrill.extract.materials import Group, Plan
from layoutdrill.geometry.cutting import overlaps, split
from layoutdrill.geometry.sweep import Box, Node, Slabs, meeting_nodes, slab_height, slabs

NONE = 255
"""The material of a drawn rectangle that belongs to none."""

_MANY = 24


class Pieces:
    """
    Nodes by material (`members`, by place in `plan.materials`) and by number (`nodes`), with the material of each.

    `unread` are areas under a gate that no region claims, `undoped` areas of active layers elsewhere that none does.
    `covers` gives, for each channel and body, drawn rectangles that lie over its surroundings: all of the layers that
    its group looks at.

    Those of a region do not overlap; those of a plain mask layer are as drawn. Numbers below `drawn.count` are
    drawn rectangles, of which some belong to no material (NONE).
    """

    def __init__(self, plan: Plan, drawn: Drawn) -> None:
        self.plan = plan
        self.drawn = drawn
        self.height = slab_height(*drawn.nodes.values())
        self.nodes: list[Node] = list(chain.from_iterable(drawn.nodes.values()))
        self.material = bytearray([NONE]) * len(self.nodes)
        self.members: list[list[Node]] = [[] for _ in plan.materials]
        self.unread: list[Box] = []
        self.undoped: list[Box] = []
        self.covers: dict[int, list[Node]] = {}
        self._slabs: dict[int | str, Slabs] = {}
        for m, layer in plan.plain:
            self.members[m] = drawn.nodes[layer]
            start, count = drawn.start[layer], len(drawn.nodes[layer])
            self.material[start : start + count] = bytes([m]) * count
        for group in plan.groups:
            self._cut(group)
        self._slabs.clear()

    def slabs_of(self, material: int) -> Slabs:
        """Return a material's slabs, sorted once."""
        for m, layer in self.plan.plain:
            if m == material:
                return self.layer_slabs(layer)
        kept = self._slabs.get(material)
        if kept is None:
            kept = self._slabs[material] = slabs(self.members[material], self.height)
        return kept

    def layer_slabs(self, layer: str) -> Slabs:
        kept = self._slabs.get(layer)
        if kept is None:
            kept = self._slabs[layer] = slabs(self.drawn.nodes[layer], self.height)
        return kept

    def covered_by(self, inner: int, outer: int) -> dict[int, int] | None:
        """
        Map each node of a channel or body to a drawn rectangle of a plain material over it.

        None when the cutting did not look at that material's layer, or found too many over one piece to try them all.
        """
        layer = next((layer for m, layer in self.plan.plain if m == outer), None)
        groups = [group for group in self.plan.groups if any(m == inner for m, _ in group.regions)]
        if layer is None or not groups or layer not in groups[0].layers[1:]:
            return None
        material = self.material
        covers: dict[int, int] = {}
        if any(len(self.covers[node[4]]) > _MANY for node in self.members[inner]):
            return None
        for x0, y0, x1, y1, n in self.members[inner]:
            for ax0, ay0, ax1, ay1, i in self.covers[n]:
                if material[i] == outer and ax0 < x1 and ax1 > x0 and ay0 < y1 and ay1 > y0:
                    covers[n] = i
                    break
        return covers

    def _cut(self, group: Group) -> None:
        """Cut the guard layer's rectangles where the other layers of a group's expressions lie over them."""
        guards, others, base = self._guards(group)
        if not guards:
            return
        first = self.drawn.count
        bits = array("I", bytes(4 * first))
        for layer in others:
            start, count = self.drawn.start[layer], len(self.drawn.nodes[layer])
            bits[start : start + count] = array("I", [1 << group.layers.index(layer)]) * count
        mark = {node[4] for node in guards}
        covers: dict[int, list[Node]] = {}
        right = [self.layer_slabs(layer) for layer in others if self.drawn.nodes[layer]]
        guard_slabs = slabs(guards, self.height)
        for guard, cover in meeting_nodes(guard_slabs, right, self.height, mark):
            try:
                covers[guard[4]].append(cover)
            except KeyError:
                covers[guard[4]] = [cover]
        places: dict[int, list[int]] = {}
        inners = self.plan.inners
        nodes, material, members = self.nodes, self.material, self.members
        number = len(nodes)
        for guard in guards:
            for piece, mask in split(guard[:4], covers.get(guard[4], ()), bits, base):
                try:
                    here = places[mask]
                except KeyError:
                    here = places[mask] = [m for m, test in group.regions if test(mask)]
                if not here and any(mask & gate == gate for gate in group.gates):
                    self.unread.append(piece)
                elif not here and group.silicon:
                    self.undoped.append(piece)
                for m in here:
                    if m in inners:
                        self.covers[number] = covers.get(guard[4], [])
                    node = (*piece, number)
                    nodes.append(node)
                    material.append(m)
                    members[m].append(node)
                    number += 1

    def _guards(self, group: Group) -> tuple[list[Node], tuple[str, ...], int]:
        """Return rectangles that do not overlap (new ones numbered below 0), the other layers, and the guard's bit."""
        if group.guard is None:
            drawn = [node for layer in group.layers for node in self.drawn.nodes[layer]]
            guarding = slabs(drawn, self.height)
        else:
            drawn = self.drawn.nodes[group.guard]
            guarding = self.layer_slabs(group.guard)
        earlier = overlaps(guarding, self.height)
        if not earlier:
            whole = drawn
        else:
            ones = array("I", [1]) * self.drawn.count
            whole = []
            for node in drawn:
                over = earlier.get(node[4])
                if over is None:
                    whole.append(node)
                else:
                    for piece, mask in split(node[:4], over, ones, 0):
                        if not mask:
                            whole.append((*piece, -1 - len(whole)))
        if group.guard is None:
            return [(*node[:4], -1 - i) for i, node in enumerate(whole)], group.layers, 0
        return whole, group.layers[1:], 1
