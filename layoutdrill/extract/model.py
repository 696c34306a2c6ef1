"""What an extraction finds: the netlist, where each part lies, and what a reader should be told."""

from enum import StrEnum
from typing import Protocol

from layoutdrill.geometry.rect import Rect
from layoutdrill.netlist.model import Netlist
from layoutdrill.units import GridUnits
from layoutdrill.value import value


class FindingKind(StrEnum):
    """What can be odd about a drawing that is still readable."""

    SHORT = "short"  # two names on one net
    OPEN = "open"  # one name on two nets
    PARTIAL_GATE = "partial gate"  # poly that only partly crosses the diffusion
    BRANCHED_GATE = "branched gate"  # a channel with more than two pieces of diffusion round it
    UNREAD_GATE = "unread gate"  # diffusion under a gate that is no channel: doping or well is missing
    UNREAD_ELEMENT = "unread element"  # a marked resistor, diode or capacitor without the ends it needs
    FLOATING_GATE = "floating gate"
    STRAY_LABEL = "stray label"  # a label on nothing
    STRAY_CUT = "stray cut"  # a cut that joins nothing
    JUNCTION = "unstrapped junction"  # n+ against p+ with no metal over both
    MIXED_CHANNEL = "mixed channel"  # n and p diffusion at one channel
    UNDOPED = "undoped diffusion"  # diffusion under no implant, which is read as nothing


LOST = frozenset(
    {
        FindingKind.PARTIAL_GATE,
        FindingKind.UNREAD_GATE,
        FindingKind.UNREAD_ELEMENT,
        FindingKind.MIXED_CHANNEL,
        FindingKind.UNDOPED,
    }
)
"""Findings after which the netlist lacks something that is drawn."""


@value
class Finding:
    """One oddity, in words, and where it lies (grid units)."""

    kind: FindingKind
    text: str
    place: Rect


class Extraction(Protocol):
    """
    The result of reading a layout. Transistor and net names are those of `netlist`.

    Shapes are computed when asked for, in grid units; `net_shapes` maps conductor names (and cut layers) to
    rectangles that may abut but do not overlap.
    """

    @property
    def netlist(self) -> Netlist: ...

    @property
    def findings(self) -> tuple[Finding, ...]: ...

    def channel(self, transistor: str) -> tuple[Rect, ...]:
        """Return the channel area of a transistor."""
        ...

    def net_shapes(self, net: str) -> dict[str, tuple[Rect, ...]]:
        """Return a net's shapes by conductor or cut layer."""
        ...

    def nets_at(self, x: GridUnits, y: GridUnits) -> tuple[tuple[str, str], ...]:
        """Return (conductor, net) for every conductor under the point, in the process's order (top first)."""
        ...

    def transistor_at(self, x: GridUnits, y: GridUnits) -> str | None:
        """Return the transistor whose channel lies under the point."""
        ...
