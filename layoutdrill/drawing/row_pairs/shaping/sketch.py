"""
The symbolic drawing: shapes whose edges hang on movable lines, and the distances that shapes keep.

Everything is in grid units.
"""

from collections.abc import Mapping
from dataclasses import field
from enum import StrEnum
from typing import NamedTuple

from layoutdrill.drawing.row_pairs.shaping.lines import ACROSS, UPRIGHT, Axis, Edge, Span, about
from layoutdrill.drawing.shared.technique import Technique
from layoutdrill.geometry.rect import Rect
from layoutdrill.layout.model import Label
from layoutdrill.value import mutable, value

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
    x: Span
    y: Span
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


@mutable
class Sketch:
    """Shapes on the lines of two axes, and the distances that the sorts of shapes keep."""

    technique: Technique
    x: Axis = field(default_factory=Axis)
    y: Axis = field(default_factory=Axis)
    shapes: list[Shape] = field(default_factory=list)
    gaps: list[Gap] = field(default_factory=list)
    labels: list[tuple[int, str, Edge, Edge]] = field(default_factory=list)
    bent: list[Bent] = field(default_factory=list)

    def axis(self, axis: int) -> Axis:
        return self.y if axis else self.x

    def box(self, paint: Paint, x: Span, y: Span, *, solid: bool = True) -> None:
        self.shapes.append(Shape(*paint, x, y, solid))

    def square(self, paint: Paint, x: int, y: int, half: int) -> None:
        self.box(paint, about(x, half), about(y, half))

    def cut(self, x: Edge, y: Edge, mask: str = "") -> None:
        """Add a contact, or a cut of another mask."""
        half = self.technique.contact // 2
        self.box(Paint(mask or self.technique.cut), about(x[0], half, x[1]), about(y[0], half, y[1]))

    def wire_paint(self, layer: int, net: int) -> Paint:
        return Paint(self.technique.wires[layer].layer, WIRES[layer], net)

    def rect(self, x: Span, y: Span) -> Rect:
        """Return where a box lies now."""
        return Rect(self.x.place(x[0]), self.y.place(y[0]), self.x.place(x[1]), self.y.place(y[1]))

    def named(self, names: Mapping[int, str]) -> list[Label]:
        """Return the labels of the nets that have names."""
        return [
            Label(names[n], layer, self.x.place(x), self.y.place(y)) for n, layer, x, y in self.labels if n in names
        ]

    @property
    def frame(self) -> Rect:
        return self.rect(ACROSS, UPRIGHT)
