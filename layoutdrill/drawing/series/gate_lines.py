"""Upright gate lines side by side, and the way of a row of silicon that must cross those that do not act on it."""

from collections.abc import Collection, Container, Mapping
from itertools import groupby

from layoutdrill.drawing.shared.canvas import Span
from layoutdrill.units import GridUnits
from layoutdrill.value import value


@value
class GateLines:
    """
    Upright lines: their nets from left to right, the middle of each, and the middles of the gaps: gap k lies left of
    line k, and one more lies right of the last.
    """

    nets: tuple[str, ...]
    at: tuple[int, ...]
    gaps: tuple[int, ...]

    def of(self, net: str) -> int:
        """Return the middle of a net's line."""
        return self.at[self.nets.index(net)]


def gate_lines(nets: tuple[str, ...], pitch: GridUnits, wider: Mapping[int, int]) -> GateLines:
    """Return lines a pitch apart from gap 0 at x = 0 on; `wider` adds to some gaps, by number."""
    at, gaps, x = [], [0], 0
    for number in range(len(nets)):
        at.append(x + wider.get(number, 0) // 2 + pitch // 2)
        x = at[-1] + pitch // 2 + wider.get(number + 1, 0) // 2
        gaps.append(x)
    return GateLines(nets, tuple(at), tuple(gaps))


@value
class Path:
    """A row by the numbers of gaps: runs of silicon, bridges of wire, and the gaps in which the two join."""

    runs: tuple[Span, ...]
    bridges: tuple[Span, ...]
    contacts: tuple[int, ...]


def path_over(acting: Collection[int], first: int, last: int, wired: Container[int]) -> Path:
    """
    Lead a row from gap `first` to gap `last`: silicon under the lines that act, a bridge over the others.

    `wired` are gaps in which the row must be reached by wire from elsewhere.
    """
    runs, bridges = list[Span](), list[Span]()
    for acts, group in groupby(range(first, last), acting.__contains__):
        lines = tuple(group)
        (runs if acts else bridges).append((lines[0], lines[-1] + 1))
    contacts = (
        gap for a, b in runs for gap in range(a, b + 1) if gap in wired or (gap == a > first) or (gap == b < last)
    )
    return Path(tuple(runs), tuple(bridges), tuple(contacts))
