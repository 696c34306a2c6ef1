"""Choose the way in which an array is drawn, by what its tiles are."""

from collections.abc import Callable
from typing import Protocol

from layoutdrill.cells.tiling import Tiling
from layoutdrill.drawing.array import ArrayDrawing
from layoutdrill.drawing.chains.drawn import chained
from layoutdrill.drawing.chains.plan import suits as suits_chains
from layoutdrill.drawing.planes import is_plane, planes
from layoutdrill.drawing.tiling import tiled
from layoutdrill.netlist.model import Netlist
from layoutdrill.process.model import Process


class Way(Protocol):
    """Draw a whole array, or return None when this attempt found no room; the same for the same arguments."""

    def __call__(
        self, netlist: Netlist, tiling: Tiling, process: Process, seed: int, *, difficulty: float, attempt: int
    ) -> ArrayDrawing | None: ...


_WAYS: tuple[tuple[Callable[[Tiling], bool], Way], ...] = ((suits_chains, chained), (is_plane, planes))
"""Ways that suit some tilings only, the first that suits is taken; all others are drawn tile beside tile."""


def array_drawing(
    netlist: Netlist, tiling: Tiling, process: Process, seed: int, *, difficulty: float = 0.3, attempt: int = 0
) -> ArrayDrawing | None:
    """
    Return the drawing of a whole array, or None when this attempt found no room for its wires.

    Raises LayoutdrillError, with the reason, for arrays that cannot be drawn.
    """
    way = next((way for suits, way in _WAYS if suits(tiling)), tiled)
    return way(netlist, tiling, process, seed, difficulty=difficulty, attempt=attempt)
