"""What is to be drawn, what is refused before any time is spent on it, and what a seed decides of every array."""

from collections.abc import Iterable, Sequence
from typing import TypeVar

from layoutdrill.cells.tiling import Tiling
from layoutdrill.dice import Dice
from layoutdrill.drawing.shared.families import technique_for
from layoutdrill.drawing.shared.technique import Technique
from layoutdrill.errors import LayoutdrillError
from layoutdrill.netlist.model import Netlist
from layoutdrill.process.model import Process
from layoutdrill.units import GridUnits
from layoutdrill.value import value

T = TypeVar("T")


@value
class Request:
    """
    What is to be drawn, and all that chance may depend on. `difficulty` runs from 0 (tidy) to 1 (crowded), and a later
    `attempt` has more room. With `neighbours`, crowded drawings of cells may show where another cell begins; a `tiling`
    of the netlist makes it an array. An `upright` array lies as it is written, its rails level, its low rail below: a
    part of something larger.
    """

    netlist: Netlist
    process: Process
    seed: int
    difficulty: float = 0.3
    neighbours: bool = False
    tiling: Tiling | None = None
    attempt: int = 0
    upright: bool = False

    @property
    def technique(self) -> Technique:
        return technique_for(self.process)

    @property
    def percent(self) -> int:
        """Return the difficulty from 0 to 100."""
        return max(0, min(100, round(self.difficulty * 100)))

    def dice(self, *family: str) -> Dice:
        """Return the dice of a family of drawings; a pair of rows has no name."""
        own = (self.process.name, self.seed, self.percent, self.attempt, self.netlist.text())
        return Dice.from_text("|".join(map(str, (*family, *own))))


def all_or_none(parts: Iterable[T | None]) -> list[T] | None:
    """Return the parts of a drawing, or None as soon as one of them found no room."""
    whole = []
    for part in parts:
        if part is None:
            return None
        whole.append(part)
    return whole


@value
class Choices:
    """
    What a seed decides: extra distance between gate lines, `loose`, and between what they cross, `apart`; what rails
    are wider than the least; and the orientation of the whole.
    """

    loose: GridUnits
    apart: GridUnits
    rail_extra: GridUnits
    turns: int
    mirrored: bool


MOST = 64
"""Fingers that one pair of rows may hold; up to 40 are quick."""


def refuse(netlist: Netlist, process: Process, most: int = MOST, where: str = "one pair of rows") -> None:
    """Raise LayoutdrillError for more than `most` fingers `where`, and for devices that the process does not have."""
    count = sum(t.fingers for t in netlist.transistors)
    if not count:
        raise LayoutdrillError(f"{netlist.name} has no transistors, so there is nothing to draw")
    if count > most:
        raise LayoutdrillError(
            f"{netlist.name} has {count} transistors, fingers counted, too many for {where}",
            todo=f"draw it in parts of {most} or fewer",
        )
    if netlist.elements:
        first = netlist.elements[0]
        raise LayoutdrillError(
            f"{first.name} is a {first.kind}, and {where} holds only transistors",
            todo="draw it with a part of the circuit that one pair of rows holds",
        )
    known = {(rule.kind, rule.mode) for rule in process.transistors}
    for t in netlist.transistors:
        if (t.kind, t.mode) not in known:
            raise LayoutdrillError(
                f"{t.name} is a {t.kind} {t.mode} transistor, which {process.name} does not have",
                todo="choose another process",
            )


def refuse_unlike(netlist: Netlist, sorts: Iterable[Sequence[str]]) -> None:
    """Raise LayoutdrillError where transistors of one sort, by their names, are not all alike, of one finger each."""
    by_name = {t.name: t for t in netlist.transistors}
    for names in sorts:
        sizes = {(t.length, t.width, t.fingers) for t in map(by_name.__getitem__, names)}
        if len(sizes) > 1 or any(fingers > 1 for _, _, fingers in sizes):
            raise LayoutdrillError(
                f"the array {netlist.name} cannot be drawn: its transistors of one sort are not all alike",
                todo="give transistors of one sort one size, and one finger each",
            )
