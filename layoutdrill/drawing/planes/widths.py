"""Settle the sizes of a plane's transistors, which must be alike where they stand in rows."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from layoutdrill.drawing.planes.plan import Plan
from layoutdrill.drawing.shared.sizes import Drawn, Size
from layoutdrill.drawing.shared.technique import Technique
from layoutdrill.errors import LayoutdrillError


@dataclass(frozen=True, slots=True)
class Widths:
    """
    The width of crossings, the sizes of the loads of each plane, and of the inverters' drivers and of what lifts
    their outputs; `drawn` says the same by transistor.
    """

    cross: int
    loads: tuple[Size, ...]
    driver: int
    lift: Size
    drawn: Drawn


def settle_widths(
    name: str, plan: Plan, sizes: Mapping[str, Size], technique: Technique, wide: tuple[int, int, int]
) -> Widths:
    """
    Return one size for all transistors of a sort; `wide` are the widths of crossings, drivers and p transistors of
    inverters where the netlist leaves them free.

    Raises LayoutdrillError for a netlist in which transistors of one sort differ.
    """
    crossings = [t for plane in plan.planes for line in plane.lines for t in line.at.values()]
    inverters = (*plan.complements, *plan.outputs)
    drivers, lifts = [i.driver for i in inverters], [i.lift for i in inverters]
    channel = technique.channel
    found: dict[str, Size] = {}

    def alike(what: str, names: Iterable[str], width: int) -> Size:
        given = {(sizes[n].length or channel, sizes[n].width or width) for n in names}
        if len(given) > 1:
            raise LayoutdrillError(
                f"the array {name} cannot be drawn as planes: its {what} differ in size",
                todo="give them all the same length and width",
            )
        size = Size(*given.pop()) if given else Size(channel, width)
        found.update((n, size) for n in names)
        return size

    cross = alike("crossings", crossings, wide[0])
    loads = tuple(alike("loads", [line.load for line in plane.lines], technique.least_width) for plane in plan.planes)
    driver = alike("inverters' drivers", drivers, wide[1])
    lift = alike("inverters' loads", lifts, wide[2])
    if cross.length != channel or driver.length != channel:
        raise LayoutdrillError(
            f"the array {name} cannot be drawn as planes: its transistors are longer than the least length",
            todo="leave their length free",
        )
    drawn = {name: (1, size.length, size.width) for name, size in found.items()}
    return Widths(cross.width, loads, driver.width, lift, drawn)
