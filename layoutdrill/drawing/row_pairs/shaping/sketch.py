"""
The symbolic drawing: shapes whose edges hang on movable lines, and the distances that lines must keep.

An edge is (line, offset); a line is a place in `xs` or `ys`. Everything is in grid units.
"""

from dataclasses import field
from enum import StrEnum
from typing import NamedTuple

from layoutdrill.drawing.shared.technique import METAL, Technique
from layoutdrill.geometry.rect import Rect
from layoutdrill.value import mutable, value

Edge = tuple[int, int]
Span = tuple[Edge, Edge]
"""From one edge to another, along one axis."""

LEFT, RIGHT = 0, 1
BOTTOM, TOP = 0, 1
RAILS = (2, 3)
WELL = 4
"""The first lines of every sketch: borders in x and y, the middles of the two rails, the well's edge."""
UPPER = -1000
"""Diffusions are numbered −10 and down in the bottom row, from here down in the top row; taps from 2 × UPPER."""


class Sort(StrEnum):
    """What spacing is counted for; a wire below the metal is of poly, or of doped silicon."""

    NONE = ""
    METAL = "metal"
    BELOW = "below"
    UPPER = "upper"
    DIFFUSION = "diffusion"
    RING = "ring"


WIRES = (Sort.METAL, Sort.BELOW, Sort.UPPER)
"""The sorts of the wiring layers, in their order."""


class Paint(NamedTuple):
    """What a shape is of: its mask layer, its sort, its net."""

    mask: str
    sort: Sort = Sort.NONE
    net: int = 0


class Shape(NamedTuple):
    """
    A rectangle on a mask layer ("" for none: it only keeps others off). `net` is compared only: shapes of one net may
    touch. A wire's middle line says which way it runs; a `solid` shape has none.
    """

    mask: str
    sort: Sort
    net: int
    x0: Edge
    x1: Edge
    y0: Edge
    y1: Edge
    solid: bool


class Gap(NamedTuple):
    """Shapes of sorts `a` and `b` that do not overlap stay this far apart."""

    a: Sort
    b: Sort
    least: int


@value
class Bent:
    """A bent channel: the boxes that cover it, and at how many ends it is cut off square."""

    name: str
    boxes: tuple[tuple[Span, Span], ...]
    ends: int


def about(line: int, half: int) -> Span:
    """Return a span of `half` to either side of a line."""
    return (line, -half), (line, half)


@mutable
class Sketch:
    """
    `x_rules` and `y_rules` hold (i, j, w): line j stays at least w right of (above) line i. `followers` are lines that
    are placed once others are: (line, +1 for the least or −1 for the greatest, [(other, offset)]). `bends_x` and
    `bends_y` name pairs of lines between which a wire steps aside and runs on the same way.
    """

    technique: Technique
    xs: list[int] = field(default_factory=list)
    ys: list[int] = field(default_factory=list)
    shapes: list[Shape] = field(default_factory=list)
    gaps: list[Gap] = field(default_factory=list)
    x_rules: list[tuple[int, int, int]] = field(default_factory=list)
    y_rules: list[tuple[int, int, int]] = field(default_factory=list)
    followers: list[tuple[int, int, list[Edge]]] = field(default_factory=list)
    bends_x: list[tuple[int, int]] = field(default_factory=list)
    bends_y: list[tuple[int, int]] = field(default_factory=list)
    labels: list[tuple[int, str, Edge, Edge]] = field(default_factory=list)
    bent: list[Bent] = field(default_factory=list)

    def x_line(self, at: int) -> int:
        self.xs.append(at)
        return len(self.xs) - 1

    def y_line(self, at: int) -> int:
        self.ys.append(at)
        return len(self.ys) - 1

    def box(self, paint: Paint, x: Span, y: Span, *, solid: bool = True) -> None:
        self.shapes.append(Shape(*paint, *x, *y, solid))

    def square(self, paint: Paint, x: int, y: int, half: int) -> None:
        self.box(paint, about(x, half), about(y, half))

    def cut(self, x: Edge, y: Edge, mask: str = "") -> None:
        """Add a contact, or a cut of another mask."""
        half = self.technique.contact // 2
        span_x, span_y = ((x[0], x[1] - half), (x[0], x[1] + half)), ((y[0], y[1] - half), (y[0], y[1] + half))
        self.box(Paint(mask or self.technique.cut), span_x, span_y)

    def gate_paint(self, net: int) -> Paint:
        layer = self.technique.gate_layer
        return Paint(self.technique.wires[layer].layer, WIRES[layer], net)

    def metal_paint(self, net: int) -> Paint:
        return Paint(self.technique.wires[METAL].layer, Sort.METAL, net)

    def rect(self, x: Span, y: Span) -> Rect:
        """Return where a box lies now."""
        xs, ys = self.xs, self.ys
        (x0, x1), (y0, y1) = x, y
        return Rect(xs[x0[0]] + x0[1], ys[y0[0]] + y0[1], xs[x1[0]] + x1[1], ys[y1[0]] + y1[1])

    @property
    def frame(self) -> Rect:
        return Rect(self.xs[LEFT], self.ys[BOTTOM], self.xs[RIGHT], self.ys[TOP])
