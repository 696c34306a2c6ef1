"""Movable lines by axis, the distances that they keep, and the edges that hang on them. Everything is in grid units."""

import itertools
from collections.abc import Iterable
from dataclasses import field

from layoutdrill.value import mutable

Edge = tuple[int, int]
"""A line of an axis, by its number, and how far past it the edge lies."""
Span = tuple[Edge, Edge]
"""From one edge to another, along one axis."""
Rule = tuple[int, int, int]
"""(i, j, w): line j stays at least w right of (above) line i."""

X, Y = 0, 1


class Line:
    """The first lines of every sketch: borders in x and in y, the middles of the two rails, the well's edge."""

    LEFT, RIGHT = 0, 1
    BOTTOM, TOP = 0, 1
    RAILS = (2, 3)
    WELL = 4


ACROSS: Span = (Line.LEFT, 0), (Line.RIGHT, 0)
"""From border to border."""
UPRIGHT: Span = (Line.BOTTOM, 0), (Line.TOP, 0)
BORDERS = {"left": (X, Line.LEFT), "right": (X, Line.RIGHT), "bottom": (Y, Line.BOTTOM), "top": (Y, Line.TOP)}
"""The axis and the line of the border on each side; that of the left and of the bottom is the first of its axis."""


def span(line: int, low: int, high: int) -> Span:
    """Return a span that hangs on one line, from and to so far past it."""
    return (line, low), (line, high)


def about(line: int, half: int, offset: int = 0) -> Span:
    """Return a span of `half` to either side of a line, or of a place so far past it."""
    return (line, offset - half), (line, offset + half)


def grown(span: Span, by: int) -> Span:
    """Return a span longer at both ends."""
    (low, start), (high, stop) = span
    return (low, start - by), (high, stop + by)


@mutable
class Axis:
    """
    Lines: where each lies now, and the rules that it keeps. `followers` are lines that are placed once others are:
    (line, +1 for the least or −1 for the greatest, [(other, offset)]). `bends` name pairs of lines between which a wire
    steps aside and runs on the same way.
    """

    at: list[int] = field(default_factory=list)
    rules: list[Rule] = field(default_factory=list)
    followers: list[tuple[int, int, list[Edge]]] = field(default_factory=list)
    bends: list[tuple[int, int]] = field(default_factory=list)

    def line(self, at: int) -> int:
        """Return a new line that lies there."""
        self.at.append(at)
        return len(self.at) - 1

    def keep(self, low: int, high: int, least: int) -> None:
        self.rules.append((low, high, least))

    def order(self, lines: Iterable[int], least: int = 0) -> None:
        """Keep lines in their order, each so far from the one before."""
        self.rules += [(a, b, least) for a, b in itertools.pairwise(lines) if a != b]

    def place(self, edge: Edge) -> int:
        return self.at[edge[0]] + edge[1]
