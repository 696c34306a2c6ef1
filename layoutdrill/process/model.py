"""What a fabrication process is: layers, what conducts, what a cut joins, how a transistor is recognised."""

from collections.abc import Mapping
from dataclasses import field

from layoutdrill.errors import Where
from layoutdrill.process.design_rules import DesignRule
from layoutdrill.process.drawing_section import DrawingSection
from layoutdrill.process.expression import Expression
from layoutdrill.process.terms import Kind, Mode
from layoutdrill.value import identity, value

SUBSTRATE = "substrate"
"""The conductor that lies under everything; a body, or the target of a tap."""


@value
class MaskLayer:
    """A drawn layer. `role` says what it is to a picture: the key by which looks choose its appearance."""

    name: str
    title: str
    role: str
    gds: tuple[int, int] | None
    label_gds: tuple[tuple[int, int], ...] = ()


@value
class Conductor:
    """A layer or region whose touching shapes are one net. `labels` are the mask layers whose port labels name it."""

    name: str
    labels: tuple[str, ...]


@value
class Cut:
    """
    A cut on mask layer `layer` joins `upper` with whichever of `lower` lies under it. Without a layer, the
    overlap of the two conductors itself joins them (a tap in its well, a buried contact).
    """

    layer: str | None
    upper: str
    lower: tuple[str, ...]


@value
class TransistorRule:
    """
    A transistor is a connected piece of the region `channel`, under the conductor `gate`, between pieces of the
    conductor `ends` that share an edge with it. `body` is a conductor's name, SUBSTRATE, or None (floating).
    """

    kind: Kind
    mode: Mode
    channel: str
    gate: str
    ends: str
    body: str | None


@value
class ElementRule:
    """
    A device that is not a transistor: `kind` resistor (a `body` region between two pieces of the conductor
    `ends`), diode or capacitor (`body` region lies on the conductor `ends`; the other node is `under`).
    """

    kind: str
    model: str
    body: str
    ends: str
    under: str | None = None


@value
class StripRule:
    """
    A resistor known by its form: a strip of the conductor `of` between two nets, with no gate at it, at least `squares`
    times as long as it is wide. What could be a wire must be folded as well, as no wire is; a well need not.
    """

    model: str
    of: str
    squares: int
    kind: str = "resistor"


@value
class PatchRule:
    """
    A diode known by its form: a piece of the conductor `of` with contacts and no gate at it, at least `side` grid units
    both ways, in what lies `under` it: a well, or SUBSTRATE. Smaller ones are landings of wires.
    """

    model: str
    of: str
    under: str
    side: int
    kind: str = "diode"


@value
@identity
class Process:
    """
    One process, which equals none but itself, so that work done for it can be kept.

    `grid_nm` is the size of a grid unit in nm, `grid_per_lambda` the grid units in one λ.

    `supplies` are the lower rail and the higher; `gate_supply` names a third line, beyond the rail that loads end on,
    to which the gates of loads are joined; "" where there is none.

    `regions` are named areas computed from mask layers and earlier regions, in order. `rules` is the section that the
    rule check reads, `drawing` the one by which cells are drawn; a process without it is only read.
    """

    name: str
    title: str
    about: str
    tell: str
    grid_nm: float
    grid_per_lambda: int
    layers: Mapping[str, MaskLayer]
    regions: Mapping[str, Expression]
    conductors: Mapping[str, Conductor]
    cuts: tuple[Cut, ...]
    transistors: tuple[TransistorRule, ...]
    elements: tuple[ElementRule, ...]
    supplies: tuple[str, str]
    where: Where
    rules: Mapping[str, DesignRule] = field(default_factory=dict)
    drawing: DrawingSection | None = None
    gate_supply: str = ""
    strips: tuple[StripRule, ...] = ()
    patches: tuple[PatchRule, ...] = ()

    @property
    def rails(self) -> tuple[str, ...]:
        """Return the names of all supply lines: the lower, the higher, and the one for gates where there is one."""
        return (*self.supplies, self.gate_supply) if self.gate_supply else self.supplies

    @property
    def rail_levels(self) -> dict[str, int]:
        """Return the level of each supply line: 0 for the lower, 1 for the higher; that for gates turns loads on."""
        low, high = self.supplies
        levels = {low: 0, high: 1}
        if self.gate_supply:
            levels[self.gate_supply] = int(any(rule.kind is Kind.N for rule in self.transistors))
        return levels

    @property
    def lambda_nm(self) -> float:
        return self.grid_nm * self.grid_per_lambda

    def nm(self, grid: float) -> int:
        """Convert a length in grid units to whole nm."""
        return round(grid * self.grid_nm)
