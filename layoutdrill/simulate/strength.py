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
LOAD = 5  # a transistor that is always on, or a resistor
WEAK = 4  # a keeper made weak by its size
BUS, NODE, BARE = 3, 2, 1  # stored charge: many terminals; a gate or a port; bare diffusion

MOBILITY = 2.5
"""An n channel conducts this much better than a p channel of its shape (common practice: 2 to 3)."""

LEAST_RATIO = 1.3
"""
A load must have this many times the resistance of the path that pulls against it, or the level is X.

From the level-1 equations with Vt = 0.2 and Vdep = -0.6 of VDD, 0.8 V - V*V/2 = 0.18/ratio: below 1.3 the low level
reaches the threshold of the next gate. Good practice asks for 4 (8 behind pass transistors): Mead & Conway 1980.
"""
GOOD_RATIO = 4.0


def resistance(transistor: Transistor) -> float:
    """Return L/W, times MOBILITY for p; 0.0 where the size is not known."""
    if not transistor.length or not transistor.width:
        return 0.0
    squares = transistor.length / transistor.width
    return squares * MOBILITY if transistor.kind is Kind.P else squares
