"""All that the drawing of a series array depends on."""

from collections.abc import Mapping

from layoutdrill.dice import Dice
from layoutdrill.drawing.series.gate_lines import GateLines
from layoutdrill.drawing.series.plan import Plan
from layoutdrill.drawing.shared.inverters import RowPlace, Stage
from layoutdrill.drawing.shared.job import Choices
from layoutdrill.drawing.shared.sizes import Size
from layoutdrill.drawing.shared.technique import Technique
from layoutdrill.units import GridUnits
from layoutdrill.value import value


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
        first = self.plan.complements[0]
        sizes = self.sizes[first.driver], self.sizes[first.pull_up]
        driver, pull_up = (
            Size(size.length or self.technique.channel, size.width or width)
            for size, width in zip(sizes, widths, strict=True)
        )
        return RowPlace(base, driver, pull_up, apart=self.choices.apart, tap=tap)

    def stages(self, across: GateLines) -> list[Stage]:
        """Return the inverters' places below the address lines."""
        stages = []
        for i in self.plan.complements:
            own, other = across.nets.index(i.a), across.nets.index(i.y)
            far, out = (own, own + 1) if other > own else (own + 1, own)
            stages.append(
                Stage(i.driver, i.pull_up, across.at[own], across.at[other], across.gaps[far], across.gaps[out])
            )
        return stages
