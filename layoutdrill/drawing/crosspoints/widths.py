"""Settle the sizes of a plane's transistors, which must be alike where they stand in rows."""

from collections.abc import Mapping

from layoutdrill.drawing.crosspoints.plan import Plan
from layoutdrill.drawing.shared.sizes import Size
from layoutdrill.drawing.shared.technique import Technique
from layoutdrill.errors import LayoutdrillError
from layoutdrill.units import GridUnits
from layoutdrill.value import value


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


def settle_widths(
    name: str, plan: Plan, sizes: Mapping[str, Size], technique: Technique, wide: tuple[int, int, int]
) -> Widths:
    """
    Return one size for all transistors of a sort; `wide` are the widths of crossings, drivers and p transistors of
    inverters where the netlist leaves them free.

    Raises LayoutdrillError for a netlist in which transistors of one sort differ.
    """
    crossings = [t for plane in plan.planes for line in plane.lines for t in line.standing.values()]
    inverters = (*plan.complements, *plan.outputs.values())
    drivers, pull_ups = [i.driver for i in inverters], [i.pull_up for i in inverters]
    channel = technique.channel

    def alike(what: str, names: list[str], width: GridUnits) -> Size:
        given = {(sizes[n].length or channel, sizes[n].width or width) for n in names}
        if len(given) > 1:
            raise LayoutdrillError(
                f"the array {name} cannot be drawn as planes: its {what} differ in size",
                todo="give them all the same length and width",
            )
        return Size(*given.pop()) if given else Size(channel, width)

    cross = alike("crossings", crossings, wide[0])
    loads = tuple(alike("loads", [line.load for line in plane.lines], technique.least_width) for plane in plan.planes)
    driver = alike("inverters' drivers", drivers, wide[1])
    pull_up = alike("inverters' loads", pull_ups, wide[2])
    if cross.length != channel or driver.length != channel:
        raise LayoutdrillError(
            f"the array {name} cannot be drawn as planes: its transistors are longer than the least length",
            todo="leave their length free",
        )
    return Widths(cross.width, loads, driver, pull_up)
