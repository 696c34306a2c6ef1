"""Draw small things in any process from its rules alone: a transistor of a kind, an island, a crossing."""

from collections.abc import Mapping
from itertools import combinations

from layoutdrill.errors import LayoutdrillError
from layoutdrill.geometry.rect import Rect
from layoutdrill.layout.model import Layout
from layoutdrill.process import Process
from layoutdrill.process.expression import Expression, Name
from layoutdrill.process.films import holds, mask_names
from layoutdrill.process.model import SUBSTRATE, TransistorRule
from layoutdrill.process.terms import Mode

Shapes = dict[str, list[Rect]]
PITCH = 26
"""λ from one transistor to the next in a row."""


class Pen:
    """Boxes are given in λ; every drawing maps mask layers to rectangles."""

    def __init__(self, process: Process) -> None:
        self.process = process
        self._roles: dict[str, str] = {}
        for name, layer in process.layers.items():
            self._roles.setdefault(layer.role, name)

    def has(self, role: str) -> bool:
        return role in self._roles

    def layer(self, role: str) -> str:
        return self._roles[role]

    @property
    def wire(self) -> str:
        """The lowest layer of metal."""
        return self._roles.get("local-metal") or self._roles["metal"]

    @property
    def upper(self) -> str | None:
        """The metal next above the lowest."""
        return self._roles.get("metal" if "local-metal" in self._roles else "metal-2")

    def box(self, x0: float, y0: float, x1: float, y1: float) -> Rect:
        unit = self.process.grid_per_lambda
        return Rect(round(x0 * unit), round(y0 * unit), round(x1 * unit), round(y1 * unit))

    def rule(self, sort: str) -> TransistorRule:
        """Return the rule of `n`, `p` (enhancement first) or `d` (depletion)."""
        for rule in self.process.transistors:
            if (sort == "d" and rule.mode is Mode.DEPLETION) or (sort == rule.kind and rule.mode is Mode.ENHANCEMENT):
                return rule
        raise LayoutdrillError(f'"{self.process.name}" has no transistor "{sort}"')

    def kinds(self) -> tuple[str, ...]:
        kinds_here = {rule.kind.value for rule in self.process.transistors if rule.mode is Mode.ENHANCEMENT}
        return tuple(kind for kind in ("n", "p") if kind in kinds_here)

    def least(self, *expressions: Expression) -> tuple[str, ...]:
        """Return the fewest mask layers under which all the expressions hold."""
        names = sorted({name for e in expressions for name in mask_names(self.process, e)})
        for size in range(len(names) + 1):
            for chosen in combinations(names, size):
                drawn = dict.fromkeys(chosen, True)
                if all(holds(self.process, e, drawn) for e in expressions):
                    return chosen
        raise LayoutdrillError("no set of layers fits")

    def transistor(self, sort: str, x: float = 0) -> Shapes:
        """Draw a transistor with a gate 2 λ long and 8 λ wide, its diffusions to the left and right."""
        rule = self.rule(sort)
        channel = self.least(Name(rule.channel), Name(rule.gate))
        ends = self.least(Name(rule.ends))
        gate = [name for name in channel if name not in ends and self._role(name) in ("poly", "metal")]
        shapes: Shapes = {}
        for name in {*channel, *ends}:
            role = self._role(name)
            if role == "well":
                boxes = [self.box(x - 6, -5, x + 18, 13)]
            elif name in gate:
                boxes = [self.box(x + 4, -3, x + 8, 11)] if role == "metal" else [self.box(x + 5, -3, x + 7, 11)]
            elif role == "thin-oxide":
                boxes = [self.box(x + 4, 0, x + 8, 8)]
            elif role == "implant":
                boxes = [self.box(x + 3, -2, x + 9, 10)]
            elif name in ends and name not in channel:
                boxes = [self.box(x, 0, x + 5, 8), self.box(x + 7, 0, x + 12, 8)]
            elif role in ("n-doping", "p-doping"):
                boxes = [self.box(x - 2, -2, x + 14, 10)]
            else:
                boxes = [self.box(x, 0, x + 12, 8)]
            shapes[name] = boxes
        return shapes

    def transistors(self, *sorts: str) -> Shapes:
        return joined(*(self.transistor(sort, PITCH * i) for i, sort in enumerate(sorts)))

    def island(self, sort: str, gap: tuple[float, float] | None = None, x: float = 0) -> Shapes:
        """Draw diffusion 12 λ long and 8 λ high, with a gap where one is given."""
        shapes: Shapes = {}
        for name in self.least(Name(self.rule(sort).ends)):
            if self._role(name) == "well":
                shapes[name] = [self.box(x - 6, -5, x + 18, 13)]
            elif gap is None:
                shapes[name] = [self.box(x, 0, x + 12, 8)]
            else:
                shapes[name] = [self.box(x, 0, x + gap[0], 8), self.box(x + gap[1], 0, x + 12, 8)]
        return shapes

    def crossing(self, sort: str, x: float = 0) -> Shapes:
        """Draw metal over unbroken diffusion."""
        return joined(self.island(sort, x=x), {self.wire: [self.box(x + 4, -3, x + 8, 11)]})

    def contacted(self, sort: str, x: float, *holes: float) -> Shapes:
        """Draw metal on diffusion with contacts 2 λ square at the given distances from its left end."""
        metal = self.box(x + min(holes) - 1, 2, x + max(holes) + 3, 6 if len(holes) > 1 else 11)
        cuts = [self.box(x + hole, 3, x + hole + 2, 5) for hole in holes]
        return joined(self.island(sort, x=x), {self.wire: [metal], self.layer("contact"): cuts})

    def tap(self, x: float = 0) -> Shapes | None:
        """Draw a tap 6 λ square with a contact in its middle, without its well; None where the process has none."""
        for cut in self.process.cuts:
            if cut.layer is not None or cut.upper not in self.process.regions or not self.has("contact"):
                continue
            if cut.lower != (SUBSTRATE,):
                continue
            layers = [name for name in self.least(Name(cut.upper)) if self._role(name) != "well"]
            shapes: Shapes = {name: [self.box(x + 3, 0, x + 9, 6)] for name in layers}
            return joined(shapes, {self.layer("contact"): [self.box(x + 5, 2, x + 7, 4)]})
        return None

    def _role(self, name: str) -> str:
        return self.process.layers[name].role


def joined(*drawings: Mapping[str, list[Rect]]) -> Shapes:
    total: Shapes = {}
    for shapes in drawings:
        for name, rects in shapes.items():
            total.setdefault(name, []).extend(rects)
    return total


def as_layout(name: str, shapes: Mapping[str, list[Rect]]) -> Layout:
    return Layout(name, {layer: tuple(rects) for layer, rects in shapes.items()})
