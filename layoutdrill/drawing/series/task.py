"""What series arrays are drawn by: gate lines side by side, what a seed decides, and the rows."""

from collections.abc import Collection, Container, Iterator, Mapping
from itertools import groupby

from layoutdrill.dice import Dice
from layoutdrill.drawing.series.plan import Plan
from layoutdrill.drawing.shared import Choices, Size, Span
from layoutdrill.drawing.shared.inverters import RowPlace, Stage
from layoutdrill.drawing.shared.technique import Technique
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


def path_over(
    acting: Collection[int], first: int, last: int, wired: Container[int]
) -> tuple[list[Span], list[Span], list[int]]:
    """
    Lead a row from gap `first` to gap `last`: silicon under the lines that act, a bridge of wire over the others.

    Returns the runs of silicon and the bridges by the numbers of gaps, and the gaps in which the two join. `wired` are
    gaps in which the row must be reached by wire from elsewhere.
    """
    runs, bridges = list[Span](), list[Span]()
    for acts, group in groupby(range(first, last), acting.__contains__):
        lines = tuple(group)
        (runs if acts else bridges).append((lines[0], lines[-1] + 1))
    contacts = [
        gap for a, b in runs for gap in range(a, b + 1) if gap in wired or (gap == a > first) or (gap == b < last)
    ]
    return runs, bridges, contacts


@value
class SeriesChoices(Choices):
    """`spread` is what the gaps between the columns of address lines are wider than others."""

    spread: int


def choose(dice: Dice, difficulty: int, attempt: int) -> SeriesChoices:
    """Return a seed's choices; `difficulty` runs from 0 (tidy) to 100, and a later attempt has more room."""
    return SeriesChoices(
        loose=2 * (dice.between(0, 1 + difficulty // 33) + attempt),
        spread=dice.weighted(((0, 50), (4, 20), (8, 20), (12, 10))),
        apart=2 * (dice.between(0, 1 + difficulty // 33) + attempt),
        rail_extra=dice.weighted(((0, 40), (2, 25), (4, 20), (8, 15))),
        turns=dice.below(4) if difficulty > 10 else 2 * dice.below(2),
        mirrored=dice.chance(50),
    )


@value
class Task:
    """
    Rows to be drawn in a technique, as a seed chose; `supplies` are the low and the high rail.

    `nets` are the address lines from left to right: columns as they stand, either line of a column first.
    """

    plan: Plan
    technique: Technique
    supplies: tuple[str, str]
    sizes: Mapping[str, Size]
    choices: SeriesChoices
    dice: Dice
    nets: tuple[str, ...]

    @property
    def link(self) -> Size:
        """Return the size of the transistors in series, 0 where the drawing may choose."""
        return self.sizes[self.plan.rows[0].series[0].name]

    @property
    def made(self) -> frozenset[str]:
        """Return the lines that the array makes itself, from the line beside each."""
        return frozenset(i.y for i in self.plan.complements)

    def inverter_row(self, base: GridUnits, widths: tuple[int, int], tap: int = 0) -> RowPlace:
        """Return the place of the row of inverters; `widths` are those of transistors that the netlist leaves free."""
        first, channel = self.plan.complements[0], self.technique.channel
        names = first.driver, first.pull_up
        driver, pull_up = (self.sizes[n].or_else(channel, width) for n, width in zip(names, widths, strict=True))
        return RowPlace(base, driver, pull_up, apart=self.choices.apart, tap=tap)

    def stages(self, across: GateLines) -> Iterator[Stage]:
        """Return the inverters' places below the address lines."""
        at, gaps = across.at, across.gaps
        for i in self.plan.complements:
            own, other = across.nets.index(i.a), across.nets.index(i.y)
            far, out = (own, own + 1) if other > own else (own + 1, own)
            yield Stage(i.driver, i.pull_up, at[own], at[other], gaps[far], gaps[out])
