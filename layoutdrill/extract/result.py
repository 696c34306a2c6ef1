"""The extraction: a netlist that remembers where on the drawing each of its parts lies."""

from bisect import bisect_right
from dataclasses import field

from layoutdrill.extract.model import Finding
from layoutdrill.extract.pieces import NONE
from layoutdrill.extract.wiring import Wiring
from layoutdrill.geometry.cutting import union
from layoutdrill.geometry.rect import Rect
from layoutdrill.geometry.sweep import Node, Slabs, slab_height, slabs
from layoutdrill.netlist.model import Netlist
from layoutdrill.process.model import SUBSTRATE, Process
from layoutdrill.units import GridUnits
from layoutdrill.value import mutable


@mutable
class LayoutExtraction:
    """The result of reading one layout; places are looked up in indexes made when first asked for."""

    netlist: Netlist
    findings: tuple[Finding, ...]
    process: Process = field(repr=False)
    wiring: Wiring = field(repr=False)
    channels: dict[str, tuple[int, ...]] = field(repr=False)
    names: dict[int, str] = field(repr=False)
    _members: dict[str, list[int]] = field(default_factory=dict, repr=False)
    _devices: dict[int, str] = field(default_factory=dict, repr=False)
    _slabs: dict[str, tuple[int, Slabs]] = field(default_factory=dict, repr=False)

    def channel(self, device: str) -> tuple[Rect, ...]:
        """Return the channel of a transistor, or the body of a resistor, capacitor or diode."""
        return tuple(self._rect(n) for n in self.channels[device])

    def net_shapes(self, net: str) -> dict[str, tuple[Rect, ...]]:
        wiring, parent = self.wiring, self.wiring.parent
        material, materials = wiring.material, wiring.plan.materials
        if not self._members:
            for m, nodes in enumerate(wiring.members):
                if m not in wiring.plan.inners:
                    for node in nodes:
                        self._members.setdefault(self.names[parent[node[4]]], []).append(node[4])
            for holes in wiring.holes.values():
                for hole in holes:
                    name = self.names.get(parent[hole[4]])
                    if name is not None:
                        self._members.setdefault(name, []).append(hole[4])
        shapes: dict[str, list[Rect]] = {}
        for n in self._members.get(net, ()):
            shapes.setdefault(materials[material[n]] if material[n] != NONE else self._cut(n), []).append(self._rect(n))
        return {name: tuple(union(rects)) for name, rects in shapes.items()}

    def nets_at(self, x: GridUnits, y: GridUnits) -> tuple[tuple[str, str], ...]:
        wiring = self.wiring
        here: dict[tuple[str, str], None] = {}
        for name in self.process.conductors:
            if name != SUBSTRATE:
                for node in self._at(name, x, y):
                    here.setdefault((name, self.names[wiring.parent[node[4]]]), None)
        return tuple(here)

    def transistor_at(self, x: GridUnits, y: GridUnits) -> str | None:
        if not self._devices:
            self._devices.update((n, name) for name, nodes in self.channels.items() for n in nodes)
        for channel in dict.fromkeys(rule.channel for rule in self.process.transistors):
            for node in self._at(channel, x, y):
                if node[4] in self._devices:
                    return self._devices[node[4]]
        return None

    def _at(self, material: str, x: int, y: int) -> list[Node]:
        if material not in self._slabs:
            nodes = self.wiring.of(material)
            height = slab_height(nodes)
            self._slabs[material] = height, slabs(nodes, height)
        height, rows = self._slabs[material]
        here = rows.get(y // height, [])
        return [node for node in here[: bisect_right(here, (x + 1,))] if x <= node[2] and node[1] <= y <= node[3]]

    def _cut(self, n: int) -> str:
        return next(layer for layer, holes in self.wiring.holes.items() if holes and holes[0][4] <= n <= holes[-1][4])

    def _rect(self, n: int) -> Rect:
        return Rect(*self.wiring.nodes[n][:4])
