"""
What there is to see on a drawing: wires, channels, contacts, crossings, crossunders, taps; all from the extraction.

Rectangles are in grid units. Everything is worked out when first asked for, once for each scene.
"""

from collections.abc import Iterable, Sequence
from functools import cached_property

from layoutdrill.extract.model import Extraction
from layoutdrill.face.materials import Material, materials, metal_gate
from layoutdrill.geometry.cutting import union
from layoutdrill.geometry.rect import Rect, bounding_box
from layoutdrill.geometry.sweep import meeting, touching
from layoutdrill.layout.model import Label, Layout
from layoutdrill.process import Process
from layoutdrill.unions import Unions
from layoutdrill.units import GridUnits
from layoutdrill.value import value


@value
class Wire:
    """One rectangle of a conductor."""

    rect: Rect
    conductor: str
    material: Material
    net: str


@value
class Joint:
    """A cut and what it joins; `lower` is the conductor below."""

    rect: Rect
    layer: str
    upper: str
    lower: str
    material: Material
    net: str


@value
class Crossing:
    """A place where metal of one net passes over another net; `clean` where both run on at either side."""

    rects: tuple[Rect, ...]
    upper: Wire
    lower: Wire
    clean: bool


@value
class Piece:
    """A connected piece of one conductor, the transistors whose channels it borders, and its cuts."""

    rects: tuple[Rect, ...]
    conductor: str
    material: Material
    net: str
    transistors: tuple[str, ...]
    joints: int


SORTS = frozenset({"contacts", "wires", "taps"})
"""Sorts of thing of which a scene may hold every one that there is."""


class Scene:
    """
    The sights of one face. `complete` are the sorts of which it holds every one that there is: of a drawing all, of a
    photograph those that its author marked all of. Of transistors there are always all.
    """

    def __init__(
        self, process: Process, layout: Layout, extraction: Extraction, complete: frozenset[str] = SORTS
    ) -> None:
        self.complete = complete
        self.process = process
        self.layout = layout.flattened()
        self.extraction = extraction
        self.materials = materials(process)
        self.metal_gate = metal_gate(process)

    @property
    def unit(self) -> int:
        """Grid units in one λ."""
        return self.process.grid_per_lambda

    @property
    def box(self) -> Rect | None:
        """The extent of all that is drawn, None where nothing is."""
        return self.layout.box

    @property
    def labels(self) -> tuple[Label, ...]:
        """The names of ports and where they stand."""
        return self.layout.labels

    @property
    def wells(self) -> tuple[str, tuple[Rect, ...]]:
        """What a well is called in this process, and where wells lie."""
        names = [name for name, layer in self.process.layers.items() if layer.role == "well"]
        title = self.process.layers[names[0]].title if names else "well"
        return title, tuple(rect for name in names for rect in self.layout.shapes.get(name, ()))

    def has(self, role: str) -> bool:
        """Tell whether anything is drawn on a layer of the role."""
        return any(layer.role == role and name in self.layout.shapes for name, layer in self.process.layers.items())

    def covered_by(self, roles: Iterable[str], x: GridUnits, y: GridUnits) -> bool:
        """Tell whether a layer of one of the roles is drawn over a point, or ends there."""
        wanted = set(roles)
        names = [name for name, layer in self.process.layers.items() if layer.role in wanted]
        return any(rect.contains(x, y) for name in names for rect in self.layout.shapes.get(name, ()))

    @cached_property
    def local(self) -> frozenset[str]:
        """The conductors of local wiring."""
        return frozenset(name for name, layer in self.process.layers.items() if layer.role == "local-metal")

    @property
    def actives(self) -> list[str]:
        """The layers that outline diffusion: where no layer does it alone, the dopings themselves."""
        actives = [name for name, layer in self.process.layers.items() if layer.role == "active"]
        dopings = ("n-doping", "p-doping")
        return actives or [name for name, layer in self.process.layers.items() if layer.role in dopings]

    @cached_property
    def nets(self) -> tuple[str, ...]:
        """Every net with a shape: those of the netlist, then loose wires that join no device."""
        known = {name: self._shapes_of(name) for name in self.extraction.netlist.nets}
        names = dict.fromkeys(name for name, shapes in known.items() if shapes)
        places = [rect.centre for name in self.actives for rect in self.layout.shapes.get(name, ())]
        for conductor in self.materials:
            if conductor in self.layout.shapes and self.materials[conductor] is not Material.WELL:
                drawn = union(self.layout.shapes[conductor])
                seen = sum(r.area for shapes in known.values() for r in shapes.get(conductor, ()))
                if seen < sum(r.area for r in drawn):
                    places += [rect.centre for rect in drawn]
        for x, y in places:
            names.update(dict.fromkeys(net for _, net in self.extraction.nets_at(x, y)))
        return tuple(names)

    @cached_property
    def wires(self) -> tuple[Wire, ...]:
        """Every rectangle of every conductor but wells, top conductors first."""
        wires = []
        for net in self.nets:
            for conductor, rects in self._shapes_of(net).items():
                material = self.materials.get(conductor)
                if material is not None and material is not Material.WELL:
                    wires += [Wire(rect, conductor, material, net) for rect in rects]
        order = list(self.materials)
        return tuple(sorted(wires, key=lambda w: (order.index(w.conductor), w.rect, w.net)))

    def _shapes_of(self, net: str) -> dict[str, tuple[Rect, ...]]:
        """Return a net's shapes, worked out once."""
        if net not in self._shapes:
            self._shapes[net] = self.extraction.net_shapes(net)
        return self._shapes[net]

    @cached_property
    def _shapes(self) -> dict[str, dict[str, tuple[Rect, ...]]]:
        return {}

    def wires_at(self, x: GridUnits, y: GridUnits) -> list[Wire]:
        """Return the wires that hold a point, or end there, top conductors first."""
        return [w for w in self._strips.get(y // self._strip, ()) if w.rect.contains(x, y)]

    @property
    def _strip(self) -> int:
        """The height, in grid units, of the strips by which wires are looked up."""
        return 40 * self.unit

    @cached_property
    def _strips(self) -> dict[int, list[Wire]]:
        strips: dict[int, list[Wire]] = {}
        for wire in self.wires:
            for at in range(wire.rect.y0 // self._strip, wire.rect.y1 // self._strip + 1):
                strips.setdefault(at, []).append(wire)
        return strips

    @cached_property
    def _rects_of(self) -> dict[tuple[str, str], list[Rect]]:
        """Every wire's rectangles, by its conductor and net."""
        by: dict[tuple[str, str], list[Rect]] = {}
        for wire in self.wires:
            by.setdefault((wire.conductor, wire.net), []).append(wire.rect)
        return by

    @cached_property
    def channels(self) -> dict[str, tuple[Rect, ...]]:
        return {t.name: self.extraction.channel(t.name) for t in self.extraction.netlist.transistors}

    @cached_property
    def joints(self) -> tuple[Joint, ...]:
        """Every cut of the layout that joins something, in reading order."""
        joints = []
        for layer in dict.fromkeys(cut.layer for cut in self.process.cuts if cut.layer is not None):
            for rects in groups(union(self.layout.shapes.get(layer, ()))):
                box = bounding_box(rects)
                assert box is not None
                here = dict(reversed(self.extraction.nets_at(*box.centre)))
                for cut in self.process.cuts:
                    lower = next((name for name in cut.lower if name in here), None)
                    if cut.layer == layer and cut.upper in here and lower is not None:
                        net = here[cut.upper]
                        joints.append(Joint(box, layer, cut.upper, lower, self.materials[lower], net))
                        break
        return tuple(sorted(joints, key=lambda j: (-j.rect.y1, j.rect.x0, j.layer)))

    @cached_property
    def pieces(self) -> tuple[Piece, ...]:
        """Every connected piece of each conductor."""
        pieces = []
        channels = [(name, rect) for name, rects in self.channels.items() for rect in rects]
        for (conductor, net), rects in self._rects_of.items():
            for group in groups(rects):
                box = bounding_box(group)
                assert box is not None
                near = {name for name, rect in channels if rect.touches(box) and any(rect.touches(r) for r in group)}
                cuts = sum(1 for j in self.joints if conductor in (j.lower, j.upper) and _over(group, j.rect))
                pieces.append(Piece(tuple(group), conductor, self.materials[conductor], net, tuple(sorted(near)), cuts))
        return tuple(pieces)

    @cached_property
    def crossunders(self) -> tuple[Piece, ...]:
        """Diffusion that borders no channel and has a contact at each end: a wire below the metal."""
        return tuple(p for p in self.pieces if p.material is Material.DIFFUSION and not p.transistors and p.joints >= 2)

    @cached_property
    def crossings(self) -> tuple[Crossing, ...]:
        """
        Every place where metal passes over another net's wire, in reading order.

        A metal gate over the source and drain that it must overlap is part of its transistor, not a crossing.
        """
        wires = self.wires
        order = list(self.materials)
        uppers = [i for i, w in enumerate(wires) if w.material is Material.METAL]
        boxes = [w.rect for w in wires]
        shared: dict[tuple[str, str, str, str], list[Rect]] = {}
        for level in dict.fromkeys(wires[i].conductor for i in uppers):
            own = [i for i in uppers if wires[i].conductor == level]
            below = [i for i, w in enumerate(wires) if order.index(w.conductor) > order.index(level)]
            for i, j in meeting(boxes, own, below):
                a, b = wires[i], wires[j]
                area = a.rect.common(b.rect)
                if a.net != b.net and area is not None:
                    shared.setdefault((a.conductor, a.net, b.conductor, b.net), []).append(area)
        crossings = []
        for (upper, over, lower, under), rects in shared.items():
            for group in groups(rects):
                if self.metal_gate and self._is_gate_overlap(group, over):
                    continue
                clean = self._runs_through(group, (upper, over), (lower, under))
                top = Wire(group[0], upper, self.materials[upper], over)
                bottom = Wire(group[0], lower, self.materials[lower], under)
                crossings.append(Crossing(tuple(group), top, bottom, clean))
        return tuple(sorted(crossings, key=lambda c: (-c.rects[0].y1, c.rects[0].x0, c.upper.net, c.lower.net)))

    def _is_gate_overlap(self, group: Sequence[Rect], gate: str) -> bool:
        for t in self.extraction.netlist.transistors:
            if t.gate == gate and any(c.touches(r) for c in self.channels[t.name] for r in group):
                return True
        return False

    def _runs_through(self, group: Sequence[Rect], upper: tuple[str, str], lower: tuple[str, str]) -> bool:
        """Tell whether one of the two runs on left and right of the shared area, the other above and below."""
        if len(group) != 1:
            return False
        box = group[0]
        over, under = self._rects_of.get(upper, ()), self._rects_of.get(lower, ())
        return (_spans(over, box, across=True) and _spans(under, box, across=False)) or (
            _spans(over, box, across=False) and _spans(under, box, across=True)
        )


def _spans(rects: Sequence[Rect], box: Rect, *, across: bool) -> bool:
    """Tell whether the rectangles reach past the box on both of two opposite sides, over its whole width there."""
    if across:
        left = [r for r in rects if r.x0 < box.x0 <= r.x1]
        right = [r for r in rects if r.x1 > box.x1 >= r.x0]
        return _covers([(r.y0, r.y1) for r in left], box.y0, box.y1) and _covers(
            [(r.y0, r.y1) for r in right], box.y0, box.y1
        )
    low = [r for r in rects if r.y0 < box.y0 <= r.y1]
    high = [r for r in rects if r.y1 > box.y1 >= r.y0]
    return _covers([(r.x0, r.x1) for r in low], box.x0, box.x1) and _covers(
        [(r.x0, r.x1) for r in high], box.x0, box.x1
    )


def _covers(runs: Iterable[tuple[int, int]], low: int, high: int) -> bool:
    at = low
    for start, end in sorted(runs):
        if start > at:
            break
        at = max(at, end)
    return at >= high


def _over(group: Iterable[Rect], rect: Rect) -> bool:
    return any(rect.overlaps(r) for r in group)


def groups(rects: Sequence[Rect]) -> list[list[Rect]]:
    """Return the connected groups of rectangles; edges connect, corners do not."""
    sets = Unions()
    for i, j in touching(rects, range(len(rects))):
        sets.join(i, j)
    parts: dict[int, list[Rect]] = {}
    for i, rect in enumerate(rects):
        parts.setdefault(sets.find(i), []).append(rect)
    return list(parts.values())
