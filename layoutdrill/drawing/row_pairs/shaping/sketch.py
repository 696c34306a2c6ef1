"""
The symbolic drawing: shapes whose edges hang on movable lines, and the distances that lines must keep.

An edge is (line, offset); a line is a place in `xs` or `ys`. Everything is in grid units.
"""

from dataclasses import dataclass, field
from typing import NamedTuple

Edge = tuple[int, int]


class Shape(NamedTuple):
    """
    A rectangle on a mask layer. `sort` is what spacing is counted for ("" for none); `net` is compared only:
    shapes of one net may touch. A wire's middle line says which way it runs; a `solid` shape has none.
    """

    mask: str
    sort: str
    net: int
    x0: Edge
    x1: Edge
    y0: Edge
    y1: Edge
    solid: bool


class Gap(NamedTuple):
    """Shapes of sorts `a` and `b` that do not overlap stay this far apart."""

    a: str
    b: str
    least: int


@dataclass(frozen=True, slots=True)
class Bent:
    """
    A bent channel: boxes (x0, x1, y0, y1) that make it up without overlap, and the stretches of its two edges, each
    between two places in x (`level`) or two in y (`upright`).
    """

    name: str
    boxes: tuple[tuple[Edge, Edge, Edge, Edge], ...]
    level: tuple[tuple[Edge, Edge], ...]
    upright: tuple[tuple[Edge, Edge], ...]


@dataclass(slots=True)
class Sketch:
    """
    `x_rules` and `y_rules` hold (i, j, w): line j stays at least w right of (above) line i. `snug` names lines
    that follow others once these are placed: (line, +1 for the least or −1 for the greatest, [(other, offset)]).
    `bends_x` and `bends_y` name pairs of lines between which a wire steps aside and runs on the same way.
    """

    xs: list[int] = field(default_factory=list)
    ys: list[int] = field(default_factory=list)
    shapes: list[Shape] = field(default_factory=list)
    gaps: list[Gap] = field(default_factory=list)
    x_rules: list[tuple[int, int, int]] = field(default_factory=list)
    y_rules: list[tuple[int, int, int]] = field(default_factory=list)
    snug_x: list[tuple[int, int, list[Edge]]] = field(default_factory=list)
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
