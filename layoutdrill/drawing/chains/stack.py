"""Stack the bars of complementary rows in metal gate from the bottom up, every second row upside down."""

from dataclasses import dataclass

from layoutdrill.drawing.chains.metal_rows import bar_gap, plate_past
from layoutdrill.drawing.chains.sheet import Manner, Span
from layoutdrill.drawing.shared.technique import METAL, Technique

SERIES, OUTPUT, RAIL, SINK, DRAIN = "series", "output", "rail", "sink", "drain"
"""What bars are: transistors in series; an output; the high rail; and in inverters the low rail, and the n drains."""

OWN = -1
"""The row of the inverters."""

_LOW = {SERIES, SINK, DRAIN}
_JOINED = ({SINK, DRAIN}, {OUTPUT, RAIL})


@dataclass(frozen=True, slots=True)
class Halves:
    """Half the height of a bar in series, and of all others."""

    series: int
    other: int

    def of(self, kind: str) -> int:
        return self.series if kind == SERIES else self.other


@dataclass(frozen=True, slots=True)
class Stack:
    """The middle of each bar, by what it is and its row."""

    at: dict[tuple[str, int], int]
    halves: Halves

    @property
    def ends(self) -> Span:
        """Return from where to where bars reach."""
        spans = [(y - self.halves.of(kind), y + self.halves.of(kind)) for (kind, _), y in self.at.items()]
        return min(low for low, _ in spans), max(high for _, high in spans)

    def groups(self) -> list[tuple[int, Span]]:
        """Return the groups of bars of one kind, 0 for n and 1 for p, and from where to where each reaches."""
        found: list[tuple[int, Span]] = []
        for (kind, _), y in sorted(self.at.items(), key=lambda item: item[1]):
            group, half = int(kind not in _LOW), self.halves.of(kind)
            if found and found[-1][0] == group:
                found[-1] = group, (found[-1][1][0], y + half)
            else:
                found.append((group, (y - half, y + half)))
        return found


def stacked(t: Technique, halves: Halves, rows: int, first: int, manner: Manner, *, own: bool) -> Stack:
    """Return the stack; the lowest row stands upside down when `first` is 1. `own`: a row of inverters comes first."""
    found: dict[tuple[str, int], int] = {}
    beside = max(t.diffusion_spacing, t.wires[METAL].spacing + 2 * plate_past(t))
    between = beside + manner.apart
    if t.rings is not None:
        between = 2 * (t.rings.gap + t.rings.width) + t.rings.well_past + t.rings.apart + manner.apart
    y, last = 0, ""
    for row in range(OWN if own else 0, rows):
        kinds = (SINK, DRAIN, OUTPUT, RAIL) if row == OWN else (SERIES, OUTPUT, RAIL)
        for kind in kinds if (row + first) % 2 == 0 else reversed(kinds):
            if kind == last == RAIL:
                found[kind, row] = found[RAIL, row - 1]
                continue
            if last:
                joined = {kind, last} in _JOINED
                y += bar_gap(t, t.channel) if joined else between if (kind in _LOW) != (last in _LOW) else beside
            found[kind, row] = y + halves.of(kind)
            y += 2 * halves.of(kind)
            last = kind
    return Stack(found, halves)
