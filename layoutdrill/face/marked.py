"""What marks on a photograph spell: a netlist whose every part has a place, and the same places as mask layers."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from functools import cached_property, lru_cache

from layoutdrill.errors import LayoutdrillError, Where
from layoutdrill.extract.model import Finding
from layoutdrill.face.materials import Material, materials, role_of
from layoutdrill.geometry.cutting import union
from layoutdrill.geometry.rect import Rect
from layoutdrill.layout.model import Label, Layout
from layoutdrill.netlist.model import Netlist
from layoutdrill.photo.model import Contact, Layer, Mark, MarkedTransistor, Marks, Point, Wire
from layoutdrill.photo.shapes import Shapes
from layoutdrill.process import Process
from layoutdrill.process.model import SUBSTRATE
from layoutdrill.process.terms import Kind
from layoutdrill.units import GridUnits


@lru_cache(maxsize=64)
def in_pixels(process: Process, per_lambda: int, nm: float) -> Process:
    """Return a process whose grid unit is a pixel of a photograph; without a size of it, λ is as large as usual."""
    return replace(process, grid_per_lambda=per_lambda, grid_nm=nm or process.lambda_nm / per_lambda)


class Conductors:
    """Which conductor and mask layer of a process each layer that one marks is."""

    def __init__(self, process: Process) -> None:
        self.process = process
        self.material = materials(process)

    def of(self, layer: Layer, kind: Kind | None, net: str) -> str:
        """Return the conductor's name; raises LookupError where the process has none such."""
        if layer is Layer.DIFFUSION:
            return self._diffusion(kind)
        if layer is Layer.TAP:
            return self._tap(net)
        roles = {
            Layer.METAL: ("metal",),
            Layer.METAL_2: ("metal-2", "upper-metal"),
            Layer.POLY: ("poly",),
        }[layer]
        for role in roles:
            for name in self.material:
                if role_of(self.process, name) == role:
                    return name
        raise LookupError(layer.value)

    @cached_property
    def layers(self) -> tuple[Layer, ...]:
        """The layers that can be marked on a die of the process."""
        possible = []
        for layer in Layer:
            try:
                self.of(layer, None, "")
            except LookupError:
                continue
            possible.append(layer)
        return tuple(possible)

    def mask(self, conductor: str, kind: Kind | None) -> str | None:
        """Return the mask layer on which a conductor is drawn; of diffusion that of its areas."""
        if conductor in self.process.layers:
            return conductor
        role = role_of(self.process, conductor)
        if role not in ("active", "n-doping", "p-doping", ""):  # such as poly without the strips that are resistors
            return next(name for name, layer in self.process.layers.items() if layer.role == role)
        dopings = ("p-doping",) if kind is Kind.P else ("n-doping",)
        for roles in (("active",), dopings):
            for name, layer in self.process.layers.items():
                if layer.role in roles:
                    return name
        return None

    def cut(self, upper: str, lower: str) -> str | None:
        """Return the mask layer of what joins two conductors, "" where it has none, None where nothing joins them."""
        for cut in self.process.cuts:
            if cut.upper == upper and lower in cut.lower:
                buried = (name for name, layer in self.process.layers.items() if layer.role == "buried-contact")
                return next(buried, "") if cut.layer is None else cut.layer
        return None

    def _diffusion(self, kind: Kind | None) -> str:
        rules = self.process.transistors
        return next((rule.ends for rule in rules if rule.kind is kind), rules[0].ends)

    def _tap(self, net: str) -> str:
        taps = [name for name, material in self.material.items() if material is Material.TAP]
        if not taps:
            raise LookupError(Layer.TAP.value)
        low, _ = self.process.supplies
        wanted = Kind.N if net == low else Kind.P  # the bodies of the n transistors are tied to the low supply
        body = next((rule.body for rule in self.process.transistors if rule.kind is wanted), None)
        for cut in self.process.cuts:
            if cut.layer is None and cut.upper in taps and (body or SUBSTRATE) in cut.lower:
                return cut.upper
        return taps[0]


def must_fit(mark: Mark, process: Process) -> None:
    """Raise LayoutdrillError where no die of the process has the layer, or the kind of transistor, that is marked."""
    layers: tuple[Layer, ...] = ()
    if isinstance(mark, (Wire, Point)):
        layers = (mark.layer,)
    elif isinstance(mark, Contact):
        layers = (mark.upper, mark.lower)
    kinds = {(rule.kind, rule.mode) for rule in process.transistors}
    if isinstance(mark, MarkedTransistor) and (mark.kind, mark.mode) not in kinds:
        what = f"{process.name} has no {mark.kind} transistor of {mark.mode} mode"
        raise LayoutdrillError(what, todo="name another kind, or begin the marks with another process")
    known = Conductors(process).layers
    for layer in layers:
        if layer not in known:
            raise LayoutdrillError(f"{process.name} has no {layer}", todo=f"name one of {', '.join(known)}")


class MarkedExtraction:
    """What can be read from marks: the netlist as marked, and the places of its parts (face coordinates)."""

    def __init__(
        self,
        netlist: Netlist,
        findings: tuple[Finding, ...],
        order: Sequence[str],
        shapes: Mapping[str, Mapping[str, tuple[Rect, ...]]],
        channels: Mapping[str, tuple[Rect, ...]],
    ) -> None:
        self.netlist = netlist
        self.findings = findings
        self._order = {name: i for i, name in enumerate(order)}
        self._shapes = shapes
        self._channels = channels

    @cached_property
    def _side(self) -> int:
        """The side of the squares by which places are looked up."""
        rects = [r for by in self._shapes.values() for marked in by.values() for r in marked]
        return max(16, sum(min(r.width, r.height) for r in rects) // max(1, len(rects)) * 4)

    @cached_property
    def _squares(self) -> dict[tuple[int, int], list[tuple[Rect, str, str]]]:
        squares: dict[tuple[int, int], list[tuple[Rect, str, str]]] = {}
        for net, by in self._shapes.items():
            for conductor, rects in by.items():
                for rect in rects:
                    for at in self._covered(rect):
                        squares.setdefault(at, []).append((rect, conductor, net))
        return squares

    @cached_property
    def _gates(self) -> dict[tuple[int, int], list[tuple[Rect, str]]]:
        gates: dict[tuple[int, int], list[tuple[Rect, str]]] = {}
        for name, rects in self._channels.items():
            for rect in rects:
                for at in self._covered(rect):
                    gates.setdefault(at, []).append((rect, name))
        return gates

    def _covered(self, rect: Rect) -> list[tuple[int, int]]:
        side = self._side
        return [
            (x, y)
            for x in range(rect.x0 // side, rect.x1 // side + 1)
            for y in range(rect.y0 // side, rect.y1 // side + 1)
        ]

    def channel(self, transistor: str) -> tuple[Rect, ...]:
        return self._channels[transistor]

    def net_shapes(self, net: str) -> dict[str, tuple[Rect, ...]]:
        return dict(self._shapes.get(net, {}))

    def nets_at(self, x: GridUnits, y: GridUnits) -> tuple[tuple[str, str], ...]:
        here = self._squares.get((x // self._side, y // self._side), ())
        here_nets = {(name, net): None for rect, name, net in here if rect.contains(x, y)}
        return tuple(sorted(here_nets, key=lambda pair: (self._order.get(pair[0], 99), pair[1])))

    def transistor_at(self, x: GridUnits, y: GridUnits) -> str | None:
        here = self._gates.get((x // self._side, y // self._side), ())
        return next((name for rect, name in here if rect.contains(x, y)), None)


def read_marks_as_drawn(
    marks: Marks, process: Process, shapes: Shapes, netlist: Netlist, findings: tuple[Finding, ...], box: Rect
) -> tuple[Layout, MarkedExtraction]:
    """
    Return marks as shapes on mask layers, cut to a box, and what can be read from them.

    Raises LayoutdrillError, with the place of the mark, where the process has no such layer or contact.
    """
    conductors = Conductors(process)
    nets: dict[str, dict[str, list[Rect]]] = {}
    masks: dict[str, list[Rect]] = {}
    for shape in shapes.wires:
        rect = shape.rect.common(box)
        if rect is None:
            continue
        try:
            name = conductors.of(shape.layer, shape.kind, shape.net)
        except LookupError:
            where = _where(marks, shape.net)
            raise LayoutdrillError(
                f"{process.name} has no {shape.layer}", where=where, todo="name another layer"
            ) from None
        nets.setdefault(shape.net, {}).setdefault(name, []).append(rect)
        mask = conductors.mask(name, shape.kind)
        if mask is not None:
            masks.setdefault(mask, []).append(rect)
    kinds = {net: t.kind for t in reversed(marks.transistors) for net in t.ends}
    for cut in shapes.cuts:
        rect = cut.rect.common(box)
        if rect is None:
            continue
        upper, lower = (conductors.of(layer, kinds.get(cut.net), cut.net) for layer in (cut.upper, cut.lower))
        layer = conductors.cut(upper, lower)
        if layer is None:
            where = _where(marks, cut.net)
            what = f"{process.name} has no contact from {cut.upper} to {cut.lower}"
            raise LayoutdrillError(what, where=where, todo="name other layers")
        if layer:
            masks.setdefault(layer, []).append(rect)
    united = {net: {name: tuple(union(rects)) for name, rects in by.items()} for net, by in nets.items()}
    for channel in shapes.channels:
        rect = channel.rect.common(box)
        if rect is not None:
            mask = conductors.mask(process.transistors[0].ends, None)
            if mask is not None:
                masks.setdefault(mask, []).append(rect)
    channels = {c.transistor: ((c.rect.common(box) or c.rect),) for c in shapes.channels}
    layout = Layout(netlist.name, {name: tuple(union(rects)) for name, rects in masks.items()}, _labels(marks, shapes))
    return layout, MarkedExtraction(netlist, findings, tuple(process.conductors), united, channels)


def _labels(marks: Marks, shapes: Shapes) -> tuple[Label, ...]:
    """Return where the names of ports stand."""
    return tuple(Label(port.net, "", *shapes.frame.point(port.at)) for port in marks.ports)


def _where(marks: Marks, net: str) -> Where:
    return marks.nets.get(net, Where(marks.file))
