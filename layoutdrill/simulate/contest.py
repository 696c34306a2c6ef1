"""
Decide between conducting paths to both supplies: the level at which the currents through them are equal.

Each device is compared with what it pulls against, never with an average: the level-1 equations (H. Shichman, D. A.
Hodges, IEEE J. Solid-State Circuits SC-3, 1968), in units of the supply, with thresholds of 0.2 and a depletion
threshold of -0.6 (Mead & Conway 1980, from memory), no body effect, and gates at the rails.
"""

from collections.abc import Sequence

THRESHOLD, DEPLETION = 0.2, -0.6
RESISTOR_UNIT = 8_000.0
"""
Ohms that conduct as much as a transistor of factor 1: 1 / (k' VDD) for k' = 25 µA/V² and 5 V (common practice of the
era; a square n channel then is about 10 kΩ, as Mead & Conway 1980 have it, from memory).
"""
LOW_AT, HIGH_AT = 0.2, 0.7
"""A level up to the threshold turns the next gate off; from the other bound on, it turns it fully on."""
CLEAR = 0.1
"""Where neither side is a load or a keeper, only so small a remainder counts as won."""
MOST_NODES = 40
_SWEEPS, _HALVINGS, _CLOSE = 200, 14, 1e-3

Law = tuple[str, float, int]
"""
(sort, factor, gate): n, p, nd, pd or r; W/L (times the mobility's share for p; 0.0 unknown) or 8 kΩ over the
resistance; the gate's slot, or TIED_X, TIED_Y where the gate is on one of the device's own ends.
"""
TIED_X, TIED_Y = -2, -3
Branch = tuple[int, int, Law]
"""(end, end, law) of a conducting device."""


def balance(
    nodes: Sequence[int], branches: Sequence[Branch], fixed: dict[int, float], gates: Sequence[int]
) -> dict[int, float]:
    """
    Return the voltage of each node, 0 to 1, at which what flows in flows out again.

    `fixed` are the voltages of the sources, `gates` the codes of the gate slots. Gauss-Seidel: a node's current falls
    steadily with its own voltage, so each step is a search by halves.
    """
    volts = dict(fixed) | dict.fromkeys(nodes, 0.5)
    around: dict[int, list[tuple[int, Law, bool]]] = {node: [] for node in nodes}
    for x, y, law in branches:
        if x in around:
            around[x].append((y, law, True))
        if y in around:
            around[y].append((x, law, False))
    for _ in range(_SWEEPS):
        moved = 0.0
        for node in nodes:
            low, high = 0.0, 1.0
            for _ in range(_HALVINGS):
                middle = (low + high) / 2
                inflow = sum(
                    _current(volts[far], middle, law, gates, here_is_x=is_x) for far, law, is_x in around[node]
                )
                if inflow > 0:
                    low = middle
                else:
                    high = middle
            new = (low + high) / 2
            moved = max(moved, abs(new - volts[node]))
            volts[node] = new
        if moved < _CLOSE:
            break
    return volts


def _current(far: float, here: float, law: Law, gates: Sequence[int], *, here_is_x: bool) -> float:
    """Return the current from the far end to this one, in units of k' VDD²."""
    sort, factor, gate = law
    if sort == "r":
        return factor * (far - here)
    if gate == TIED_X:
        at = here if here_is_x else far
    elif gate == TIED_Y:
        at = far if here_is_x else here
    else:
        at = float(gates[gate] == 1)
    threshold = DEPLETION if sort.endswith("d") else THRESHOLD
    top, bottom = max(far, here), min(far, here)
    drive = (at - bottom if sort[0] == "n" else top - at) - threshold
    if drive <= 0:
        return 0.0
    across = min(top - bottom, drive)
    size = factor * (drive * across - across * across / 2)
    return size if far > here else -size
