"""What a seed decides of crosspoints before anything is placed."""

from layoutdrill.dice import Dice
from layoutdrill.drawing.crosspoints.plan import Plan
from layoutdrill.drawing.shared.job import Choices
from layoutdrill.drawing.shared.technique import GateForm, Technique
from layoutdrill.units import GridUnits
from layoutdrill.value import value


@value
class CrosspointChoices(Choices):
    """
    `spare` is added to the distance between loads and plane. `widths` are those of crossings, of inverters' drivers and
    of their p transistors where the netlist leaves them free. A strap to the ground follows every `strap` lines, under
    poly, or every `columns` gate lines of metal. `ground_first` says that the first gate line has ground on its outer
    side, `railed` that lines pass below a rail at their end, `upper` that this is of the second metal, `past` how far
    wires run on, `above` which groups of gate lines leave at the top. `order` is the order of the groups, `swapped`
    those that lie the other way round. `taps` is how many there are of each.
    """

    widths: tuple[int, int, int]
    spare: GridUnits
    strap: int
    columns: int
    ground_first: bool
    railed: bool
    upper: bool
    above: tuple[bool, ...]
    past: GridUnits
    order: tuple[int, ...]
    swapped: frozenset[int]
    taps: int


def choose(plan: Plan, technique: Technique, dice: Dice, difficulty: int, attempt: int) -> CrosspointChoices:
    """Return a seed's choices; `difficulty` runs from 0 (tidy) to 100, and a later attempt has more room."""
    groups = len(plan.planes[0].groups)
    lines = len(plan.planes[0].lines)
    poly = technique.form is GateForm.POLY
    tidy = difficulty <= 10
    slack = 1 if tidy else 3
    return CrosspointChoices(
        loose=2 * (dice.below(slack) + attempt),
        apart=2 * (dice.below(slack) + attempt),
        rail_extra=0 if tidy else dice.weighted(((0, 55), (2, 25), (4, 20))),
        widths=_widths(technique, dice),
        spare=2 * dice.below(5),
        strap=dice.pick((4, 6, 8)) if lines > 8 else dice.weighted(((lines, 60), (4, 40))) if poly else lines,
        columns=dice.pick((4, 6, 8)),
        ground_first=dice.chance(50),
        railed=len(plan.planes) > 1 or lines > 8 or dice.chance(50),
        upper=bool(technique.via) and len(plan.planes) == 1 and dice.chance(60),
        above=_above(groups, tidy, dice),
        past=4 + 2 * dice.below(4),
        order=tuple(range(groups)) if tidy else tuple(dice.shuffled(range(groups))),
        swapped=frozenset(k for k in range(groups) if dice.chance(0 if tidy else 40)),
        taps=dice.between(1, 3),
        turns=dice.below(4) if not tidy else 2 * dice.below(2),
        mirrored=dice.chance(50),
    )


def _above(groups: int, tidy: bool, dice: Dice) -> tuple[bool, ...]:
    """Let all gate lines leave at one end, or now and then every group at its own."""
    if not tidy and dice.chance(25):
        return tuple(dice.chance(50) for _ in range(groups))
    return (dice.chance(50),) * groups


def _widths(technique: Technique, dice: Dice) -> tuple[int, int, int]:
    """Return widths of crossings, drivers and p transistors; under gate lines of metal they are all the same."""
    if technique.form is GateForm.METAL:
        width = 2 * dice.between(3, 5)
        return width, width, width
    least = technique.least_width // 2
    return 2 * (least + dice.below(3)), 2 * (least + dice.below(4)), 2 * (least + dice.below(6))
