"""What is to be drawn, and in what manner."""

from collections.abc import Mapping
from dataclasses import dataclass, field

from layoutdrill.dice import Dice
from layoutdrill.drawing.chains.plan import Complement, Plan
from layoutdrill.drawing.chains.sheet import Manner
from layoutdrill.drawing.shared.sizes import Size
from layoutdrill.drawing.shared.technique import Technique
from layoutdrill.netlist.model import Netlist


@dataclass(frozen=True, slots=True)
class Task:
    """
    An array with all that its drawing depends on; `t` is the technique, `supplies` the low and the high rail.

    `nets` are the address lines from left to right: columns as they stand, either line of a column first.
    """

    netlist: Netlist
    plan: Plan
    t: Technique
    supplies: tuple[str, str]
    sizes: Mapping[str, Size]
    manner: Manner
    dice: Dice
    nets: tuple[str, ...] = field(init=False)

    def __post_init__(self) -> None:
        nets = tuple(net for pair in self.plan.pairs for net in self.dice.shuffled(pair))
        object.__setattr__(self, "nets", nets)

    @property
    def link(self) -> Size:
        """Return the size of the transistors in series."""
        return self.sizes[self.plan.chains[0].series[0].name]

    @property
    def complements(self) -> tuple[Complement, ...]:
        return self.plan.complements

    @property
    def made(self) -> frozenset[str]:
        """Return the lines that the array makes itself, from the line beside each."""
        return frozenset(c.complement for c in self.plan.complements)

    def wider(self, before: Mapping[tuple[bool, bool], int]) -> dict[int, int]:
        """
        Return by gap what it must be wider than others where complements are made: `before` says it for the kinds of
        the two lines beside it, whether each is made here.
        """
        if not self.made:
            return {}
        kinds = [net in self.made for net in self.nets]
        pairs = {gap: before.get((kinds[gap - 1], kinds[gap]), 0) for gap in range(2, len(kinds), 2)}
        return {gap: more for gap, more in pairs.items() if more}

    def spread(self, wider: Mapping[int, int]) -> dict[int, int]:
        """Return by gap what those between columns are wider: what they need, or as much as the manner gives to all."""
        found = {gap: self.manner.spread for gap in range(2, len(self.nets), 2) if self.manner.spread}
        for gap, more in wider.items():
            found[gap] = max(more, found.get(gap, 0))
        return found
