"""The extraction: a netlist that remembers where on the drawing each of its parts lies."""

from dataclasses import dataclass, field

from layoutdrill.extract.model import Finding
from layoutdrill.extract.wiring import Wiring
from layoutdrill.geometry.cutting import union
from layoutdrill.geometry.rect import Rect
from layoutdrill.netlist.model import Netlist
from layoutdrill.process.model import Process


@dataclass(slots=True)
class LayoutExtraction:
    """The result of reading one layout; places are looked up in indexes made when first asked for."""

    netlist: Netlist
    findings: tuple[Finding, ...]
    process: Process
    wiring: Wiring
    channels: dict[str, tuple[int, ...]]
    names: dict[int, str]
    _members: dict[str, list[int]] = field(default_factory=dict)

    def channel(self, transistor: str) -> tuple[Rect, ...]:
        return tuple(Rect(*self.wiring.boxes[n]) for n in self.channels[transistor])

    def element_body(self, element: str) -> tuple[Rect, ...]:
        """Return the area of an element's body."""
        return self.channel(element)

    def net_shapes(self, net: str) -> dict[str, tuple[Rect, ...]]:
        wiring = self.wiring
        if not self._members:
            for n in range(len(wiring.boxes)):
                if wiring.material[n] not in wiring.plan.inners:
                    self._members.setdefault(self.names[wiring.find(n)], []).append(n)
        shapes: dict[str, list[Rect]] = {}
        for n in self._members.get(net, ()):
            shapes.setdefault(wiring.plan.materials[wiring.material[n]], []).append(Rect(*wiring.boxes[n]))
        for layer, box, node in wiring.cuts:
            if node >= 0 and self.names[wiring.find(node)] == net:
                shapes.setdefault(layer, []).append(Rect(*box))
        return {name: tuple(union(rects)) for name, rects in shapes.items()}

    def nets_at(self, x: int, y: int) -> tuple[tuple[str, str], ...]:
        wiring = self.wiring
        found: dict[tuple[str, str], None] = {}
        for name in self.process.conductors:
            if name not in wiring.plan.materials:
                continue
            for n in wiring.nodes(name):
                x0, y0, x1, y1 = wiring.boxes[n]
                if x0 <= x <= x1 and y0 <= y <= y1:
                    found.setdefault((name, self.names[wiring.find(n)]), None)
        return tuple(found)

    def transistor_at(self, x: int, y: int) -> str | None:
        for transistor in self.netlist.transistors:
            for n in self.channels[transistor.name]:
                x0, y0, x1, y1 = self.wiring.boxes[n]
                if x0 <= x <= x1 and y0 <= y <= y1:
                    return transistor.name
        return None
