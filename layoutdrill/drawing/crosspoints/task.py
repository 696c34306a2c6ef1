"""What planes are drawn by: what a seed decides, sizes, and what the parts of a drawing say to one another."""

from collections.abc import Sequence

from layoutdrill.dice import Dice
from layoutdrill.drawing.crosspoints.plan import Line, Plan
from layoutdrill.drawing.shared import Choices, Request, Size, Span, refuse_unlike, sizes_of
from layoutdrill.drawing.shared.technique import GateForm, Technique
from layoutdrill.errors import LayoutdrillError
from layoutdrill.geometry.rect import Rect
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


@value
class Widths:
    """
    The width of crossings, the sizes of the loads of each plane, and of the inverters' drivers and of their
    pull-ups.
    """

    cross: int
    loads: tuple[Size, ...]
    driver: Size
    pull_up: Size


def settle_widths(asked: Request, plan: Plan, wide: tuple[int, int, int]) -> Widths:
    """
    Return one size for all transistors of a sort; `wide` are the widths of crossings, drivers and p transistors of
    inverters where the netlist leaves them free.

    Raises LayoutdrillError for a netlist in which transistors of one sort differ.
    """
    inverters = (*plan.complements, *plan.outputs.values())
    crossings = [t for plane in plan.planes for line in plane.lines for t in line.standing.values()]
    sorts = crossings, [i.driver for i in inverters], [i.pull_up for i in inverters]
    loads = [[line.load for line in plane.lines] for plane in plan.planes]
    refuse_unlike(asked.netlist, (*sorts, *loads))
    t, sizes = asked.technique, sizes_of(asked.netlist, asked.process, asked.technique)

    def size(names: Sequence[str], width: GridUnits) -> Size:
        return (sizes[names[0]] if names else Size(0, 0)).or_else(t.channel, width)

    cross, driver, pull_up = map(size, sorts, wide)
    if cross.length != t.channel or driver.length != t.channel:
        raise LayoutdrillError(
            f"the array {asked.netlist.name} cannot be drawn as planes: its transistors are longer than need be",
            todo="leave their length free",
        )
    return Widths(cross.width, tuple(size(names, t.least_width) for names in loads), driver, pull_up)


Lines = tuple[tuple[Line, int], ...]
"""Lines with the middle of each, in a plane's own directions: v counts across the lines, u along them."""


@value
class Task:
    """Planes to be drawn, as a seed chose; `supplies` are the low and the high rail. Each way of drawing has a pen."""

    plan: Plan
    choices: CrosspointChoices
    widths: Widths
    supplies: tuple[str, str]

    @property
    def two(self) -> bool:
        return len(self.plan.planes) > 1

    @property
    def above(self) -> dict[str, bool]:
        """Tell of every gate line of the first plane whether it leaves at the top."""
        groups = zip(self.plan.planes[0].groups, self.choices.above, strict=True)
        return {net: above for group, above in groups for net in group}

    def gate_order(self, *, taking_turns: bool = False) -> tuple[str, ...]:
        """
        Return the first plane's gate lines: groups in the chosen order, and turned where chosen.

        Groups of two come first, so that those with an inverter have contacts, and no ground, between them. When they
        are `taking_turns`, every second one lies the other way round, so that two inverters share their ground.
        """
        groups, choices = self.plan.planes[0].groups, self.choices
        if all(len(group) == 1 for group in groups):
            return self.plan.planes[0].gates
        mixed = [(groups[k], k in choices.swapped) for k in choices.order]
        mixed.sort(key=lambda item: -len(item[0]))
        if taking_turns:
            mixed = [(group, (0 in choices.swapped) != bool(n % 2)) for n, (group, _) in enumerate(mixed)]
        return tuple(net for group, swapped in mixed for net in (reversed(group) if swapped else group))


def spread(count: int, pitch: GridUnits, strap: int, gap: GridUnits) -> tuple[tuple[int, ...], tuple[int, ...]]:
    """
    Return places of lines, from 0 up, and of straps between them: after every `strap` lines there is one, `gap` from
    the line on either side.
    """
    places: list[int] = []
    straps: list[int] = []
    at = 0
    for k in range(count):
        if k and k % strap == 0:
            straps.append(at - pitch + gap)
            at += 2 * gap - pitch
        places.append(at)
        at += pitch
    return tuple(places), tuple(straps)


@value
class LoadPlace:
    """
    Where loads must lie: left of the silicon of their plane, which ends at `left`, and `spare` further than they must.
    The gate that loads of two kinds share meets the drivers' rail at v = `tie`; with metal gates the lines' own metal
    begins at u = `start`. `taps` is how many there may be.
    """

    left: GridUnits
    start: int
    tie: GridUnits
    spare: GridUnits
    taps: int


@value
class Loads:
    """
    Where loads lie: where the metal of their lines begins, their supply's rail and how far it runs along v, the sides
    of the gate that they share, and with metal gates the area of their silicon.
    """

    start: int
    rail: GridUnits
    reach: Span
    gate: Span
    area: Rect = Rect(0, 0, 0, 0)
