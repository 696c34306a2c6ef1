"""What is to be drawn as an array, and what a seed decides of every one."""

from collections.abc import Iterable
from typing import TypeVar

from layoutdrill.cells.tiling import Tiling
from layoutdrill.dice import Dice
from layoutdrill.drawing.shared.families import technique_for
from layoutdrill.drawing.shared.technique import Technique
from layoutdrill.netlist.model import Netlist
from layoutdrill.process.model import Process
from layoutdrill.units import GridUnits
from layoutdrill.value import value

T = TypeVar("T")


@value
class ArrayJob:
    """
    An array, its process, and all that chance may depend on; `difficulty` runs from 0 (tidy) to 100. An `upright` one
    lies as it is written, its rails level, its low rail below: a part of something larger.
    """

    netlist: Netlist
    tiling: Tiling
    process: Process
    seed: int
    difficulty: int = 30
    attempt: int = 0
    upright: bool = False

    @property
    def technique(self) -> Technique:
        return technique_for(self.process)

    def dice(self, family: str) -> Dice:
        """Return the dice of a family of drawings."""
        return Dice.from_text(
            f"{family}|{self.process.name}|{self.seed}|{self.difficulty}|{self.attempt}|{self.netlist.text()}"
        )


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
