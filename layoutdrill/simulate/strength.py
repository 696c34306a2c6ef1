"""
Grade how strongly a transistor holds a net: the ladder of strengths of switch-level simulation.

After R. E. Bryant, "A switch-level model and simulator for MOS digital systems", IEEE Trans. Comput. C-33 (1984): an
input beats every transistor, a transistor beats stored charge, and a path is as strong as its weakest element. The
rungs between driver and charge are ours: they settle what ratioed stores and loads settle by their size.
"""

from layoutdrill.netlist.model import Kind, Transistor

INPUT = 9  # supplies and nets driven from outside
DRIVER = 8  # a switched transistor
INNER = 7  # a transistor of a cross-coupled pair or keeper, held by the net it drives: loses against a write
POOR = 6  # an access transistor that writes a stored net with its poor level: loses against the pair
LOAD = 5  # a transistor that is always on, a load, or a resistor
WEAK = 4  # a keeper made weak by its size
BUS, NODE, BARE = 3, 2, 1  # stored charge: many terminals; a gate or a port; bare diffusion

MOBILITY = 2.5
"""An n channel conducts this much better than a p channel of its shape (common practice: 2 to 3)."""

LOAD_RATIO = 2.0
"""
A pull-up of one-kind logic with at least this many times the resistance of what can pull against it is a load, which
is meant to lose. Good practice asks for 4, and for 8 behind pass transistors: Mead & Conway 1980 (from memory).
"""


def resistance(transistor: Transistor) -> float:
    """Return L/W, times MOBILITY for p; 0.0 where the size is not known."""
    if not transistor.length or not transistor.width:
        return 0.0
    squares = transistor.length / transistor.width
    return squares * MOBILITY if transistor.kind is Kind.P else squares
