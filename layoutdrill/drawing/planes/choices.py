"""What a seed decides of a plane before anything is placed."""

from dataclasses import dataclass

from layoutdrill.dice import Dice
from layoutdrill.drawing.planes.plan import Plan
from layoutdrill.drawing.shared.technique import GateForm, Technique


@dataclass(frozen=True, slots=True)
class Choices:
    """
    `loose` is added to the pitch of gates and to that of lines, `stout` to the half width of rails, `spare` to the
    distance between groups. `widths` are those of crossings, of inverters' drivers and of their p transistors where
    the netlist leaves them free. A strap to the ground follows every `strap` lines, under poly, or every `columns`
    gate lines of metal. `ground_first` says that the first gate line has ground on its outer side, `railed` that lines
    pass below a rail at their end, `upper` that this is of the second metal, `past` how far wires run on, `above` which
    groups of gate lines leave at the top. `order` is the order of the groups, `swapped` those that lie the other way
    round. `taps` is how many there are of each.
    """

    loose: tuple[int, int]
    stout: int
    widths: tuple[int, int, int]
    spare: int
    strap: int
    columns: int
    ground_first: bool
    railed: bool
    upper: bool
    above: tuple[bool, ...]
    past: int
    order: tuple[int, ...]
    swapped: frozenset[int]
    taps: int
    turns: int
    mirrored: bool


def choose(plan: Plan, technique: Technique, dice: Dice, difficulty: int, attempt: int) -> Choices:
    """Return a seed's choices; `difficulty` runs from 0 (tidy) to 100."""
    pairs = len(plan.planes[0].groups)
    lines = len(plan.planes[0].lines)
    poly = technique.form is GateForm.POLY
    slack = 2 * attempt
    tidy = difficulty <= 10
    return Choices(
        loose=(2 * dice.below(3 if not tidy else 1) + slack, 2 * dice.below(3 if not tidy else 1) + slack),
        stout=0 if tidy else dice.weighted(((0, 55), (1, 25), (2, 20))),
        widths=_widths(technique, dice),
        spare=2 * dice.below(5),
        strap=dice.pick((4, 6, 8)) if lines > 8 else dice.weighted(((lines, 60), (4, 40))) if poly else lines,
        columns=dice.pick((4, 6, 8)),
        ground_first=dice.chance(50),
        railed=len(plan.planes) > 1 or lines > 8 or dice.chance(50),
        upper=bool(technique.via) and len(plan.planes) == 1 and dice.chance(60),
        above=_above(pairs, tidy, dice),
        past=4 + 2 * dice.below(4),
        order=tuple(range(pairs)) if tidy else tuple(dice.shuffled(range(pairs))),
        swapped=frozenset(k for k in range(pairs) if dice.chance(0 if tidy else 40)),
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
