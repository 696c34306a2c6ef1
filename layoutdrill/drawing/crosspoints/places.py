"""Put gate lines in an order, and in places, so that ground and contacts to the lines take turns between them."""

from layoutdrill.drawing.crosspoints.plan import Plan
from layoutdrill.drawing.crosspoints.task import CrosspointChoices
from layoutdrill.units import GridUnits


def gate_order(plan: Plan, choices: CrosspointChoices, *, taking_turns: bool = False) -> tuple[str, ...]:
    """
    Return the first plane's gate lines: groups in the chosen order, and turned where chosen.

    Groups of two come first, so that those with an inverter have contacts, and no ground, between them. When they are
    `taking_turns`, every second one lies the other way round, so that two inverters share their ground.
    """
    groups = plan.planes[0].groups
    if all(len(group) == 1 for group in groups):
        return plan.planes[0].gates
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
